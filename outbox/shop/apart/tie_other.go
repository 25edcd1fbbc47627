//go:build !linux

package apart

import "os/exec"

// tie has no counterpart here; the worker's own watch serves.
func tie(*exec.Cmd) {}

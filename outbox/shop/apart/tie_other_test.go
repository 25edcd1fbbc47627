//go:build !linux

package apart

// act has no role to play here.
func act(string) {}

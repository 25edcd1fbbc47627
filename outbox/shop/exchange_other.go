//go:build !linux && !darwin

package shop

import "errors"

// exchange is what this system does not offer.
func exchange(_, _ string) error { return errors.ErrUnsupported }

//go:build !linux

package scan

// roomFor makes a list of n values, all zero.
func roomFor[T any](n int) []T { return make([]T, n) }

package fit

import (
	"slices"

	"tipwright/section"
)

// median returns the median and reorders nothing.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Clone(v)
	half := len(s) / 2
	upper := section.Nth(s, half)
	if len(s)%2 == 1 {
		return upper
	}
	return upper/2 + slices.Max(s[:half])/2
}

package fit

import (
	"math"
	"slices"

	"tipwright/section"
)

const (
	fewToSort   = 500     // values that are ordered without first being told apart by size
	sizeClasses = 1 << 11 // classes of size
)

// median returns the median and reorders nothing. The values are counted by class of size, which needs no
// comparison that a processor could guess wrong; then only the class that holds the middle is put in order.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	if len(v) < fewToSort {
		return middle(slices.Clone(v), len(v)/2, len(v)%2 == 0)
	}
	least, shift := classes(v)
	var count [sizeClasses]int32
	for _, x := range v {
		count[(rankBits(x)-least)>>shift&(sizeClasses-1)]++
	}
	class, below := 0, 0
	for below+int(count[class]) <= len(v)/2 {
		below += int(count[class])
		class++
	}
	var room [256]float64
	in, before := room[:0], math.Inf(-1) // what the class holds, and the greatest of all below it
	even := len(v)%2 == 0
	if even && below == len(v)/2 {
		for _, x := range v {
			if int((rankBits(x)-least)>>shift) < class {
				before = math.Max(before, x)
			}
		}
	}
	for _, x := range v {
		if int((rankBits(x)-least)>>shift) == class {
			in = append(in, x)
		}
	}
	if even && below == len(v)/2 {
		return slices.Min(in)/2 + before/2
	}
	return middle(in, len(v)/2-below, even)
}

// middle returns the value that would stand at index k if v, whose order it changes, were sorted, or with even the mean of
// it and the one before it.
func middle(v []float64, k int, even bool) float64 {
	upper := section.Nth(v, k)
	if !even {
		return upper
	}
	return upper/2 + slices.Max(v[:k])/2
}

// rankBits returns bits that rise with a number.
func rankBits(x float64) uint64 {
	b := math.Float64bits(x)
	return b ^ (uint64(int64(b)>>63) | 1<<63)
}

// classes returns the bits of the least value, and by how many bits its distance to the greatest must be shifted to be one
// of sizeClasses.
func classes(v []float64) (least uint64, shift int) {
	least, most := rankBits(v[0]), rankBits(v[0])
	for _, x := range v {
		r := rankBits(x)
		least, most = min(least, r), max(most, r)
	}
	for (most-least)>>shift >= sizeClasses {
		shift++
	}
	return least, shift
}

package fit

import (
	"math"
	"slices"

	"tipwright/section"
)

const (
	fewToSort   = 500 // values that are ordered without first being told apart by size
	classBits   = 11
	sizeClasses = 1 << classBits // classes of size
)

// median returns the median and reorders nothing. The values are counted by class of size, which needs no
// comparison that a processor could guess wrong; then only the class that holds the middle is put in order, or
// told apart more finely if it holds many.
func median(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	var room [fewToSort]float64
	half, even := len(v)/2, len(v)%2 == 0
	if len(v) <= fewToSort {
		return middle(append(room[:0], v...), half, even)
	}
	least, shift := classes(v)
	below := 0 // values below the least
	for {
		var count [sizeClasses]int32
		for _, x := range v {
			if class := (rankBits(x) - least) >> shift; class < sizeClasses {
				count[class]++
			}
		}
		class := 0
		for below+int(count[class]) <= half {
			below += int(count[class])
			class++
		}
		least += uint64(class) << shift
		if count[class] <= fewToSort || shift == 0 {
			break
		}
		shift = max(shift-classBits, 0)
	}
	in := room[:0] // what the class holds
	for _, x := range v {
		if (rankBits(x)-least)>>shift == 0 && len(in) < fewToSort { // more than that only if all are alike
			in = append(in, x)
		}
	}
	if even && below == half {
		return slices.Min(in)/2 + mostBelow(v, least)/2
	}
	return middle(in, min(half-below, len(in)-1), even)
}

// mostBelow returns the greatest of the values whose bits lie below the least.
func mostBelow(v []float64, least uint64) float64 {
	most := math.Inf(-1)
	for _, x := range v {
		if rankBits(x) < least {
			most = math.Max(most, x)
		}
	}
	return most
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

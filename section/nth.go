package section

import "math"

// Nth returns the value that would stand at index k if v were sorted, and moves those below it before it. v must hold
// more than k values, none of them NaN. It is Hoare's FIND (CACM 4 (1961) 321, from memory; pivots from three values) with
// a loop that does not branch on the values, which come in no order that a processor could foresee.
func Nth(v []float64, k int) float64 {
	const few = 12 // values that are sorted
	lo, hi := 0, len(v)
	if hi-lo > many {
		lo, hi = bracket(v, k)
	}
	for hi-lo > few {
		a, b, c := v[lo], v[lo+(hi-lo)/2], v[hi-1]
		pivot := max(min(a, b), min(max(a, b), c))
		switch below := lo + toFront(v[lo:hi], pivot); {
		case k < below:
			hi = below
		case below > lo:
			lo = below
		default: // the pivot is the least
			alike := upToFront(v[lo:hi], pivot)
			if lo += alike; k < lo || alike == 0 {
				return pivot
			}
		}
	}
	for i := lo + 1; i < hi; i++ {
		x, j := v[i], i
		for ; j > lo && v[j-1] > x; j-- {
			v[j] = v[j-1]
		}
		v[j] = x
	}
	return v[k]
}

// toFront moves the values below a pivot before the others and returns how many they are.
func toFront(v []float64, pivot float64) (n int) {
	for i, x := range v {
		v[i], v[n] = v[n], x
		below := 0
		if x < pivot {
			below = 1
		}
		n += below
	}
	return n
}

// upToFront is toFront with the values that are the pivot's.
func upToFront(v []float64, pivot float64) (n int) {
	for i, x := range v {
		v[i], v[n] = v[n], x
		within := 0
		if x <= pivot {
			within = 1
		}
		n += within
	}
	return n
}

const (
	many    = 600 // values from which on a share of them is looked at first
	sampled = 200
	apart   = 24 // places of the share either side of the one that is asked for, between which it mostly lies
)

// bracket moves the values that may stand at index k if v were sorted between those below them and those above, and returns
// where they begin and end: mostly a small part of v.
func bracket(v []float64, k int) (lo, hi int) {
	var room [sampled]float64
	for i := range room {
		room[i] = v[i*len(v)/sampled]
	}
	at := k * sampled / len(v)
	least, most := math.Inf(-1), math.Inf(1)
	if i := at - apart; i >= 0 {
		least = Nth(room[:], i)
	}
	if i := at + apart; i < sampled {
		most = Nth(room[:], i)
	}
	lo = toFront(v, least)
	if k < lo {
		return 0, lo
	}
	hi = lo + upToFront(v[lo:], most)
	if k >= hi {
		return hi, len(v)
	}
	return lo, hi
}

// median returns the middle value of v, whose order it changes.
func median(v []float64) float64 { return Nth(v, len(v)/2) }

package section

// Nth returns the value that would stand at index k if v were sorted, and moves those below it before it. v must hold
// more than k values, none of them NaN (Hoare's FIND, CACM 4 (1961) 321, from memory; pivots from three values).
func Nth(v []float64, k int) float64 {
	lo, hi := 0, len(v)-1
	for lo < hi {
		a, b, c := v[lo], v[(lo+hi)/2], v[hi]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := lo, hi
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return v[k]
		}
	}
	return v[k]
}

// median returns the middle value of v, whose order it changes.
func median(v []float64) float64 { return Nth(v, len(v)/2) }

package fit

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The median of a long list is the one that sorting would find, whatever lies how far apart in it and however many are
// alike.
func TestMedianOfLongLists(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		some := rapid.SliceOfN(rapid.Float64Range(-3, 3), 1, 40).Draw(t, "some")
		n := 500 + rapid.IntRange(0, 3000).Draw(t, "more")
		spread := rapid.SampledFrom([]float64{0, 1, 100}).Draw(t, "spread")
		alike := rapid.SampledFrom([]int{0, 3, 4}).Draw(t, "alike")
		signed := rapid.Bool().Draw(t, "signed")
		v := make([]float64, n)
		for i := range v {
			v[i] = some[i*i%len(some)] * math.Exp(spread*some[i%len(some)])
			if i%5 > alike {
				v[i] += 1e-3 * float64(i*i%97)
			}
			if !signed {
				v[i] = math.Abs(v[i])
			}
		}
		before := slices.Clone(v)
		sorted := slices.Sorted(slices.Values(v))
		if want, got := sorted[n/2]/2+sorted[(n-1)/2]/2, median(v); got != want || !slices.Equal(v, before) {
			t.Fatalf("median %g of %d values, want %g", got, n, want)
		}
	})
}

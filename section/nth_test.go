package section

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestNthOfMany picks what sorting would put at a place, moves what is below it before it, and loses nothing, of few and many
// values, also where many are alike or infinite.
func TestNthOfMany(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom([]int{1, 2, 11, 13, 40, many - 1, many + 1, 5 * many}).Draw(t, "values")
		kinds := rapid.SampledFrom([]int{1, 2, 5, 1 << 20}).Draw(t, "kinds")
		next := rapid.Uint32().Draw(t, "seed")
		v := make([]float64, n)
		for i := range v {
			next = 1664525*next + 1013904223
			if v[i] = float64(int(next>>8)%kinds) - float64(kinds/2); next>>8%97 == 0 {
				v[i] = math.Inf(int(next>>20%2)*2 - 1)
			}
		}
		sorted := slices.Sorted(slices.Values(v))
		k := rapid.IntRange(0, n-1).Draw(t, "place")
		if got := Nth(v, k); got != sorted[k] || v[k] != sorted[k] {
			t.Fatalf("place %d of %d holds %g, got %g, want %g", k, n, v[k], got, sorted[k])
		}
		if k > 0 && slices.Max(v[:k]) > sorted[k] || slices.Min(v[k:]) < sorted[k] {
			t.Fatalf("place %d of %d does not part the values", k, n)
		}
		if slices.Sort(v); !slices.Equal(v, sorted) {
			t.Fatalf("of %d values some were lost", n)
		}
	})
}

// TestNthEnds does so although there is what is no number.
func TestNthEnds(t *testing.T) {
	v := make([]float64, 3*many)
	for i := range v {
		v[i] = math.NaN()
	}
	Nth(v, len(v)/2)
	v[7] = 1
	Nth(v, 5)
}

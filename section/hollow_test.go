package section

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestSurelyOne never says that there is one skin where outerSkin finds another.
func TestSurelyOne(t *testing.T) {
	one, other := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(6, hollowSample).Draw(t, "points")
		gap := rapid.SampledFrom([]float64{0, 0.03, leastSkinGap, 0.45, 0.8, 3, 20}).Draw(t, "gap")
		scatter := rapid.SampledFrom([]float64{0, 1e-3, 0.05, 0.2, 0.6}).Draw(t, "scatter")
		share := rapid.SampledFrom([]int{1, 3, 7, 50}).Draw(t, "one in so many on the other")
		v := make([]float64, n)
		for i := range v {
			v[i] = scatter * rapid.Float64Range(-1, 1).Draw(t, "noise")
			if i%share == 0 {
				v[i] -= gap
			}
		}
		sure := surelyOne(v)
		_, floor := outerSkin(slices.Clone(v))
		if !math.IsInf(floor, -1) {
			other++
			if sure {
				t.Fatalf("of %v one skin is said to be sure", v)
			}
		} else if sure {
			one++
		}
	})
	if one == 0 || other == 0 {
		t.Errorf("one skin was sure %d times, two were seen %d times", one, other)
	}
}

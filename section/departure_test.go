package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestOuterSkin takes the outer of two skins, with and without ribs between them, and leaves one skin whole.
func TestOuterSkin(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name  string
		make  func(i int) float64
		outer float64 // share of the points that is to be kept
	}{
		{"one skin, scanned", func(int) float64 { return 0.5 * r.NormFloat64() }, 1},
		{"one skin, a fine scanner", func(int) float64 { return 0.05 * r.NormFloat64() }, 1},
		{"one skin with a step", func(i int) float64 { return float64(i%2) + 0.5*r.NormFloat64() }, 1},
		{"two exact skins", func(i int) float64 { return -1.6 * float64(i%2) }, 0.5},
		{"two scanned skins", func(i int) float64 { return -1.6*float64(i%2) + 0.1*r.NormFloat64() }, 0.5},
		{"two exact skins and a rib", func(i int) float64 { return [3]float64{0, -1.6, -12 * r.Float64()}[i%3] }, 1. / 3},
	} {
		v := make([]float64, 300)
		for i := range v {
			v[i] = c.make(i)
		}
		outer, floor := outerSkin(v)
		if share := float64(len(outer)) / float64(len(v)); math.Abs(share-c.outer) > 0.02 {
			t.Errorf("%s: %.2f of the points are the outer skin, want %.2f", c.name, share, c.outer)
		}
		for _, d := range outer {
			if d < floor {
				t.Errorf("%s: %.3f lies below the floor %.3f", c.name, d, floor)
			}
		}
	}
}

package fit

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// Eight sums at once are what they are one by one, to the last bit, however many are asked for.
func TestBellSums(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		half := gaussian(rapid.Float64Range(0.3, 8).Draw(t, "sigma"))
		stride := rapid.IntRange(1, 5).Draw(t, "stride")
		out := make([]float64, rapid.IntRange(1, 40).Draw(t, "n"))
		at := stride * len(half)
		v := make([]float64, len(out)+2*at)
		for i := range v {
			v[i] = math.Sin(float64(i*i)) * math.Exp(float64(i%7))
		}
		bellSums(out, v, at, stride, half)
		for i, got := range out {
			want := half[0] * v[at+i]
			for d := 1; d < len(half); d++ {
				want += half[d] * (v[at+i-d*stride] + v[at+i+d*stride])
			}
			if one := bellSum(v, at+i, stride, half); got != one || math.Abs(got-want) > 1e-9*(1+math.Abs(want)) {
				t.Fatalf("sum %d: %g in a block, %g alone, want %g", i, got, one, want)
			}
		}
	})
}

// What a window makes of weights does not depend on which weights it was asked for before, to the last bit, and a part of
// the means is the same as in the whole.
func TestSpreadFollows(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge = 0.75
	p, err := newPanel(w.survey(t, 5), 300)
	if err != nil {
		t.Fatal(err)
	}
	nc := p.columns()
	rapid.Check(t, func(t *rapid.T) {
		k := rapid.SampledFrom(windows(true)).Draw(t, "window")
		for range rapid.IntRange(1, 3).Draw(t, "times") {
			weights := slices.Clone(p.w)
			for range rapid.IntRange(0, 4).Draw(t, "regions") {
				row, column := rapid.IntRange(0, p.rows()-1).Draw(t, "row"), rapid.IntRange(0, nc-1).Draw(t, "column")
				for i := row; i < min(row+6, p.rows()); i++ {
					for j := column; j < min(column+9, nc); j++ {
						weights[i*nc+j] = 0
					}
				}
			}
			got, want := p.spreadOf(weights, k), p.newSpread(weights, p.bell(k))
			if !slices.Equal(got.weight, want.weight) || !slices.Equal(got.se, want.se) {
				t.Fatal("the sums of the weights hang on those before")
			}
		}
		rows, columns := p.bounds([]int{rapid.IntRange(0, len(p.w)-1).Draw(t, "a"), rapid.IntRange(0, len(p.w)-1).Draw(t, "b")})
		whole, part := p.smooth(p.y, p.w, k), p.smoothBox(make([]float64, len(p.y)), p.y, k, rows, columns)
		for i := rows[0]; i < rows[1]; i++ {
			for j := columns[0]; j < columns[1]; j++ {
				if c := i*nc + j; part.mean[c] != whole.mean[c] {
					t.Fatalf("cell %d: %g, in the whole %g", c, part.mean[c], whole.mean[c])
				}
			}
		}
	})
}

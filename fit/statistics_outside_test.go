package fit

import (
	"math"
	"testing"

	"tipwright/scan/outside"
)

// A limit that is met 19 times in 20 lies at the normal distribution's 95 per cent point, 1.645 (printed tables, from
// memory); k = 2 means 95.45 per cent (JCGM 100:2008, table G.1, from memory). Both by scipy too, as are the robust
// constants, which section has as well.
func TestOutsideQuantiles(t *testing.T) {
	t.Parallel()
	var scipy struct{ Biweight, Mad, Found, Two float64 }
	outside.Script(t, "../section/testdata/statistics.py", map[string]any{"biweight": biweight, "huber": 1.345, "z": []float64{0}}, &scipy, "scipy")
	for _, c := range []struct {
		what                 string
		got, want, tolerance float64
	}{
		{"95 per cent point", limitFound, scipy.Found, 2e-4},
		{"95 per cent point as printed", limitFound, 1.645, 1e-9},
		{"efficiency of the biweight", scipy.Biweight, 0.95, 1e-4},
		{"standard deviation over median deviation", madScale, scipy.Mad, 5e-6},
		{"probability within k = 2", scipy.Two, 0.9545, 5e-5},
	} {
		if math.Abs(c.got-c.want) > c.tolerance {
			t.Errorf("%s: %.6f, want %.6f", c.what, c.got, c.want)
		}
	}
}

// What a window makes of a dent's depth is one integral over the radius, ∫ r exp(-r²/2a²) (1 + cos 2πr/w)/2 dr / a².
func TestOutsideWindowOverADent(t *testing.T) {
	t.Parallel()
	for _, a := range []float64{10, 20, 35} {
		var sum float64
		const steps = 20000
		for i := range steps {
			r := limitWidth / 2 * (float64(i) + 0.5) / steps
			sum += r * math.Exp(-r*r/(2*a*a)) * (1 + math.Cos(2*math.Pi*r/limitWidth)) / 2 / (a * a) * limitWidth / 2 / steps
		}
		if got := gain(kernel{a, a}, limitWidth); math.Abs(got-sum) > 0.012 {
			t.Errorf("a window of %g mm leaves %.4f of a dent's depth, want %.4f", a, got, sum)
		}
	}
}

package section

import (
	"math"
	"testing"
)

// TestUnsmoothedTailIsFound filters a square tail by summing a Gaussian along its arc, and asks for the tail back.
func TestUnsmoothedTailIsFound(t *testing.T) {
	for _, c := range []struct{ thick, filter float64 }{{2, 2}, {2.5, 4}, {4, 3}, {0.5, 3}, {6, 2.5}} {
		const slope, step, far = 0.14, 0.05, 60.0
		tail := func(arc float64) (x, z float64) {
			a := math.Abs(arc)
			if a <= c.thick/2 {
				return 0, arc
			}
			return c.thick/2 - a, math.Copysign(c.thick/2+slope*(a-c.thick/2), arc)
		}
		filtered := func(arc float64) (x, z float64) {
			var sum float64
			for d := -6 * c.filter; d <= 6*c.filter; d += step {
				w := math.Exp(-d * d / (2 * c.filter * c.filter))
				a, b := tail(arc + d)
				sum, x, z = sum+w, x+w*a, z+w*b
			}
			return x / sum, z / sum
		}
		end, _ := filtered(0)
		var p tailProfile
		arc := far
		for at := -profileAhead + profileStep/2; at < 0; at += profileStep {
			x, z := filtered(arc)
			for x < end+at {
				arc -= step
				x, z = filtered(arc)
			}
			p.at, p.half = append(p.at, at), append(p.half, z)
		}
		r, ok := p.unsmoothed()
		if !ok || math.Abs(r.edge+end) > 0.1+0.1*math.Abs(end) {
			t.Errorf("%.1f mm thick, filter %.1f mm: led on by %.2f mm, want %.2f", c.thick, c.filter, r.edge, -end)
		}
	}
}

// TestNoseRadius compares with the radius of a NACA section's nose, 1.1019 t² (Abbott & von Doenhoff, eq. 6.3).
func TestNoseRadius(t *testing.T) {
	f := testFitter(t, "NACA 0015")
	want := 1.1019 * 0.15 * 0.15 * f.Chord
	if got := f.noseRadius(); math.Abs(got-want) > 0.1*want {
		t.Errorf("radius %.2f mm, want %.2f", got, want)
	}
}

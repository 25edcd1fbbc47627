package section

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// TestHingeRow compares what a higher axis does to the distances of points on an aileron with their difference.
func TestHingeRow(t *testing.T) {
	f := testFitter(t, "NACA 2412")
	f.Chord, f.Hinge, f.HingeZ, f.Deflection, f.Twist = 1000, 0.75, 0.02, 0.06, 2e-5
	const step = 0.1 // mm
	for _, c := range []struct {
		x     float64
		upper bool
	}{{0.8, true}, {0.8, false}, {0.95, true}, {0.95, false}, {0.6, true}} {
		y := f.Airfoil.Lower(c.x)
		if c.upper {
			y = f.Airfoil.Upper(c.x)
		}
		neutral := r2.Vec{X: c.x, Y: y}
		p := f.Place(f.Deflect(neutral), 300)
		at := r3.Vec{X: p.X, Y: 300 * f.inboard, Z: p.Y}
		before, _ := f.at(at)
		higher := *f
		higher.HingeZ += step / f.Chord
		after, _ := higher.at(at)
		want := (after.distance - before.distance) / step
		if got := f.hingeRow(neutral, &before)[0]; math.Abs(got-want) > 1e-3 {
			t.Errorf("%v: %.5f, by difference %.5f", c, got, want)
		}
	}
}

// TestLikelyHinge weighs what skins say of an axis: nothing, which leaves it in the middle; plainly that it lies on the upper
// skin; and vaguely that it lies a little above the middle, of which little is believed.
func TestLikelyHinge(t *testing.T) {
	f := testFitter(t, "NACA 0012")
	f.Chord, f.Hinge, f.HingeZ = 1000, 0.75, 0
	const half, prior = 31.6, 63.2 * 63.2 / 12              // mm; mm^2
	with := func(at, sd float64) (mean, variance float64) { // what the fit says where the skins say this
		variance = 1 / (1/prior + 1/(sd*sd))
		return variance * at / (sd * sd), variance
	}
	for _, c := range []struct{ at, sd, least, most, sdLeast, sdMost float64 }{
		{0, 1e4, -0.1, 0.1, 14.4, 14.8},
		{half, 2, half - 1, half + 1, 1, 3},
		{-half, 2, -half - 1, -half + 1, 1, 3},
		{8, 8, 0.5, 7, 3, 9},
	} {
		mean, variance := with(c.at, c.sd)
		if got, sd := f.likelyHinge(mean, variance); got < c.least || got > c.most || sd < c.sdLeast || sd > c.sdMost {
			t.Errorf("%v: %.2f mm, sd %.2f", c, got, sd)
		}
	}
	// It does not matter from where it is told.
	mean, variance := with(20, 4)
	a, _ := f.likelyHinge(mean, variance)
	f.HingeZ = 0.01
	if b, _ := f.likelyHinge(mean-10, variance); math.Abs(a-b-10) > 1e-9 {
		t.Errorf("from 10 mm above: %.3f, from the middle %.3f", b, a)
	}
}

package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestHingeHeightU works the doubt about a hinge line's height by hand: NACA 0012 is 6.32 % of its chord deep at
// 75 % (NACA TR 460, table of ordinates), and the standard deviation of a rectangular distribution is its width over
// the root of twelve (JCGM 100:2008, 4.3.7).
func TestHingeHeightU(t *testing.T) {
	f := testFitter(t, "NACA 0012")
	f.Chord, f.Hinge, f.Deflection = 1000, 0.75, 0.05
	want := 2 * 63.2 * math.Sin(0.05) / math.Sqrt(12)
	if got := f.hingeHeightU(); math.Abs(got-want) > 0.02 {
		t.Errorf("U = %.3f mm, want %.3f", got, want)
	}
	f.Deflection = -0.05
	if got := f.hingeHeightU(); math.Abs(got-want) > 0.02 {
		t.Errorf("turned up: U = %.3f mm, want %.3f", got, want)
	}
	f.Hinge = 0
	if got := f.hingeHeightU(); got != 0 {
		t.Errorf("without an aileron: U = %.3f mm, want 0", got)
	}
}

// TestNoseIsToldAtTheTip lays a nose that stands off by 2 mm at the tip rib and by none 400 mm inboard, with noise and
// strays. The middle of all would be 1 mm off.
func TestNoseIsToldAtTheTip(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		n, strays int
		within    float64
	}{{2000, 0, 0.05}, {2000, 300, 0.05}, {60, 0, 0.7}} {
		var stations, d []float64
		for i := range c.n {
			st := 400 * (float64(i) + 0.5) / float64(c.n)
			stations, d = append(stations, st), append(d, 2-st/200+0.5*r.NormFloat64())
		}
		for range c.strays {
			stations, d = append(stations, 400*r.Float64()), append(d, 10+5*r.Float64())
		}
		if got := atTip(stations, d); math.Abs(got-2) > c.within {
			t.Errorf("%d points and %d strays: %.3f mm, want 2", c.n, c.strays, got)
		}
	}
}

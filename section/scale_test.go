package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// TestHingeHeightPrior works what is expected of a hinge line's height by hand: NACA 0012 is 6.32 % of its chord deep at
// 75 % (NACA TR 460, table of ordinates), and the standard deviation of a rectangular distribution is its width over
// the root of twelve (JCGM 100:2008, 4.3.7).
func TestHingeHeightPrior(t *testing.T) {
	f := testFitter(t, "NACA 0012")
	f.Chord, f.Hinge, f.Deflection = 1000, 0.75, 0.05
	lhs, rhs := mat.NewSymDense(2, nil), mat.NewVecDense(2, nil)
	f.HingeZ = 0.01
	f.hingePriors(lhs, rhs, 0)
	if got, want := 1/math.Sqrt(lhs.At(0, 0)), 63.2/math.Sqrt(12); math.Abs(got-want) > 0.02 {
		t.Errorf("standard deviation %.3f mm, want %.3f", got, want)
	}
	if got := rhs.AtVec(0) / lhs.At(0, 0); math.Abs(got+10) > 1e-9 {
		t.Errorf("an axis 10 mm over the middle is expected %.3f mm higher, want -10", got)
	}
	w := &work{best: &candidate{fitter: *f}, hingeU: 20}
	if got, want := w.hingeHeightU(), 40*math.Sin(0.05); math.Abs(got-want) > 1e-9 {
		t.Errorf("U = %.3f mm, want %.3f", got, want)
	}
	w.best.Hinge = 0
	if got := w.hingeHeightU(); got != 0 {
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
		if got, noise := atTip(stations, d); math.Abs(got-2) > c.within || math.Abs(noise-0.5) > 0.2 {
			t.Errorf("%d points and %d strays: %.3f mm and noise of %.2f, want 2 and 0.5", c.n, c.strays, got, noise)
		}
	}
}

// TestNoseThatIsNotSeenIsNotMadeUp lays points of the rib's face behind the nose and none on it.
func TestNoseThatIsNotSeenIsNotMadeUp(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	f := testFitter(t, "NACA 0012")
	f.Loft = Loft{Airfoil: f.Loft.Airfoil, Chord: 1000}
	f.scale, f.offset, f.inboard = 0.5, 0.3, 1
	f.points = nil
	for range 200 {
		f.points = append(f.points, single(r3.Vec{X: 10 * r.Float64(), Y: 5 * r.Float64(), Z: 4*r.Float64() - 2}))
	}
	if got := f.noseStandsOff(0); got != f.offset {
		t.Errorf("a nose that only the rib's face lies behind stands off by %.2f mm, want the skin's %.2f", got, f.offset)
	}
	for i := range 200 {
		f.points = append(f.points, single(r3.Vec{X: -0.8 + 0.3*r.NormFloat64(), Y: 2 * float64(i)}))
	}
	if got := f.noseStandsOff(6); math.Abs(got-0.8) > 0.1 {
		t.Errorf("a nose 0.8 mm proud stands off by %.2f mm", got)
	}
}

package airfoil

import (
	"errors"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/spatial/r2"
)

// read makes an airfoil of a text or stops.
func read(t testing.TB, text string) *Airfoil {
	t.Helper()
	a, err := Read(strings.NewReader(text), "test.dat")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// apart returns the greatest distance of the points of one outline from the other, and where.
func apart(from, to []r2.Vec) (worst float64, at r2.Vec) {
	j := 0
	for _, p := range from {
		best := math.Inf(1)
		lo := max(0, j-40)
		for k := lo; k < min(len(to)-1, j+200); k++ {
			if d := distance(p, to[k], to[k+1]); d < best {
				best, j = d, k
			}
		}
		if best > worst {
			worst, at = best, p
		}
	}
	return worst, at
}

func TestSplineThroughCoarsePointsFollowsTheFormula(t *testing.T) {
	for _, c := range []struct {
		stations []float64
		within   float64 // chord
	}{{cosine(30), 2e-4}, {cosine(60), 5e-5}, {cosine(200), 7e-6}, {printed(), 2.3e-4}} {
		for _, name := range []string{"NACA 0006", "NACA 0012", "NACA 0024", "NACA 2412", "NACA 4415", "NACA 6212", "NACA 23012", "NACA 23112", "NACA 0012-64"} {
			a := must(t, name)
			u, l := surfacesOf(a, c.stations)
			b := read(t, lines("%.6f %.6f", round(u, l)))
			if d, at := apart(b.Outline(3001), a.Outline(3001)); d > c.within {
				t.Errorf("%s through %d points a side is %.2g of the chord off at x = %.4f", name, len(u), d, at.X)
			}
		}
	}
}

func TestFitCubic(t *testing.T) {
	at := []float64{0, 0.1, 0.35, 0.4, 0.9, 1.4, 1.5}
	cubicOf := func(t float64) float64 { return 1 - 2*t + 0.5*t*t + 3*t*t*t }
	wavy := func(t float64) float64 { return math.Sin(5 * t) }
	for name, f := range map[string]func(float64) float64{"a cubic": cubicOf, "a wave": wavy} {
		var values []float64
		for _, x := range at {
			values = append(values, f(x))
		}
		var got interp.PiecewiseCubic
		var want interp.NotAKnotCubic // the numerical library's own, by another system of equations
		if err := errors.Join(fitCubic(&got, at, values), want.Fit(at, values)); err != nil {
			t.Fatal(err)
		}
		for x := 0.0; x <= 1.5; x += 0.01 {
			near(t, name+" against the library", got.Predict(x), want.Predict(x), 1e-12)
			near(t, name+" slope against the library", got.PredictDerivative(x), want.PredictDerivative(x), 1e-11)
			if name == "a cubic" {
				near(t, "a cubic is its own spline", got.Predict(x), f(x), 1e-12)
			}
		}
	}
}

// TestReadTakesTheMostPoints stands for the bound on work: a full fit of so many points would not end in time.
func TestReadTakesTheMostPoints(t *testing.T) {
	a := must(t, "NACA 23012")
	u, l := surfacesOf(a, cosine(mostRead/2))
	b := read(t, lines("%.7f %.7f", round(u, l)))
	near(t, "thickness", b.Upper(0.3)-b.Lower(0.3), a.Upper(0.3)-a.Lower(0.3), 1e-6)
}

func TestSplineDoesNotRippleInFlatOrSharpPlaces(t *testing.T) {
	// A wedge tail and a flat underside: the outline may not leave the straight parts by more than a trifle.
	a := must(t, "NACA 0012")
	u, l := surfacesOf(a, cosine(41))
	for i := range l {
		if l[i].X > 0.3 {
			l[i].Y = l[20].Y * (1 - l[i].X) / (1 - l[20].X) // straight from mid-chord
		}
	}
	for i := range l {
		if l[i].X > 0.3 && l[i].X < 0.5 {
			l[i].Y = a.Lower(l[i].X)
		}
	}
	b := read(t, lines("%.6f %.6f", round(u, l)))
	for x := 0.55; x < 1; x += 0.001 {
		want := l[20].Y * (1 - x) / (1 - l[20].X)
		if got := b.Lower(x); math.Abs(got-want) > 2e-4 {
			t.Errorf("at x = %.3f the straight underside is %.2g off", x, got-want)
		}
	}
}

func TestSplineKeepsASharpTailSharp(t *testing.T) {
	u, l := surfacesOf(must(t, "NACA 2412"), cosine(40))
	u[39], l[39] = r2.Vec{X: 1}, r2.Vec{X: 1}
	a := read(t, lines("%.6f %.6f", round(u, l)))
	points := a.Outline(2001)
	if points[0] != points[2000] || a.TailThickness() != 0 {
		t.Errorf("a closed tail runs from %v to %v", points[0], points[2000])
	}
	for i := range 200 { // no bulge between the last points
		if p := points[i]; p.X > 1+1e-9 || p.Y < -1e-9 {
			t.Errorf("near the tail the upper surface is at %v", p)
		}
	}
}

func TestTraitsOfAFileAreThoseOfItsFormula(t *testing.T) {
	for _, name := range []string{"NACA 0012", "NACA 2412", "NACA 4415", "NACA 23012", "NACA 0009"} {
		a := must(t, name)
		u, l := surfacesOf(a, cosine(80))
		b := read(t, lines("%.6f %.6f", round(u, l)))
		thickA, atA := a.Thickness()
		thickB, atB := b.Thickness()
		near(t, name+" thickness", thickB, thickA, 5e-6)
		near(t, name+" its place", atB, atA, 3e-3)
		camberA, _ := a.Camber()
		camberB, _ := b.Camber()
		near(t, name+" camber", camberB, camberA, 3e-5)
		near(t, name+" nose radius", b.NoseRadius(), a.NoseRadius(), 0.03*a.NoseRadius())
		near(t, name+" tail", b.TailThickness(), a.TailThickness(), 2e-6)
		factorA, angleA := a.Tape()
		factorB, angleB := b.Tape()
		near(t, name+" tape", factorB, factorA, 2e-6)
		near(t, name+" tape's angle", angleB, angleA, 1e-4)
		if a.Symmetric() != b.Symmetric() {
			t.Errorf("%s: symmetric %v by formula, %v by file", name, a.Symmetric(), b.Symmetric())
		}
	}
}

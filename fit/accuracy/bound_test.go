package accuracy

import (
	"errors"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

func boundWing(t *testing.T) *simulate.Wing {
	t.Helper()
	a, err := airfoil.Parse("NACA 4412")
	if err != nil {
		t.Fatal(err)
	}
	return &simulate.Wing{Airfoil: a, Chord: 1200, Span: 700, Taper: 0.04, Hinge: 0.78}
}

// The derivatives are those of the simulated skin: a wing whose parameter is a little larger stands off the drawing's
// by as much as they say, measured along the normal from the skin's own points.
func TestDerivativesAreThoseOfTheSkin(t *testing.T) {
	w := boundWing(t)
	points := func(w simulate.Wing) (out [][]r2.Vec) {
		_, truth, err := simulate.Scan(w, simulate.Scanner{Points: 1000, Seed: 1})
		if err != nil {
			t.Fatal(err)
		}
		return [][]r2.Vec{truth.AsBuiltAt(0), truth.AsBuiltAt(400)}
	}
	w.Side = 1
	drawn := points(*w)
	for _, c := range []struct {
		par    int
		step   float64
		change func(w *simulate.Wing, step float64)
	}{
		{chordBound, 0.1, func(w *simulate.Wing, d float64) { w.Chord += d }},
		{taperBound, 1e-4, func(w *simulate.Wing, d float64) { w.Taper += d }},
		{twistBound, 1e-7, func(w *simulate.Wing, d float64) { w.Twist += d }},
		{sweepBound, 1e-4, func(w *simulate.Wing, d float64) { w.Sweep += d }},
		{riseBound, 1e-4, func(w *simulate.Wing, d float64) { w.Dihedral += d }},
		{deflectBound, 1e-4, func(w *simulate.Wing, d float64) { w.Deflection += d }},
		{offsetBound, 1e-2, func(w *simulate.Wing, d float64) { w.SkinOffset += d }},
	} {
		other := *w
		c.change(&other, c.step)
		moved := points(other)
		for i, station := range []float64{0, 400} {
			chord := w.ChordAt(station)
			for k := 40; k < len(drawn[i])-40; k += 97 {
				p, next, before := drawn[i][k], drawn[i][k+1], drawn[i][k-1]
				d := r2.Unit(r2.Sub(next, before))
				n := r2.Vec{X: d.Y, Y: -d.X}
				q := r2.Scale(1/chord, p)
				if math.Abs(q.X-w.Hinge) < 0.02 {
					continue
				}
				want := r2.Dot(n, r2.Sub(moved[i][k], p)) / c.step
				if got := derivatives(w, q, n, station)[c.par]; math.Abs(got-want) > 0.02*(1+math.Abs(want)) {
					t.Fatalf("parameter %d at %.3v, station %g: %g, the skin moves by %g", c.par, q, station, got, want)
				}
			}
		}
	}
}

// Least squares on points with known derivatives reaches the bound, and nothing less can be had.
func TestBoundIsThatOfLeastSquares(t *testing.T) {
	const n, sigma, draws = 4000, 0.5, 120
	w := boundWing(t)
	drawn, _, err := CramerRao(w, n, sigma)
	if err != nil {
		t.Fatal(err)
	}
	outline := w.Airfoil.Outline(2001)
	arc := make([]float64, len(outline))
	for k := 1; k < len(arc); k++ {
		arc[k] = arc[k-1] + r2.Norm(r2.Sub(outline[k], outline[k-1]))
	}
	r := rand.New(rand.NewPCG(6, 6))
	var square float64
	for range draws {
		normal, right := mat.NewSymDense(boundParameters, nil), mat.NewVecDense(boundParameters, nil)
		for range n {
			k := max(sort.SearchFloat64s(arc, r.Float64()*arc[len(arc)-1]), 1)
			u := r2.Unit(r2.Sub(outline[k], outline[k-1]))
			q := r2.Scale(0.5, r2.Add(outline[k], outline[k-1]))
			j := mat.NewVecDense(boundParameters, derivatives(w, q, r2.Vec{X: u.Y, Y: -u.X}, w.Span*r.Float64())[:boundParameters])
			normal.SymRankOne(normal, 1, j)
			right.AddScaledVec(right, sigma*r.NormFloat64(), j)
		}
		var x mat.VecDense
		var badly mat.Condition // the parameters differ by powers of ten
		if err := x.SolveVec(normal, right); err != nil && !errors.As(err, &badly) {
			t.Fatal(err)
		}
		square += x.AtVec(chordBound) * x.AtVec(chordBound)
	}
	if got := math.Sqrt(square / draws); got < 0.85*drawn[chordBound] || got > 1.15*drawn[chordBound] { // 120 draws tell a spread to a fifteenth
		t.Errorf("least squares scatters by %.3f mm of chord, the bound is %.3f", got, drawn[chordBound])
	}
}

func TestBoundFallsWithPointsAndRisesWithForm(t *testing.T) {
	w := boundWing(t)
	one, formed, err := CramerRao(w, 10_000, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	four, _, err := CramerRao(w, 40_000, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	for i := range one {
		if math.Abs(one[i]/four[i]-2) > 1e-6 {
			t.Errorf("parameter %d: four times the points make %g of %g", i, four[i], one[i])
		}
		if formed[i] < one[i]*(1-1e-6) {
			t.Errorf("parameter %d: an unknown form lowers the bound from %g to %g", i, one[i], formed[i])
		}
	}
}

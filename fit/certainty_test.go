package fit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// laid takes from departures what a shift and a turn of the whole outline make of them: what is left when a
// template is laid on so that it fits best.
func laid(w *work, d []float64) []float64 {
	n := len(d)
	rigid, v := mat.NewDense(n, 3, nil), mat.NewVecDense(n, slices.Clone(d))
	for j, arc := range w.panel.arc {
		q, normal := w.contour.at(arc / w.panel.length)
		rigid.SetRow(j, []float64{normal.X, normal.Y, r2.Cross(q, normal)})
	}
	var x, fit mat.VecDense
	if err := x.SolveVec(rigid, v); err != nil {
		panic(err)
	}
	fit.MulVec(rigid, &x)
	v.SubVec(v, &fit)
	return v.RawVector().Data
}

// Loft, scale and aileron are off as far as they may be: the target of nearly every wing lies within its
// uncertainty over nineteen twentieths of the outline, point by point it does in about as many cases, and the
// uncertainty is not blown up.
func TestTargetWithinItsUncertainty(t *testing.T) {
	t.Parallel()
	const wings = 8
	var hits, count, z2, beyond float64
	for seed := range uint64(wings) {
		r := rand.New(rand.NewPCG(seed, 11))
		w := usual()
		w.span, w.points, w.columns, w.rows, w.hinge = 400, 160e3, 8, 12, 0.77
		w.form = waves(seed, w.chord, 0.5)
		w.scatter(seed, 0.1, 300)
		w.dents = slices.DeleteFunc(w.dents, func(d dent) bool { return d.depth > 0 }) // the target is raised over those
		p, err := newPanel(w.survey(t, 1), 300)
		if err != nil {
			t.Fatal(err)
		}
		turn, faired := newTurn(p), w.form
		off, x, z, grown := 0.003*r.NormFloat64(), 0.6*r.NormFloat64(), 0.4*r.NormFloat64(), 0.0005*float64(1-2*int(seed%2))
		w.form = func(arc, station float64) float64 {
			q, n := p.contour.at(arc / p.length)
			return faired(arc, station) + off*turn.lever*turn.at(arc) + x*n.X + z*n.Y + grown*w.chord*r2.Dot(q, n)
		}
		s := w.survey(t, seed)
		s.ScaleRel = 0.001
		got, err := Fit(s, wishes())
		if err != nil {
			t.Fatal(err)
		}
		d := make([]float64, len(got.Sections))
		for j, tr := range got.Sections {
			d[j] = tr.Target - faired(tr.Arc, 0)
		}
		var off95 []float64
		for j, e := range laid(got.work, d) {
			count++
			u := got.Sections[j].TargetU
			if math.Abs(e) <= u {
				hits++
			}
			z2 += square(e / u)
			off95 = append(off95, math.Abs(e))
		}
		slices.Sort(off95)
		if p95 := off95[len(off95)*19/20]; p95 > got.TargetU {
			beyond++
			t.Logf("seed %d: nineteen twentieths lie within %.3f mm, said %.3f", seed, p95, got.TargetU)
		}
	}
	share, spread := hits/count, math.Sqrt(z2/count)
	t.Logf("%.3f of all points within U, errors over U %.2f rms, %g of %d wings beyond", share, spread, beyond, wings)
	if beyond > 1 || share < 0.9 || spread > 0.7 || spread < 0.2 {
		t.Errorf("%.3f of all points within U, errors over U %.2f rms, %g of %d wings beyond", share, spread, beyond, wings)
	}
}

// Where scan and tape differ by more than scans usually err, the outlines' uncertainties count the difference in and a
// caution says what to measure; where they differ by less, they do not.
func TestScaleInDoubt(t *testing.T) {
	t.Parallel()
	w := small()
	var u [2]float64
	for i, correction := range []float64{1.007, 0.98} {
		s := w.survey(t, 1)
		s.ScaleRel, s.Correction = 0.001, correction
		r, err := Fit(s, wishes())
		if err != nil {
			t.Fatal(err)
		}
		u[i] = r.TargetU
		told := slices.ContainsFunc(r.Messages, func(m scan.Message) bool { return m.Code == "scale-in-doubt" && m.Level == scan.Caution })
		if told != (i == 1) {
			t.Errorf("multiplied by %.3f: told %v", correction, told)
		}
	}
	// Laid on so that it fits best, an outline a fiftieth too large lies off by 2 mm and more over a tenth of itself.
	if u[0] > 0.5 || u[1] < 0.0015*w.chord || u[1] > 0.012*w.chord {
		t.Errorf("uncertainties %.2f and %.2f mm", u[0], u[1])
	}
}

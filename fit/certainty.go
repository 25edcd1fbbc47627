package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

// What is said of an outline's uncertainty holds for its shape: laid on the wing so that it fits best, as a
// builder does with a template. Its parts are the form's own (noise that neighbours share, gaps, what the
// span is too short for, the turn of the aileron), the scale of the scan, and what the filter does with a spot
// too shallow to be found.
const (
	scannerErrs  = 0.01 // share by which a phone's scan may be too large or too small (common practice, no source)
	certainShare = 0.9  // of an outline that is known at least as well as is said of the whole
)

// most returns what nine tenths of the values do not exceed.
func most(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[int(certainShare*float64(len(s)-1)+0.5)]
}

// rigid returns what a shift aft, a shift up and a turn of the whole outline move each column's skin outward: laid on as a
// template, an outline that errs so does not err.
func (w *work) rigid() *mat.Dense {
	r := mat.NewDense(len(w.panel.arc), 3, nil)
	for j, arc := range w.panel.arc {
		q, normal := w.contour.at(arc / w.panel.length)
		r.SetRow(j, []float64{normal.X, normal.Y, r2.Cross(q, normal)})
	}
	return r
}

// scaleU returns the expanded uncertainty (k = 2) that the scale leaves in each column, mm. A wing a little too
// large lies off its outline mostly at the nose and the tail; what a shift and a turn of the whole take off
// does not count.
func (w *work) scaleU(rigid *mat.Dense) []float64 {
	grown := mat.NewVecDense(len(w.panel.arc), nil)
	for j, arc := range w.panel.arc {
		q, normal := w.contour.at(arc / w.panel.length)
		grown.SetVec(j, r2.Dot(q, normal))
	}
	var x, fit mat.VecDense
	if err := x.SolveVec(rigid, grown); err == nil {
		fit.MulVec(rigid, &x)
		grown.SubVec(grown, &fit)
	}
	out := make([]float64, len(w.panel.arc))
	for j := range out {
		out[j] = scaleRel(w.survey) * w.survey.Loft.Chord * math.Abs(grown.AtVec(j))
	}
	return out
}

// skinSE returns the standard uncertainty of the skin at a column at station 0, the scale's left out, mm: what is
// smoothed of what stands out of the form, and the form's own as an outline.
func (w *work) skinSE(j int, form []float64) float64 {
	smoothed := square(w.nodes.se[j]) - square(w.parted.uForm[w.nodes.rowOf(0)*w.panel.columns()+j])
	return math.Sqrt(math.Max(smoothed, 0) + square(form[j]))
}

// scaleRel returns the relative expanded uncertainty (k = 2) of lengths. Where scan and tape differ by more than scans
// usually err, either may be wrong, and lengths are known no better than that.
func scaleRel(s *section.Survey) float64 {
	if off := math.Abs(s.Correction - 1); s.Correction > 0 && off > scannerErrs {
		return math.Hypot(s.ScaleRel, off)
	}
	return s.ScaleRel
}

// targetSE returns the standard uncertainty of the target at a column at station 0, the scale's left out, mm; form is
// that of the form with the aileron at neutral, skin of the skin. The nominal with a constant offset lies on the wing no
// better than the wing's own form is known.
func (w *work) targetSE(j int, form []float64, skin float64) float64 {
	f := w.parted.form
	u := math.Hypot(form[j], f.turn.waves()*f.turn.lever*f.turn.at(w.panel.arc[j]))
	if w.nodes.bump[j] > 0 {
		u = math.Max(u, skin)
	}
	return u
}

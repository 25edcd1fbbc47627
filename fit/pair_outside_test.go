package fit

import (
	"math"
	"testing"

	"tipwright/scan/outside"
)

// One wing is laid on the other as scipy's least squares lays it, with distances by GEOS; what is left between them,
// and the area within the skin, are what GEOS finds.
func TestOutsidePairLaidTogether(t *testing.T) {
	t.Parallel()
	left, right := small(), small()
	s := right.survey(t, 1)
	c, form := newContour(&s.Loft), right.form
	right.form = func(arc, station float64) float64 { // fuller, shifted by 0.6 mm aft and 0.8 down, and nose up by 0.2 degrees
		q, n := c.at(arc / s.Map.Length)
		turn := 0.0035 * right.chord * (n.X*q.Y - n.Y*q.X)
		return form(arc, station) + 0.3*math.Sin(2*math.Pi*arc/900) + 0.6*n.X - 0.8*n.Y + turn
	}
	l, r := sides(t, left, right, nil)
	p := Compare(l, r, 1)
	a, b := newHalf(l), newHalf(r)
	var question struct {
		Points  [][2]float64 `json:"points"`
		Weights []float64    `json:"weights"`
		Line    [][2]float64 `json:"line"`
	}
	for i, q := range a.points {
		if !a.inner(i) {
			continue
		}
		u := math.Hypot(a.sections[i].Departure.U, b.nearest(a.sections[i].Arc/a.length).Departure.U)
		question.Points, question.Weights = append(question.Points, [2]float64{q.X, q.Y}), append(question.Weights, 4/(u*u))
	}
	for _, q := range b.curve {
		question.Line = append(question.Line, [2]float64{q.X, q.Y})
	}
	var others struct {
		Shift                  [2]float64
		Turn, RMS, Worst, Area float64
		RawRMS, RawWorst       float64
	}
	outside.Script(t, "testdata/laid.py", question, &others, "numpy", "scipy", "shapely")
	t.Logf("shift %.3f, turn %.5f, rms %.4f, area %.1f; by others %+v", p.Shift, p.Turn.Value, p.ShapeRMS, p.Area.Right.Value, others)
	if math.Abs(p.Shift.X-others.Shift[0]) > 0.03 || math.Abs(p.Shift.Y-others.Shift[1]) > 0.03 || math.Abs(p.Turn.Value-others.Turn) > 3e-5 {
		t.Errorf("laid by %.3f and %.5f rad, scipy lays it by %.3f and %.5f", p.Shift, p.Turn.Value, others.Shift, others.Turn)
	}
	// Along the normal the way to an outline that lies millimetres off is a little longer than the shortest one.
	if math.Abs(p.RawRMS/others.RawRMS-1) > 0.01 || math.Abs(p.RawWorst/others.RawWorst-1) > 0.02 {
		t.Errorf("as they lie: %.4f mm rms, %.3f at worst, by GEOS %.4f and %.3f", p.RawRMS, p.RawWorst, others.RawRMS, others.RawWorst)
	}
	if math.Abs(p.ShapeRMS-others.RMS) > 0.01 || math.Abs(p.ShapeWorst-others.Worst) > 0.05 {
		t.Errorf("laid together: %.4f mm rms, %.3f at worst, by GEOS %.4f and %.3f", p.ShapeRMS, p.ShapeWorst, others.RMS, others.Worst)
	}
	if math.Abs(p.Area.Right.Value/others.Area-1) > 1e-6 {
		t.Errorf("area %.1f mm2, by GEOS %.1f", p.Area.Right.Value, others.Area)
	}
}

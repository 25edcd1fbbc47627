package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan/outside"
)

// What is said of the departures from the drawing is what GEOS finds between the two outlines: root of the mean
// square, lowest, highest, and mean.
func TestOutsideDeparturesFromNominal(t *testing.T) {
	t.Parallel()
	w := small()
	w.noise = 0.05
	w.dents = []dent{{600, 20, 160, 120, -1.4}}
	r := fitted(t, &w, 3, wishes())
	pairs := func(p []r2.Vec) (out [][2]float64) {
		for _, q := range p {
			out = append(out, [2]float64{q.X, q.Y})
		}
		return out
	}
	var d []float64
	outside.Script(t, "testdata/between.py", map[string]any{"points": pairs(r.AsBuilt), "line": pairs(r.Nominal)}, &d, "numpy", "shapely")
	var sum, sum2, low, high float64
	for _, v := range d {
		sum, sum2 = sum+v/float64(len(d)), sum2+v*v/float64(len(d))
		low, high = math.Min(low, v), math.Max(high, v)
	}
	var form, departure float64 // the mean of the form lacks the low spot
	for _, tr := range r.Sections {
		form, departure = form+tr.Form/float64(len(r.Sections)), departure+tr.Departure.Value/float64(len(r.Sections))
	}
	for _, c := range []struct {
		what      string
		got, geos float64
		within    float64
	}{
		{"rms", r.NominalRMS, math.Sqrt(sum2), 0.01},
		{"worst low", r.WorstLow, low, 0.03},
		{"worst high", r.WorstHigh, high, 0.03},
		{"mean of the form", r.OffsetMean, sum - departure + form, 0.01},
	} {
		t.Logf("%s %.4f mm, by GEOS %.4f", c.what, c.got, c.geos)
		if math.Abs(c.got-c.geos) > c.within {
			t.Errorf("%s: %.4f mm, by GEOS %.4f", c.what, c.got, c.geos)
		}
	}
}

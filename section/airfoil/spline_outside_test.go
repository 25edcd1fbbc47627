package airfoil

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan/outside"
)

// The curve through a file's points is the cubic with not-a-knot ends that scipy lays through the same points.
func TestOutsideCubicIsScipys(t *testing.T) {
	t.Parallel()
	for name, a := range map[string]*Airfoil{
		"a plain file": read(t, fixtures(t)["once-round.dat"]), "two blocks": read(t, fixtures(t)["two-blocks.dat"]),
	} {
		c := a.curve.(*spline)
		var question struct {
			T     []float64 `json:"t"`
			Value []float64 `json:"value"`
			At    []float64 `json:"at"`
		}
		for _, axis := range []string{"x", "z"} {
			curve, of := &c.x, func(p r2.Vec) float64 { return p.X }
			if axis == "z" {
				curve, of = &c.z, func(p r2.Vec) float64 { return p.Y }
			}
			question.T, question.Value, question.At = c.knots, nil, nil
			for _, k := range c.knots {
				question.Value = append(question.Value, of(c.along(k)))
			}
			last := c.knots[len(c.knots)-1]
			for i := range 1000 {
				question.At = append(question.At, last*float64(i)/999)
			}
			var scipy struct{ Value, Slope []float64 }
			outside.Script(t, "testdata/cubic.py", question, &scipy, "scipy")
			for i, at := range question.At {
				v, d := curve.Predict(at), curve.PredictDerivative(at)
				if math.Abs(v-scipy.Value[i]) > 1e-12 || math.Abs(d-scipy.Slope[i]) > 1e-9 {
					t.Fatalf("%s, %s at %.4f: %.12f, slope %.9f; scipy has %.12f, %.9f", name, axis, at, v, d, scipy.Value[i], scipy.Slope[i])
				}
			}
		}
	}
}

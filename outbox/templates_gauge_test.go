package outbox

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/section"
)

// The feet must follow a nose that is sharper than the usual step, middles of the steps included, and the
// two boards must lie apart, so that a cutter passes between them.
func TestGaugeOfASharpNose(t *testing.T) {
	t.Parallel()
	for _, s := range shapes() {
		r := blockResult(t, section.Left, s.name, s.chord)
		r.Gauges = []fit.Template{{Name: "gauge", Outline: r.Target}}
		d, err := gaugeDrawings(r, sampleSheet(), sampleIdentity("left"))
		if err != nil {
			t.Fatal(err)
		}
		target := drawtest.Path{Points: r.Target}
		boards := layerOf(t, d[0].Drawing, "GAUGE_EDGE").Elements
		for half, e := range boards {
			p := e.(draw.Path).Points
			if len(p) > 6000 {
				t.Errorf("%s %.0f: %d points", s.name, s.chord, len(p))
			}
			for i := 1; i < len(p) && r2.Norm(r2.Sub(p[i], p[0])) < gaugeFoot/2; i++ {
				mid := r2.Scale(0.5, r2.Add(p[i], p[i-1]))
				mid.Y += float64(half) * gaugeApart
				if gap := target.Distance(mid); gap > 0.01 {
					t.Fatalf("%s %.0f: the foot at %.2f is %.3f mm off", s.name, s.chord, mid, gap)
				}
			}
		}
		if lowest, highest := extreme(boards[0], math.Min), extreme(boards[1], math.Max); lowest-highest < 5 {
			t.Errorf("%s %.0f: the boards are %.1f mm apart", s.name, s.chord, lowest-highest)
		}
	}
}

// extreme returns the lowest or the highest place of a path at its front, where the two boards meet.
func extreme(e draw.Element, of func(a, b float64) float64) float64 {
	p := e.(draw.Path).Points
	out := p[0].Y
	for _, q := range p {
		if math.Abs(q.X-p[0].X) < gaugeFront {
			out = of(out, q.Y)
		}
	}
	return out
}

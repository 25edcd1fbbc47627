package outbox

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/scan/sheet"
)

// blockMarks are what both blocks of a pair carry at the same x and z, so that they can be stacked, drilled
// together and set up to each other. Section frame, mm.
type blockMarks struct {
	chord float64    // reference chord
	lines [3]float64 // x of the lines A near the nose, B at the deepest point, C near the tail
	holes []blockHole
}

// blockHole is a hole for a screw through the block into the foam.
type blockHole struct {
	at   r2.Vec
	edge float64 // from the hole's middle to the nearest edge of any block
}

// All by common practice, no source.
const (
	holeDiameter  = 5.0
	holeClearance = 12.0 // mm that must stay between a hole's rim and the wire's path
	deepEnough    = 0.6  // of the greatest depth: where holes may lie
)

// newBlockMarks chooses the marks so that they suit every template.
func newBlockMarks(r *fit.Result, s *sheet.Sheet) (*blockMarks, error) {
	var outlines []blockOutline
	for _, t := range r.Templates {
		o, err := newBlockOutline(t.Outline)
		if err != nil {
			return nil, err
		}
		outlines = append(outlines, o)
	}
	m := &blockMarks{chord: r.Survey.Chord.Value}
	m.lines = [3]float64{math.Round(0.05 * m.chord), outlines[0].deepX, math.Round(0.9 * m.chord)}
	for _, f := range []float64{0.16, 0.42, 0.64} {
		if h, ok := holeAt(outlines, math.Round(f*m.chord)); ok {
			m.holes = append(m.holes, h)
		}
	}
	return m, nil
}

// holeAt places a hole at x, midway between the surfaces, in whole mm; ok is false where a block is too
// shallow for it.
func holeAt(outlines []blockOutline, x float64) (h blockHole, ok bool) {
	lower, upper := math.Inf(-1), math.Inf(1)
	for _, o := range outlines {
		lo, hi, in := o.cut(x)
		if !in || hi-lo < deepEnough*o.depth {
			return h, false
		}
		lower, upper = math.Max(lower, lo), math.Min(upper, hi)
	}
	h = blockHole{r2.Vec{X: x, Y: math.Round((lower + upper) / 2)}, math.Inf(1)}
	for _, o := range outlines {
		h.edge = math.Min(h.edge, o.clearance(h.at))
	}
	return h, h.edge >= holeClearance+holeDiameter/2
}

package outbox

import (
	"encoding/json"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw/drawtest"
	"tipwright/section"
)

// The wire marks of result.json must be those that stand on the drawing, on either wing and either face, and part
// each surface into equal lengths from tail to nose.
func TestWireMarksAreRecorded(t *testing.T) {
	t.Parallel()
	for _, side := range []section.Side{section.Left, section.Right} {
		files := delivered(t, sampleDelivery(t, side))
		var r Record
		if err := json.Unmarshal(files[ResultName], &r); err != nil {
			t.Fatal(err)
		}
		for _, b := range r.Templates {
			dxf := drawtest.ReadDXF(t, files[b.Name+".dxf"])
			drawn := dxf.On("WIRE_MARKS_MM")
			if b.WireMarksMM == nil || len(drawn) < 2*wireSteps {
				t.Fatalf("%s %s: %d lines", side, b.Name, len(drawn))
			}
			edge := seen(outlinePoints(b.OutlineMM), side, b.Name)
			for name, marks := range map[string]Outline{"upper": b.WireMarksMM.Upper, "lower": b.WireMarksMM.Lower} {
				places := seen(outlinePoints(marks), side, b.Name).Points
				if len(places) != wireSteps+1 {
					t.Fatalf("%s %s, %s: %d marks", side, b.Name, name, len(places))
				}
				for i, p := range places[1:wireSteps] {
					if d := fromEnds(drawn, p); d > 0.02 {
						t.Errorf("%s %s, %s: mark %d is drawn %.3f mm off", side, b.Name, name, i+1, d)
					}
				}
				equalShares(t, edge, places)
			}
		}
		for _, g := range r.Gauges {
			if g.WireMarksMM != nil {
				t.Errorf("%s has wire marks", g.Name)
			}
		}
	}
}

func outlinePoints(o Outline) []r2.Vec {
	out := make([]r2.Vec, len(o))
	for i, q := range o {
		out[i] = r2.Vec{X: q[0], Y: q[1]}
	}
	return out
}

// fromEnds returns how far a place is from the nearest beginning of a line.
func fromEnds(lines []drawtest.Path, p r2.Vec) float64 {
	least := math.Inf(1)
	for _, l := range lines {
		least = math.Min(least, r2.Norm(r2.Sub(l.Points[0], p)))
	}
	return least
}

// equalShares holds the way along the edge from mark to mark against its mean.
func equalShares(t *testing.T, edge drawtest.Path, places []r2.Vec) {
	t.Helper()
	whole := math.Abs(arcOf(edge, places[wireSteps-1]) - arcOf(edge, places[1]))
	for i := 2; i < wireSteps; i++ {
		step := math.Abs(arcOf(edge, places[i]) - arcOf(edge, places[i-1]))
		if d := math.Abs(step - whole/(wireSteps-2)); d > 0.02 {
			t.Errorf("the way to mark %d is %.3f mm off", i, d)
		}
	}
	if gap := math.Max(edge.Distance(places[0]), edge.Distance(places[wireSteps])); gap > 0.02 {
		t.Errorf("tail or nose lies %.3f mm beside the edge", gap)
	}
}

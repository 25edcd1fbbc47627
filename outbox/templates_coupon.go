package outbox

import (
	"fmt"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
)

const couponWide, couponHigh = 160.0, 70.0 // mm

// couponDrawing returns the board for a test cut that measures the kerf: an upright rectangle. The wire rides
// on both long edges and leaves foam that is lower than the board by the kerf less the wire, half of it on
// each side, so kerf = wire + board - foam (geometry).
func couponDrawing(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	d := &draw.Drawing{
		Title:  sheetTitle(r, s, id, "test cut for the kerf"),
		Origin: "lower left corner of the board",
	}
	board := []r2.Vec{{}, {X: couponWide}, {X: couponWide, Y: couponHigh}, {Y: couponHigh}}
	edge := d.On("BLOCK_EDGE", draw.Pen{Width: 0.35})
	edge.Key = "saw and sand to this line: the wire rides on it"
	edge.Add(draw.Path{Points: board, Closed: true})
	holes := d.On("HOLES", draw.Pen{Width: 0.25})
	for _, x := range []float64{15, couponWide - 15} {
		c := r2.Vec{X: x, Y: couponHigh / 2}
		holes.Add(draw.Circle{Centre: c, R: holeDiameter / 2},
			draw.Line{A: r2.Sub(c, r2.Vec{X: 5}), B: r2.Add(c, r2.Vec{X: 5})},
			draw.Line{A: r2.Sub(c, r2.Vec{Y: 5}), B: r2.Add(c, r2.Vec{Y: 5})})
	}
	gauge := d.On("WIRE_MARKS", draw.Pen{Width: 0.25})
	for i, x := range []float64{40, couponWide / 2, couponWide - 40} {
		for _, z := range [][2]float64{{0, 5}, {couponHigh - 5, couponHigh}} {
			gauge.Add(draw.Line{A: r2.Vec{X: x, Y: z[0]}, B: r2.Vec{X: x, Y: z[1]}})
		}
		gauge.Add(draw.Text{At: r2.Vec{X: x + 1.5, Y: 2}, Height: lettering, Words: fmt.Sprintf("F%d", i+1)})
	}
	wire := fixed(s.WireDiameter.MM(), 2)
	words := []paragraph{
		{3.5, "Test cut for the kerf: saw two of these"},
		{lettering, "Board as sawn, by calliper: B = ________ mm"},
		{lettering, "Foam at F1, F2, F3, mean: F = ________ mm"},
		{lettering, fmt.Sprintf("kerf = wire %s + B - F = ________ mm", wire)},
		{lettering, fmt.Sprintf("The wing sheet has kerf %s mm. No offset; either face up.", fixed(s.Kerf.MM(), 2))},
	}
	for _, line := range stamp(r, s, id) {
		words = append(words, paragraph{lettering, line})
	}
	set(d.On("WORDS", draw.Pen{Width: 0.25}), words, room{r2.Vec{X: 24, Y: 6}, r2.Vec{X: couponWide - 26, Y: couponHigh - 6}})
	d.Controls = []draw.Control{{Name: "Long edge", A: board[0], B: board[1]}, {Name: "Short edge", A: board[0], B: board[3]}}
	d.Notes = []draw.Note{
		{Heading: "Cut", Lines: []string{
			fmt.Sprintf("Saw two boards. Screw them to the ends of a piece of the tip's own foam, %s mm apart like the tip's blocks, and cut along both "+
				"long edges with the heat, wire and speed that the tip will get.", fixed(s.TipLength.MM(), 0)),
			"Measure the foam half-way between the boards at F1, F2 and F3 and take the mean: a wire that is dragged bows, and cuts wider at the ends.",
			"Write the kerf into the wing sheet, under [wire] as kerf; the form blocks are then made again.",
		}},
		{Heading: "Laminate", Lines: []string{
			"Lay the tip's plies on one face of this foam, finish them as the tip, and measure what the thickness gained: that is laminate, under [tip].",
		}},
		{Heading: "Cautions", Lines: []string{"Hot-wire polystyrene foam only. Urethane and other foams give off poisonous gases, cyanide among them. Fresh air, no flames."}},
	}
	d.Fit(5)
	return []NamedDrawing{{"kerf-coupon", d}}, nil
}

package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// The joint strip. Least edge distance of a rivet or screw is 2 diameters, 2.5 for flush heads (TM
// 10-7360-209-13&P; flush heads common practice, no source); the rest is common practice, no source.
const (
	flangeHalf     = 25.0 // mm under the wing's skin, and as much under the tip's
	flangeFastener = 3.2  // mm, 1/8 in
	flangeRow      = 10.0 // mm from the skin's end to a row of fasteners: 3.1 diameters
	flangeNose     = 15.0 // mm from the nose to the first fastener
	flangeEnd      = 12.0 // mm from the last fastener to the strip's end
	flangeShort    = 20.0 // mm that the strip stops short of the hinge line, so that the aileron stays free
	flangeApart    = 14.0 // mm between the two strips on paper
)

// flangeDrawing returns the developed strips that lie under the skin at the tip rib, upper and lower, from
// the nose aft: as long as the skin's inner face. Nothing is drawn where there is no skin outline.
func flangeDrawing(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	if len(r.AsBuilt) == 0 {
		return nil, nil
	}
	if r.Survey.Side == section.NoSide {
		return nil, fmt.Errorf("flange-strip: which side it belongs to is not known")
	}
	inner, err := fit.Offset(r.AsBuilt, -s.SkinThickness.MM())
	if err != nil {
		return nil, fmt.Errorf("flange-strip: %w", err)
	}
	d := &draw.Drawing{
		Title:  sheetTitle(r, s, id, "flange strip"),
		Origin: "nose, on the line of the skin's end, of the upper strip; x aft along the skin, y inboard",
	}
	o, err := newBlockOutline(inner)
	if err != nil {
		return nil, fmt.Errorf("flange-strip: %w", err)
	}
	end := 0.95 * r.Survey.Chord.Value
	if h := r.Survey.Loft.Hinge; h > 0 {
		end = h*r.Survey.Chord.Value - flangeShort
	}
	for i, name := range []string{"upper", "lower"} {
		f := strip{name: name, length: innerLength(inner, i == 0, end), y: -float64(i) * (2*flangeHalf + flangeApart), s: s, d: d,
			end: end, deepX: o.deepX, deep: innerLength(inner, i == 0, o.deepX), hinge: r.Survey.Loft.Hinge > 0}
		f.draw(r, id)
	}
	d.Notes = flangeNotes(r, s, innerLength(inner, true, end)+innerLength(inner, false, end))
	d.Fit(4)
	return []NamedDrawing{{"flange-strip", d}}, nil
}

// innerLength returns the length along one surface of an outline from its foremost point to x.
func innerLength(p []r2.Vec, upper bool, x float64) float64 {
	front := 0
	for i, q := range p {
		if q.X < p[front].X {
			front = i
		}
	}
	line := p[front:]
	if upper {
		line = reversed(p[:front+1])
	}
	sum := 0.0
	for i := 1; i < len(line); i++ {
		a, b := line[i-1], line[i]
		if b.X >= x {
			return sum + (x-a.X)/(b.X-a.X)*r2.Norm(r2.Sub(b, a))
		}
		sum += r2.Norm(r2.Sub(b, a))
	}
	return sum
}

// strip is one of the two strips; y is that of the skin's end on paper.
type strip struct {
	name      string
	length, y float64
	end       float64 // section's x of the aft end
	deepX     float64 // section's x of the deepest point
	deep      float64 // mm from the nose to it, along the strip
	hinge     bool
	s         *sheet.Sheet
	d         *draw.Drawing
}

func (f *strip) draw(r *fit.Result, id Identity) {
	corner := func(x, y float64) r2.Vec { return r2.Vec{X: x, Y: f.y + y} }
	edge := f.d.On("STRIP_EDGE", draw.Pen{Width: 0.35})
	edge.Key = "cut to this line"
	edge.Add(draw.Path{Closed: true, Points: []r2.Vec{
		corner(0, -flangeHalf), corner(f.length, -flangeHalf), corner(f.length, flangeHalf), corner(0, flangeHalf)}})
	reference := f.d.On("REFERENCE", draw.Pen{Width: 0.18, Dash: []float64{12, 2, 2, 2}})
	reference.Key = "end of the skin; place of the deepest point"
	reference.Add(draw.Line{A: corner(-5, 0), B: corner(f.length+5, 0)}, draw.Line{A: corner(f.deep, -flangeHalf), B: corner(f.deep, flangeHalf)})
	holes := f.d.On("HOLES", draw.Pen{Width: 0.2})
	at := fasteners(f.length, f.s.FlangePitch.MM())
	for _, x := range at {
		for _, row := range []float64{flangeRow, -flangeRow} {
			c := corner(x, row)
			holes.Add(draw.Circle{Centre: c, R: flangeFastener / 2},
				draw.Line{A: r2.Sub(c, r2.Vec{X: 3}), B: r2.Add(c, r2.Vec{X: 3})},
				draw.Line{A: r2.Sub(c, r2.Vec{Y: 3}), B: r2.Add(c, r2.Vec{Y: 3})})
		}
	}
	l := f.d.On("WORDS", draw.Pen{Width: 0.25})
	say := func(x, y, height float64, words string) {
		l.Add(draw.Text{At: corner(x, y), Height: height, Words: words})
	}
	say(4, flangeHalf-6, 3.5, fmt.Sprintf("%s strip, %s wing: %s mm developed", f.name, r.Survey.Side, fixed(f.length, 1)))
	say(4, flangeHalf-11, lettering, "JOINT AT THE NOSE at this end. Inboard half: under the wing's skin; "+f.face(r.Survey.Side))
	say(4, -flangeHalf+6.5, lettering, "outboard half: under the tip's laminate. Offset: "+fixed(f.s.SkinThickness.MM(), 2)+" mm of skin under the skin as scanned.")
	say(4, -flangeHalf+2.5, lettering, stamp(r, f.s, id)[0])
	if len(at) > 1 {
		say(4, 2, lettering, fmt.Sprintf("end of the skin; %d fasteners a row, %s mm apart, the first %s mm from the nose", len(at), fixed(at[2]-at[1], 1), fixed(at[0], 0)))
	}
	for i, words := range stamp(r, f.s, id)[1:] {
		say(f.deep+4, -flangeHalf+6.5-4*float64(i), lettering, words)
	}
	say(f.deep+4, flangeHalf-5, lettering, fmt.Sprintf("deepest point, x %s, %s mm from the nose", fixed(f.deepX, 0), fixed(f.deep, 1)))
	f.d.On("WORDS", draw.Pen{}).Add(draw.Text{At: corner(f.length-3, flangeHalf-5), Height: lettering, Anchor: draw.End, Words: "AFT END: " + f.tailWords()})
	f.d.Controls = append(f.d.Controls, draw.Control{Name: "Length of the " + f.name + " strip", A: corner(0, flangeHalf), B: corner(f.length, flangeHalf)})
}

// tailWords says where the strip ends.
func (f *strip) tailWords() string {
	if f.hinge {
		return fmt.Sprintf("x %s, %s mm ahead of the hinge line", fixed(f.end, 0), fixed(flangeShort, 0))
	}
	return fmt.Sprintf("x %s; close the tail by a strip of your own", fixed(f.end, 0))
}

// face says which face of the strip is seen. Inboard is up on paper and aft to the right. Whoever looks down
// on a left wing's upper skin with inboard, +Y, ahead of him has (-Z) × Y = X, aft, to his right: he sees
// the face that lies against the skin. Under the wing, or on the other wing, it is the opposite face.
func (f *strip) face(side section.Side) string {
	if (f.name == "upper") == (side == section.Left) {
		return "this face lies against the skin"
	}
	return "this face looks away from the skin"
}

// fasteners returns where along the strip a row's fasteners lie: evenly, no farther apart than the pitch, and
// half as far in the first gap, since the skin is bent most at the nose.
func fasteners(length, pitch float64) []float64 {
	room := length - flangeNose - flangeEnd
	if !(room > pitch) {
		return []float64{flangeNose}
	}
	gaps := math.Max(2, math.Ceil(room/pitch-0.5))
	step := room / (gaps + 0.5)
	out := []float64{flangeNose}
	for i := 0.0; i <= gaps; i++ {
		out = append(out, flangeNose+step*(i+0.5))
	}
	return out
}

func flangeNotes(r *fit.Result, s *sheet.Sheet, round float64) []draw.Note {
	out := []draw.Note{{Heading: "Use", Lines: []string{
		fmt.Sprintf("The length is that of the skin's inner face at the tip rib, %s mm within the scanned skin. A strip that is bent round the nose in "+
			"one piece may need notches there; bend radii are the maker's.", fixed(s.SkinThickness.MM(), 2)),
		fmt.Sprintf("Wrap the paper round the skin's inner face from the nose aft, the chain line on the end of the skin and the cross line on the deepest "+
			"point, and mark through. Upper and lower strip meet at the nose: from aft end to aft end round the nose it is %s mm.", fixed(round, 1)),
		fmt.Sprintf("Holes are drawn for fasteners of %s mm: rows %s mm from the skin's end. From a hole's middle to the skin's end it is %s diameters, to "+
			"the strip's long edge %s. Keep at least 2 diameters to any edge, 2.5 for flush heads, and 3 diameters between holes.",
			fixed(flangeFastener, 1), fixed(flangeRow, 0), fixed(flangeRow/flangeFastener, 1), fixed((flangeHalf-flangeRow)/flangeFastener, 1)),
		"This is one way to join a tip. Where the kit's designer shows another, his drawing rules.",
	}}}
	if r.Survey.Loft.Hinge > 0 {
		out = append(out, draw.Note{Heading: "Aileron", Lines: []string{
			fmt.Sprintf("The strips end %s mm ahead of the hinge line. Nothing may be fixed to the aileron, and it must move freely past the tip.", fixed(flangeShort, 0)),
		}})
	}
	return append(out, draw.Note{Heading: "Cautions", Lines: []string{
		"tipwright measures shape only. Strength and attachment are for the kit's designer, your authority and licensed practice.",
	}})
}

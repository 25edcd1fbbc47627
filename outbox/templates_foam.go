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

// Foam that stays round the block, common practice, no source.
const (
	foamEnds   = 30.0 // mm ahead of the nose and behind the tail
	foamRim    = 20.0 // mm above and below
	foamRound  = 5.0  // sizes are rounded up to this
	foamPaper  = 225.0
	foamFigure = 2.5
)

// foamBlock is what the builder glues up and where the form blocks sit on it.
type foamBlock struct {
	o            *formBlock
	length       float64 // mm from block to block
	wide, high   float64 // mm, of the end faces, across and up
	left, bottom float64 // section coordinates of the lower front corner
	sheets       int
	last         float64 // mm, thickness that is left of the last sheet
	scale        float64 // mm of foam on one of paper
	noseTail     float64 // mm, nose mark to tail mark
	d            *draw.Drawing
}

// foamDrawing returns the layout of the foam: its size, how many sheets it takes and where the form blocks
// sit on both ends, with the measurements that keep the tip free of twist. It is drawn to scale, for its
// figures. Nothing is drawn where there are no form blocks.
func foamDrawing(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	if len(r.Templates) == 0 {
		return nil, nil
	}
	marks, err := newBlockMarks(r, s)
	if err != nil {
		return nil, fmt.Errorf("foam-block: %w", err)
	}
	var outer fit.Template
	for _, t := range r.Templates {
		if t.Station <= outer.Station {
			outer = t
		}
	}
	b, err := newFormBlock(outer, marks, r, s, id)
	if err != nil {
		return nil, fmt.Errorf("foam-block: %w", err)
	}
	f := newFoamBlock(b, s)
	f.draw(r, s)
	return []NamedDrawing{{"foam-block", f.d}}, nil
}

func newFoamBlock(b *formBlock, s *sheet.Sheet) *foamBlock {
	lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, p := range b.points {
		lo = r2.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y)}
		hi = r2.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y)}
	}
	up := func(v float64) float64 { return foamRound * math.Ceil(v/foamRound) }
	f := &foamBlock{o: b, length: s.TipLength.MM(), wide: up(hi.X - lo.X + 2*foamEnds), high: up(hi.Y - lo.Y + 2*foamRim)}
	f.left = math.Floor(lo.X - (f.wide-(hi.X-lo.X))/2)
	f.bottom = -math.Round(-lo.Y + (f.high-(hi.Y-lo.Y))/2)
	f.sheets = max(1, int(math.Ceil(f.length/s.FoamSheet.MM()-1e-9)))
	f.last = f.length - float64(f.sheets-1)*s.FoamSheet.MM()
	f.noseTail = r2.Norm(r2.Sub(b.noseMark(), b.tail))
	for _, k := range []float64{1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30} {
		if f.scale = k; f.wide <= k*foamPaper {
			break
		}
	}
	return f
}

// at takes a point of the section frame to paper, to scale, seen as the outboard block is.
func (f *foamBlock) at(p r2.Vec) r2.Vec { return r2.Scale(1/f.scale, f.o.at(p)) }

func (f *foamBlock) draw(r *fit.Result, s *sheet.Sheet) {
	f.d = &draw.Drawing{
		Title:  fmt.Sprintf("%s, %s wing: foam block", aircraftName(s, f.o.id), r.Survey.Side),
		Origin: "leading edge of the section, on the chord line",
		Scale:  fmt.Sprintf("1 : %.0f", f.scale),
	}
	f.endFace()
	f.stack(s)
	f.d.Notes = f.notes(s, r.Survey.Side)
	f.d.Fit(4)
}

// endFace draws the outboard end of the foam with the form block on it and the measurements that place it.
func (f *foamBlock) endFace() {
	right, top := f.left+f.wide, f.bottom+f.high
	face := []r2.Vec{{X: f.left, Y: f.bottom}, {X: right, Y: f.bottom}, {X: right, Y: top}, {X: f.left, Y: top}}
	var edge, outline []r2.Vec
	for _, p := range face {
		edge = append(edge, f.at(p))
	}
	for _, p := range f.o.points {
		outline = append(outline, f.at(p))
	}
	f.d.On("FOAM", draw.Pen{Width: 0.35}).Add(draw.Path{Points: edge, Closed: true})
	f.d.On("BLOCK_EDGE", draw.Pen{Width: 0.25}).Add(draw.Path{Points: outline, Closed: true})
	ref := f.d.On("REFERENCE", draw.Pen{Width: 0.13, Dash: []float64{8, 1.5, 1.5, 1.5}})
	ref.Add(draw.Line{A: f.at(r2.Vec{X: f.left}), B: f.at(r2.Vec{X: right})})
	for i, x := range f.o.lines {
		ref.Add(draw.Line{A: f.at(r2.Vec{X: x, Y: f.bottom}), B: f.at(r2.Vec{X: x, Y: top})})
		f.word(r2.Add(f.at(r2.Vec{X: x, Y: top}), r2.Vec{Y: 1.5}), draw.Middle, fmt.Sprintf("%c", 'A'+i))
	}
	f.measure(r2.Vec{X: f.o.lines[0], Y: f.bottom}, r2.Vec{X: f.o.lines[0]}, fixed(-f.bottom, 1))
	f.measure(r2.Vec{X: f.o.lines[2], Y: f.bottom}, r2.Vec{X: f.o.lines[2]}, fixed(-f.bottom, 1))
	f.below(r2.Vec{X: f.left, Y: f.bottom}, f.o.lines[1], 5, fixed(f.o.lines[1]-f.left, 1)+" to line B")
	f.below(r2.Vec{X: f.left, Y: f.bottom}, right, 13, fmt.Sprintf("%s wide, %s high", fixed(f.wide, 0), fixed(f.high, 0)))
	f.word(r2.Add(f.at(r2.Vec{X: (f.left + right) / 2, Y: top}), r2.Vec{Y: 6}), draw.Middle, "Outboard end face. Reference edge: the lower one.")
}

// measure draws a measurement upwards from a to b, its figure on the paper's right of it.
func (f *foamBlock) measure(a, b r2.Vec, figure string) {
	f.arrow(f.at(a), f.at(b))
	f.word(r2.Add(r2.Scale(0.5, r2.Add(f.at(a), f.at(b))), r2.Vec{X: 1.5, Y: -foamFigure / 2}), draw.Start, figure)
}

// below draws a measurement from a corner along the reference edge to x, down mm of paper below it.
func (f *foamBlock) below(corner r2.Vec, x, down float64, figure string) {
	a, b := f.at(corner), f.at(r2.Vec{X: x, Y: corner.Y})
	shift := r2.Vec{Y: -down}
	thin := f.d.On("MEASURES", draw.Pen{Width: 0.13})
	for _, p := range []r2.Vec{a, b} {
		thin.Add(draw.Line{A: r2.Sub(p, r2.Vec{Y: 1}), B: r2.Add(p, r2.Sub(shift, r2.Vec{Y: 1}))})
	}
	f.arrow(r2.Add(a, shift), r2.Add(b, shift))
	f.word(r2.Add(r2.Scale(0.5, r2.Add(a, b)), r2.Add(shift, r2.Vec{Y: 1.2})), draw.Middle, figure)
}

// arrow draws a line with a head at either end, paper coordinates.
func (f *foamBlock) arrow(a, b r2.Vec) {
	l := f.d.On("MEASURES", draw.Pen{Width: 0.13})
	along := r2.Unit(r2.Sub(b, a))
	side := r2.Vec{X: -along.Y, Y: along.X}
	l.Add(draw.Line{A: a, B: b})
	for _, e := range []struct {
		tip  r2.Vec
		back float64
	}{{a, 2}, {b, -2}} {
		foot := r2.Add(e.tip, r2.Scale(e.back, along))
		l.Add(draw.Area{Points: []r2.Vec{e.tip, r2.Add(foot, r2.Scale(0.5, side)), r2.Sub(foot, r2.Scale(0.5, side))}})
	}
}

func (f *foamBlock) word(at r2.Vec, anchor draw.Anchor, words string) {
	f.d.On("WORDS", draw.Pen{Width: 0.25}).Add(draw.Text{At: at, Height: foamFigure, Anchor: anchor, Words: words})
}

// stack draws the foam from above: its sheets between the form blocks.
func (f *foamBlock) stack(s *sheet.Sheet) {
	x0, x1 := f.at(r2.Vec{X: f.left}).X, f.at(r2.Vec{X: f.left + f.wide}).X
	left, right := math.Min(x0, x1), math.Max(x0, x1)
	top := f.at(r2.Vec{Y: f.bottom}).Y - 26
	box := func(layer string, pen, from, to float64) {
		a, b := top-from/f.scale, top-to/f.scale
		f.d.On(layer, draw.Pen{Width: pen}).Add(draw.Path{Closed: true, Points: []r2.Vec{{X: left, Y: a}, {X: right, Y: a}, {X: right, Y: b}, {X: left, Y: b}}})
	}
	board := s.BlockThickness.MM()
	box("BLOCK_EDGE", 0.25, -board, 0)
	box("BLOCK_EDGE", 0.25, f.length, f.length+board)
	for i := range f.sheets {
		box("FOAM", 0.35, float64(i)*s.FoamSheet.MM(), math.Min(f.length, float64(i+1)*s.FoamSheet.MM()))
	}
	f.arrow(r2.Vec{X: left + 8, Y: top}, r2.Vec{X: left + 8, Y: top - f.length/f.scale})
	f.word(r2.Vec{X: left + 10, Y: top - f.length/f.scale/2 - foamFigure/2}, draw.Start, fixed(f.length, 0)+" from block to block")
	f.word(r2.Vec{X: (left + right) / 2, Y: top + board/f.scale + 2}, draw.Middle,
		"From above, inboard block on this side. "+f.sheetWords(s))
	f.word(r2.Vec{X: (left + right) / 2, Y: top - (f.length+board)/f.scale - 2 - foamFigure}, draw.Middle, "outboard block")
}

// sheetWords says how many sheets it takes and what becomes of the last.
func (f *foamBlock) sheetWords(s *sheet.Sheet) string {
	words := fmt.Sprintf("%d sheets of %s mm", f.sheets, fixed(s.FoamSheet.MM(), 1))
	if f.sheets == 1 {
		words = fmt.Sprintf("One sheet of %s mm", fixed(s.FoamSheet.MM(), 1))
	}
	if trim := s.FoamSheet.MM() - f.last; trim > 0.05 {
		return fmt.Sprintf("%s, the last trimmed by %s mm to %s mm.", words, fixed(trim, 1), fixed(f.last, 1))
	}
	return words + ", none trimmed."
}

// notes give the measurements in words, with the table of twist.
func (f *foamBlock) notes(s *sheet.Sheet, side section.Side) []draw.Note {
	cross := math.Hypot(f.noseTail, f.length)
	twist := draw.Note{Heading: "How much twist", Lines: []string{"If one tail stands higher or lower than it should, the tip is twisted by"}}
	for _, d := range []float64{0.5, 1, 2, 3, 5, 10} {
		twist.Lines = append(twist.Lines, fmt.Sprintf("%s mm at the tail: %s°", fixed(d, 1), fixed(math.Atan(d/f.noseTail)*180/math.Pi, 2)))
	}
	return []draw.Note{
		{Heading: "Foam", Lines: []string{
			fmt.Sprintf("Glue up %s by %s by %s mm: %s", fixed(f.wide, 0), fixed(f.high, 0), fixed(f.length, 1), f.sheetWords(s)) +
				" Boards vary by millimetres: measure yours, and measure the stack before you trim.",
			"Use a glue that the wire melts, away from the surface to be cut. Cut both end faces square to the lower edge.",
			fmt.Sprintf("An end face is square when both its diagonals are %s mm.", fixed(math.Hypot(f.wide, f.high), 1)),
		}},
		{Heading: "Place the form blocks, " + side.String() + " wing", Lines: []string{
			fmt.Sprintf("The lower long edge is the reference edge. On both end faces alike: chord line %s mm above it at line A, %s mm above it at line C, "+
				"and line B %s mm from the front face.", fixed(-f.bottom, 1), fixed(-f.bottom, 1), fixed(f.o.lines[1]-f.left, 1)),
			fmt.Sprintf("Then check from block to block: nose mark of the one to tail mark of the other, both ways, %s mm each. If the two differ, the blocks "+
				"are shifted along the chord.", fixed(cross, 1)),
			"Twist does not show in those: sight along both chord lines from one end, and lay a level or straightedges across both blocks at A and at C.",
		}},
		twist,
		{Heading: "Cautions", Lines: []string{
			"A twisted tip rolls the aeroplane. Keep both tips alike.",
			"Hot-wire polystyrene foam only. Urethane and other foams give off poisonous gases, cyanide among them. Fresh air, no flames.",
			"tipwright measures shape only and says nothing on strength, attachment, flutter or legality.",
		}},
	}
}

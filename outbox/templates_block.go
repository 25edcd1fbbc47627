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

// Lines of the blocks, all by common practice, no source.
const (
	sawBeside = 3.0  // mm outside the edge
	runLength = 40.0 // mm of the wire's straight way beyond tail and nose
	wireSteps = 20   // shares of arc on each surface: published advice is 10 to 20 marks
	tickMost  = 8.0  // mm
	lettering = 2.5  // mm, the least height of capitals
)

// formBlock is the drawing of one form block in the making. It is printed for the face that looks away from
// the foam, so that lines and numbers stay in sight while the wire runs: the outboard face of the outboard
// block and the inboard face of the inboard one.
type formBlock struct {
	blockOutline
	*blockMarks
	template fit.Template
	result   *fit.Result
	sheet    *sheet.Sheet
	id       Identity
	face     face
	sign     float64 // see paperSign
	saw      []r2.Vec
	d        *draw.Drawing
}

func newFormBlock(t fit.Template, m *blockMarks, r *fit.Result, s *sheet.Sheet, id Identity) (*formBlock, error) {
	if r.Survey.Side == section.NoSide {
		return nil, fmt.Errorf("which side it belongs to is not known")
	}
	b := &formBlock{blockMarks: m, template: t, result: r, sheet: s, id: id}
	var err error
	if b.blockOutline, err = newBlockOutline(t.Outline); err != nil {
		return nil, err
	}
	b.face = facesInboard
	if t.Station < 0 {
		b.face = facesOutboard
	}
	b.sign = paperSign(r.Survey.Side, b.face)
	closed := append(b.points[:len(b.points):len(b.points)], b.points[0])
	if b.saw, err = fit.Offset(closed, sawBeside); err != nil {
		return nil, fmt.Errorf("no saw line: %w", err)
	}
	b.d = &draw.Drawing{Title: b.title(), Origin: "leading edge of the section, on the chord line; x aft, z up"}
	return b, nil
}

// draw draws everything; the order is that of the layers.
func (b *formBlock) draw() *draw.Drawing {
	b.edges()
	b.referenceLines()
	b.wireMarks()
	b.runs()
	b.drillHoles()
	b.controls()
	b.words()
	b.d.Fit(3)
	return b.d
}

// at takes a point of the section frame to the paper.
func (b *formBlock) at(p r2.Vec) r2.Vec { return onPaper(b.sign, p) }

func (b *formBlock) all(p []r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(p))
	for i, q := range p {
		out[i] = b.at(q)
	}
	return out
}

func (b *formBlock) edges() {
	edge := b.d.On("BLOCK_EDGE", draw.Pen{Width: 0.35})
	edge.Key = "sand to this line: the wire rides on it"
	edge.Add(draw.Path{Points: b.all(b.points), Closed: true})
	saw := b.d.On("SAW_LINE", draw.Pen{Width: 0.18, Dash: []float64{5, 2.5}})
	saw.Key = "saw outside this line"
	saw.Add(draw.Path{Points: b.all(b.saw), Closed: true})
}

// referenceLines draws the chord line and the three lines square to it, beyond the edge by enough to carry
// them round the board.
func (b *formBlock) referenceLines() {
	l := b.d.On("REFERENCE", draw.Pen{Width: 0.18, Dash: []float64{12, 2, 2, 2}})
	l.Key = "chord line, lines A, B, C"
	names := b.d.On("REFERENCE_NAMES", draw.Pen{Width: 0.25})
	const beyond = sawBeside + 4
	from, to := b.extent()
	l.Add(draw.Line{A: b.at(r2.Vec{X: from - beyond}), B: b.at(r2.Vec{X: to + beyond})})
	for i, x := range b.lines {
		lo, hi, _ := b.cut(x)
		l.Add(draw.Line{A: b.at(r2.Vec{X: x, Y: lo - beyond}), B: b.at(r2.Vec{X: x, Y: hi + beyond})})
		name := fmt.Sprintf("%c  x %.0f", 'A'+i, x)
		names.Add(draw.Text{At: b.beside(x), Height: lettering, Words: name})
	}
	b.upArrow(names)
}

// beside returns where the name of a line stands, on the paper's right of it: half-way between the surfaces,
// or above the block where there is no room between the wire marks.
func (b *formBlock) beside(x float64) r2.Vec {
	const wide, least = 16.0, 20.0
	lower, upper, top := math.Inf(-1), math.Inf(1), math.Inf(-1)
	for i := 0.0; i <= wide; i++ {
		lo, hi, ok := b.cut(x + b.sign*i)
		if ok {
			lower, upper, top = math.Max(lower, lo), math.Min(upper, hi), math.Max(top, hi)
		} else {
			upper = math.Inf(-1)
		}
	}
	z := (lower + upper - lettering) / 2
	if upper-lower < least {
		z = top + sawBeside + 8
	}
	return r2.Add(b.at(r2.Vec{X: x, Y: z}), r2.Vec{X: 1.5})
}

// upArrow stands beside the line B, on the paper's right of it.
func (b *formBlock) upArrow(l *draw.Layer) {
	_, hi, _ := b.cut(b.lines[1])
	top := r2.Add(b.at(r2.Vec{X: b.lines[1], Y: hi - 16}), r2.Vec{X: 6})
	if hi < 40 {
		return
	}
	l.Add(
		draw.Line{A: r2.Sub(top, r2.Vec{Y: 12}), B: top},
		draw.Area{Points: []r2.Vec{top, r2.Add(top, r2.Vec{X: -1.5, Y: -4}), r2.Add(top, r2.Vec{X: 1.5, Y: -4})}},
		draw.Text{At: r2.Sub(top, r2.Vec{Y: 16}), Height: lettering, Anchor: draw.Middle, Words: "UP"},
	)
}

// wireMarks numbers equal shares of arc from 0 at the tail to wireSteps at the nose on either surface. Where
// the board is too thin for numbers within, they stand outside.
func (b *formBlock) wireMarks() {
	l := b.d.On("WIRE_MARKS", draw.Pen{Width: 0.25})
	for _, surface := range []struct {
		line []r2.Vec
		left float64 // of the way to the nose: +1 where the board lies to the left
	}{{b.upper(), 1}, {b.lower(), -1}} {
		for i, p := range wirePlaces(surface.line) {
			if i == 0 || i == wireSteps {
				continue // the tail and the nose have marks of their own
			}
			in := r2.Scale(surface.left, r2.Vec{X: -p.along.Y, Y: p.along.X})
			lo, hi, _ := b.cut(p.at.X)
			b.wireMark(l, p.at, in, hi-lo, fmt.Sprint(i))
		}
	}
	b.endMark(l, b.tail, b.tailward(), "0 TAIL")
	b.endMark(l, b.noseMark(), r2.Unit(r2.Sub(b.noseMark(), b.tail)), fmt.Sprintf("%d NOSE", wireSteps))
}

// wirePlace is where a mark stands on a surface, and the direction of the surface there, towards the nose.
type wirePlace struct{ at, along r2.Vec }

// wirePlaces returns the places of the marks on a surface from 0 at the tail to wireSteps at the nose.
func wirePlaces(surface []r2.Vec) []wirePlace {
	out := make([]wirePlace, wireSteps+1)
	for i := range out {
		out[i].at, out[i].along = atShare(surface, float64(i)/wireSteps)
	}
	return out
}

// wireMark draws one mark at p of the edge; in points into the board, which is depth deep there.
func (b *formBlock) wireMark(l *draw.Layer, p, in r2.Vec, depth float64, number string) {
	tick := math.Min(tickMost, 0.15*depth)
	word := r2.Add(p, r2.Scale(tick+1+lettering/2, in))
	if tick+1.5+lettering > 0.45*depth {
		tick = 0.3 * depth
		word = r2.Sub(p, r2.Scale(sawBeside+3+lettering/2, in))
		l.Add(draw.Line{A: b.at(p), B: b.at(r2.Sub(p, r2.Scale(sawBeside+1.5, in)))})
	}
	l.Add(draw.Line{A: b.at(p), B: b.at(r2.Add(p, r2.Scale(tick, in)))})
	l.Add(draw.Text{At: r2.Sub(b.at(word), r2.Vec{Y: lettering / 2}), Height: lettering, Anchor: draw.Middle, Words: number})
}

// endMark draws the mark of the tail or the nose: a line across the edge with a cross line at the very point
// that a tape measures to.
func (b *formBlock) endMark(l *draw.Layer, p, out r2.Vec, name string) {
	side := r2.Vec{X: -out.Y, Y: out.X}
	l.Add(
		draw.Line{A: b.at(r2.Sub(p, r2.Scale(10, out))), B: b.at(r2.Add(p, r2.Scale(sawBeside+4, out)))},
		draw.Line{A: b.at(r2.Sub(p, r2.Scale(9, side))), B: b.at(r2.Add(p, r2.Scale(9, side)))},
	)
	anchor := draw.Start
	q := b.at(r2.Add(p, r2.Scale(sawBeside+5, out)))
	if b.at(out).X < 0 {
		anchor = draw.End
	}
	l.Add(draw.Text{At: r2.Add(q, r2.Vec{Y: 3}), Height: 3, Anchor: anchor, Words: name})
}

// runs draws the wire's straight way to the tail and away from the nose: on from the tail in the direction
// in which it points, from both its corners, and on from the nose mark along the line from the tail.
func (b *formBlock) runs() {
	l := b.d.On("WIRE_RUN", draw.Pen{Width: 0.25, Dash: []float64{1.5, 1}})
	l.Key = "the wire's way to the tail and from the nose"
	run := func(p, dir r2.Vec) { l.Add(draw.Line{A: b.at(p), B: b.at(r2.Add(p, r2.Scale(runLength, dir)))}) }
	run(b.points[0], b.tailward())
	if b.open {
		run(b.points[len(b.points)-1], b.tailward())
	}
	run(b.noseMark(), r2.Unit(r2.Sub(b.noseMark(), b.tail)))
}

func (b *formBlock) drillHoles() {
	l := b.d.On("HOLES", draw.Pen{Width: 0.25})
	for i, h := range b.holes {
		c := b.at(h.at)
		l.Add(draw.Circle{Centre: c, R: holeDiameter / 2},
			draw.Line{A: r2.Sub(c, r2.Vec{X: 5}), B: r2.Add(c, r2.Vec{X: 5})},
			draw.Line{A: r2.Sub(c, r2.Vec{Y: 5}), B: r2.Add(c, r2.Vec{Y: 5})},
			draw.Text{At: r2.Add(c, r2.Vec{X: 3.5, Y: 3.5}), Height: lettering, Words: fmt.Sprintf("H%d", i+1)})
	}
}

// controls are the lengths to tape before sawing, one along the chord and one across it.
func (b *formBlock) controls() {
	lo, hi, _ := b.cut(b.lines[1])
	b.d.Controls = []draw.Control{
		{Name: "Nose mark to tail mark", A: b.at(b.noseMark()), B: b.at(b.tail)},
		{Name: "Along line B, solid edge to solid edge", A: b.at(r2.Vec{X: b.lines[1], Y: lo}), B: b.at(r2.Vec{X: b.lines[1], Y: hi})},
	}
}

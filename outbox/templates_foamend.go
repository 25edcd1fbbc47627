package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw"
)

// foamEnd is one end face of the foam with its form block, seen by whoever stands before it: so the two faces
// of one block are each other's mirror images on paper, as they are in the workshop.
type foamEnd struct {
	*foamBlock
	o *formBlock
	y float64 // of the chord line on paper
}

// at takes a point of the section frame to paper, to scale.
func (e *foamEnd) at(p r2.Vec) r2.Vec {
	q := r2.Scale(1/e.scale, e.o.at(p))
	if e.o.sign != e.ends[0].sign { // both faces lie below each other on paper
		q.X += 2*e.paperLeft() + e.wide/e.scale
	}
	return r2.Add(q, r2.Vec{Y: e.y})
}

// draw draws the face with its block and the measurements that place it.
func (e *foamEnd) draw() {
	right, top := e.left+e.wide, e.bottom+e.high
	var edge, outline []r2.Vec
	for _, p := range []r2.Vec{{X: e.left, Y: e.bottom}, {X: right, Y: e.bottom}, {X: right, Y: top}, {X: e.left, Y: top}} {
		edge = append(edge, e.at(p))
	}
	for _, p := range e.o.points {
		outline = append(outline, e.at(p))
	}
	e.d.On("FOAM", draw.Pen{}).Add(draw.Path{Points: edge, Closed: true})
	e.d.On("BLOCK_EDGE", draw.Pen{}).Add(draw.Path{Points: outline, Closed: true})
	ref := e.d.On("REFERENCE", draw.Pen{})
	ref.Add(draw.Line{A: e.at(r2.Vec{X: e.left}), B: e.at(r2.Vec{X: right})})
	for i, x := range e.o.lines {
		ref.Add(draw.Line{A: e.at(r2.Vec{X: x, Y: e.bottom}), B: e.at(r2.Vec{X: x, Y: top})})
		e.word(r2.Add(e.at(r2.Vec{X: x, Y: top}), r2.Vec{Y: 1.2}), draw.Middle, fmt.Sprintf("%c", 'A'+i))
	}
	e.word(r2.Vec{X: e.paperLeft(), Y: e.at(r2.Vec{Y: top}).Y + foamHead}, draw.Start,
		fmt.Sprintf("%s end face, seen from %s: %s wide, %s high.", e.o.endTitle(), e.o.end(), fixed(e.wide, 0), fixed(e.high, 0)))
	e.aside("Both diagonals "+fixed(e.diagonal(), 1)+".", 6)
	e.aside("Reference edge: the lower one.", 11)
	e.heights()
	e.along(e.o.noseMark().X, 4.5, fixed(e.o.noseMark().X-e.left, 1)+" to the nose mark")
	e.along(e.o.lines[1], 11, fixed(e.o.lines[1]-e.left, 1)+" to line B")
}

// aside sets words below the face, down mm of paper, at its tail: the measurements along it begin at the nose.
func (e *foamEnd) aside(words string, down float64) {
	p := r2.Sub(e.at(r2.Vec{X: e.left + e.wide, Y: e.bottom}), r2.Vec{Y: down})
	anchor := draw.Start
	if e.o.sign > 0 {
		anchor = draw.End
	}
	e.word(p, anchor, words)
}

// diagonal returns the length of an end face's diagonals, mm.
func (f *foamBlock) diagonal() float64 { return math.Hypot(f.wide, f.high) }

// heights draws how far nose mark, chord line and tail mark lie above the reference edge: nose and tail
// outside the face, the chord line at line B.
func (e *foamEnd) heights() {
	nose, tail := e.o.noseMark(), e.o.tail
	e.outside(nose, e.left, "nose ")
	e.outside(tail, e.left+e.wide, "tail ")
	x := e.o.lines[1]
	a, b := e.at(r2.Vec{X: x, Y: e.bottom}), e.at(r2.Vec{X: x})
	e.arrow(a, b)
	lower, _, _ := e.o.cut(x)
	mid := (e.at(r2.Vec{X: x, Y: lower}).Y + b.Y) / 2
	e.word(r2.Vec{X: b.X + 1.5, Y: mid - foamFigure/2}, draw.Start, fixed(-e.bottom, 1))
}

// outside draws the height of a point above the reference edge beyond the end of the face at x.
func (e *foamEnd) outside(p r2.Vec, x float64, name string) {
	const away = 4.0
	side := math.Copysign(away, e.at(r2.Vec{X: x}).X-e.at(r2.Vec{X: e.o.lines[1]}).X)
	foot := r2.Add(e.at(r2.Vec{X: x, Y: e.bottom}), r2.Vec{X: side})
	head := r2.Vec{X: foot.X, Y: e.at(p).Y}
	thin := e.d.On("MEASURES", draw.Pen{Width: 0.13})
	beyond := r2.Vec{X: math.Copysign(1, side)}
	thin.Add(draw.Line{A: e.at(p), B: r2.Add(head, beyond)}, draw.Line{A: e.at(r2.Vec{X: x, Y: e.bottom}), B: r2.Add(foot, beyond)})
	e.arrow(foot, head)
	anchor := draw.Start
	if side < 0 {
		anchor = draw.End
	}
	e.word(r2.Add(r2.Scale(0.5, r2.Add(foot, head)), r2.Vec{X: math.Copysign(1.5, side), Y: -foamFigure / 2}), anchor, name+fixed(p.Y-e.bottom, 1))
}

// along draws a measurement from the front face along the reference edge to x, down mm of paper below it; the
// words stand within it or, where it is too short, after it.
func (e *foamEnd) along(x, down float64, figure string) {
	a, b := e.at(r2.Vec{X: e.left, Y: e.bottom}), e.at(r2.Vec{X: x, Y: e.bottom})
	shift := r2.Vec{Y: -down}
	thin := e.d.On("MEASURES", draw.Pen{Width: 0.13})
	for _, p := range []r2.Vec{a, b} {
		thin.Add(draw.Line{A: r2.Sub(p, r2.Vec{Y: 1}), B: r2.Add(p, r2.Sub(shift, r2.Vec{Y: 1}))})
	}
	a, b = r2.Add(a, shift), r2.Add(b, shift)
	e.arrow(a, b)
	if math.Abs(b.X-a.X) > draw.Width(figure, foamFigure)+6 {
		e.word(r2.Add(r2.Scale(0.5, r2.Add(a, b)), r2.Vec{Y: 1}), draw.Middle, figure)
		return
	}
	anchor, step := draw.Start, 2.0
	if b.X < a.X {
		anchor, step = draw.End, -2
	}
	e.word(r2.Add(b, r2.Vec{X: step, Y: -foamFigure / 2}), anchor, figure)
}

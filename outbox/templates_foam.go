package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
)

// Foam that stays round the block, common practice, no source.
const (
	foamEnds   = 30.0 // mm ahead of the nose and behind the tail
	foamRim    = 20.0 // mm above and below
	foamRound  = 5.0  // sizes are rounded up to this
	foamFigure = 2.5  // mm, height of figures
)

// The layout should lie on one sheet of any usual paper, mm.
const foamWide, foamDeep = 225.0, 160.0

// foamBlock is what the builder glues up and where the form blocks sit on it.
type foamBlock struct {
	ends         []*formBlock // outboard end first
	length       float64      // mm from block to block
	wide, high   float64      // mm, of the end faces, across and up
	left, bottom float64      // section coordinates of the lower front corner
	sheets       int
	sheet        float64 // mm, measured thickness of one
	last         float64 // mm, thickness that is left of the last sheet
	board        float64 // mm, thickness of a form block
	scale        float64 // mm of foam on one of paper
	noseTail     float64 // mm, nose mark to tail mark, of the shortest block
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
	f := &foamBlock{length: s.TipLength.MM(), sheet: s.FoamSheet.MM(), board: s.BlockThickness.MM()}
	for _, t := range r.Templates {
		b, err := newFormBlock(t, marks, r, s, id)
		if err != nil {
			return nil, fmt.Errorf("foam-block: %w", err)
		}
		if b.face == facesOutboard {
			f.ends = append([]*formBlock{b}, f.ends...)
		} else {
			f.ends = append(f.ends, b)
		}
	}
	f.measureUp()
	f.draw(r, s, id)
	return []NamedDrawing{{"foam-block", f.d}}, nil
}

// measureUp chooses the foam's size and the drawing's scale.
func (f *foamBlock) measureUp() {
	lo, hi := r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	f.noseTail = math.Inf(1)
	for _, b := range f.ends {
		f.noseTail = math.Min(f.noseTail, r2.Norm(r2.Sub(b.noseMark(), b.tail)))
		for _, p := range b.points {
			lo = r2.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y)}
			hi = r2.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y)}
		}
	}
	up := func(v float64) float64 { return foamRound * math.Ceil(v/foamRound) }
	f.wide, f.high = up(hi.X-lo.X+2*foamEnds), up(hi.Y-lo.Y+2*foamRim)
	f.left = math.Floor(lo.X - (f.wide-(hi.X-lo.X))/2)
	f.bottom = -math.Round(-lo.Y + (f.high-(hi.Y-lo.Y))/2)
	f.sheets = max(1, int(math.Ceil(f.length/f.sheet-1e-9)))
	f.last = f.length - float64(f.sheets-1)*f.sheet
	for _, k := range []float64{1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30} {
		f.scale = k
		if f.wide/k+50 <= foamWide && f.deep() <= foamDeep {
			break
		}
	}
}

// Heights on paper, mm: of what stands above and below an end face, and round the stack of sheets.
const foamHead, foamFoot, foamBetween = 5.0, 16.0, 9.0

// deep returns how deep the drawing is on paper, mm.
func (f *foamBlock) deep() float64 {
	return float64(len(f.ends))*(f.high/f.scale+foamHead+foamFoot) + (f.length+2*f.board)/f.scale + 2*foamBetween + 14
}

func (f *foamBlock) draw(r *fit.Result, s *sheet.Sheet, id Identity) {
	f.d = &draw.Drawing{
		Title:  sheetTitle(r, s, id, "foam block"),
		Origin: "leading edge of the outboard section, on the chord line",
		Scale:  fmt.Sprintf("1 : %.0f", f.scale),
	}
	f.d.On("FOAM", draw.Pen{Width: 0.35}).Key = "foam"
	f.d.On("BLOCK_EDGE", draw.Pen{Width: 0.25, Dash: []float64{3, 1}}).Key = "form block"
	f.d.On("REFERENCE", draw.Pen{Width: 0.13, Dash: []float64{8, 1.5, 1.5, 1.5}}).Key = "chord line, lines A, B, C"
	y := 0.0
	for _, b := range f.ends {
		e := foamEnd{f, b, y}
		e.draw()
		y -= f.high/f.scale + foamHead + foamFoot
	}
	bottom := f.stack(y+f.bottom/f.scale+f.high/f.scale+foamHead-foamBetween, f.ends[0])
	for i, words := range append([]string{"Both blocks: " + offsetWords(f.ends[0].template.Offset, s) + "."}, stamp(r, s, id)...) {
		f.word(r2.Vec{X: f.paperLeft(), Y: bottom - 4*float64(i+1)}, draw.Start, words)
	}
	f.d.Notes = f.notes(r.Survey.Side)
	f.d.Fit(3)
	f.d.Max.X += 6 // for fonts that run wider than they should
}

// paperLeft returns the left edge of the foam on paper.
func (f *foamBlock) paperLeft() float64 {
	sign := f.ends[0].sign
	return math.Min(sign*f.left, sign*(f.left+f.wide)) / f.scale
}

func (f *foamBlock) word(at r2.Vec, anchor draw.Anchor, words string) {
	f.d.On("WORDS", draw.Pen{Width: 0.25}).Add(draw.Text{At: at, Height: foamFigure, Anchor: anchor, Words: words})
}

// arrow draws a line with a head at either end, paper coordinates.
func (f *foamBlock) arrow(a, b r2.Vec) {
	l := f.d.On("MEASURES", draw.Pen{Width: 0.13})
	along := r2.Unit(r2.Sub(b, a))
	side := r2.Vec{X: -along.Y, Y: along.X}
	head := math.Min(2, r2.Norm(r2.Sub(b, a))/2)
	l.Add(draw.Line{A: a, B: b})
	for _, e := range []struct {
		tip  r2.Vec
		back float64
	}{{a, head}, {b, -head}} {
		foot := r2.Add(e.tip, r2.Scale(e.back, along))
		l.Add(draw.Area{Points: []r2.Vec{e.tip, r2.Add(foot, r2.Scale(0.5, side)), r2.Sub(foot, r2.Scale(0.5, side))}})
	}
}

// stack draws the foam from above: its sheets between the form blocks, numbered in the order of gluing. It
// returns the lowest place on paper that it takes.
func (f *foamBlock) stack(top float64, outer *formBlock) float64 {
	left := f.paperLeft()
	right := left + f.wide/f.scale
	top -= f.board / f.scale
	box := func(layer string, from, to float64) {
		a, b := top-from/f.scale, top-to/f.scale
		f.d.On(layer, draw.Pen{}).Add(draw.Path{Closed: true, Points: []r2.Vec{{X: left, Y: a}, {X: right, Y: a}, {X: right, Y: b}, {X: left, Y: b}}})
	}
	box("BLOCK_EDGE", -f.board, 0)
	box("BLOCK_EDGE", f.length, f.length+f.board)
	y := math.Inf(1)
	for i := range f.sheets {
		from, to := float64(i)*f.sheet, math.Min(f.length, float64(i+1)*f.sheet)
		box("FOAM", from, to)
		y = math.Min(y-1.35*foamFigure, top-(from+to)/2/f.scale-foamFigure/2)
		f.word(r2.Vec{X: right + 2, Y: y}, draw.Start, f.sheetName(i))
	}
	f.arrow(r2.Vec{X: left + 8, Y: top}, r2.Vec{X: left + 8, Y: top - f.length/f.scale})
	f.word(r2.Vec{X: left + 10, Y: top - f.sheet/f.scale/2 - foamFigure/2}, draw.Start, fixed(f.length, 1)+" from block to block")
	f.word(r2.Vec{X: left, Y: top + f.board/f.scale + 2}, draw.Start,
		fmt.Sprintf("From above, inboard block on this side, nose to the %s.", map[bool]string{true: "left", false: "right"}[outer.sign > 0]))
	low := top - (f.length+f.board)/f.scale - 1.5 - foamFigure
	f.word(r2.Vec{X: left, Y: low}, draw.Start, "Outboard block on this side.")
	return low - 1
}

// sheetName says what is to be done with a sheet, from 0 at the inboard end.
func (f *foamBlock) sheetName(i int) string {
	words := fmt.Sprintf("sheet %d", i+1)
	if i%2 == 1 {
		words += ", turned"
	}
	if i == f.sheets-1 && f.sheet-f.last > 0.05 {
		words += ", to " + fixed(f.last, 1)
	}
	return words
}

package draw

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// joinPen draws the line along which two sheets are joined: short dashes far apart, like no line of a drawing.
func joinPen() Pen { return Pen{Width: 0.18, Dash: []float64{3, 6}} }

// joint is where a sheet is joined to a neighbour. It is the same line of the drawing on both sheets, to the
// last bit, so that both find the same places for their marks.
type joint struct {
	a, along r2.Vec // drawing coordinates
	word     r2.Vec // from the joint to the words beside it
	to       tile
}

// joints draws, for each neighbour, the line along which the two sheets are joined, two registration marks on
// it, and the neighbour's name.
func (l *layout) joints(t tile, join, mark *Layer) {
	shift := r2.Sub(l.window.lo, t.lo)
	for _, j := range l.jointsOf(t) {
		join.Add(Line{r2.Add(j.a, shift), r2.Add(r2.Add(j.a, j.along), shift)})
		marks := j.marks(l.ink)
		for _, p := range marks {
			mark.Add(registration(r2.Add(p, shift))...)
		}
		words := Text{Height: small, Anchor: Middle, Angle: math.Atan2(j.along.Y, j.along.X), Words: "joins " + j.to.name()}
		words.At = r2.Add(r2.Add(j.named(l.ink, marks, words), j.word), shift)
		mark.Add(words)
	}
}

func (l *layout) jointsOf(t tile) []joint {
	size := r2.Sub(l.window.hi, l.window.lo)
	up, right := r2.Vec{Y: size.Y}, r2.Vec{X: size.X}
	var out []joint
	for _, n := range []struct {
		row, col   int // of the neighbour
		east, high tile
		along      r2.Vec
		word       r2.Vec
	}{
		{t.row, t.col - 1, t, tile{}, up, r2.Vec{X: -1.5}},
		{t.row, t.col + 1, tile{row: t.row, col: t.col + 1}, tile{}, up, r2.Vec{X: 1.5 + small}},
		{t.row - 1, t.col, tile{}, tile{row: t.row - 1, col: t.col}, right, r2.Vec{Y: 1.5}},
		{t.row + 1, t.col, tile{}, t, right, r2.Vec{Y: -1.5 - small}},
	} {
		if l.printed(n.row, n.col) < 0 {
			continue
		}
		j := joint{along: n.along, word: n.word, to: tile{row: n.row, col: n.col}}
		if n.along == up { // in the left overlap of the sheet to the east
			j.a = r2.Add(l.corner(n.east.row, n.east.col), r2.Vec{X: overlap / 2})
		} else { // in the lower overlap of the sheet above
			j.a = r2.Add(l.corner(n.high.row, n.high.col), r2.Vec{Y: overlap / 2})
		}
		out = append(out, j)
	}
	return out
}

// marks returns the places of the two registration marks: in either half as far out as the drawing leaves
// room for one, since the farther apart they are the better they tell a turn.
func (j joint) marks(k *ink) [2]r2.Vec {
	const clear = 7.0 // mm round the middle of a mark, whose arms are 5 long
	low := j.best(k, clear, []float64{0.2, 0.17, 0.23, 0.14, 0.26, 0.11, 0.29, 0.32, 0.35, 0.38})
	high := j.best(k, clear, []float64{0.8, 0.83, 0.77, 0.86, 0.74, 0.89, 0.71, 0.68, 0.65, 0.62})
	return [2]r2.Vec{low, high}
}

// named returns the place on the joint beside which a neighbour's name stands, clear of the marks and, where
// there is room, of the drawing.
func (j joint) named(k *ink, marks [2]r2.Vec, words Text) r2.Vec {
	beside := k.with(append(registration(marks[0]), registration(marks[1])...))
	return j.best(beside, Width(words.Words, words.Height)/2+2, []float64{0.5, 0.46, 0.54, 0.42, 0.58, 0.38, 0.62, 0.34, 0.66, 0.06, 0.94})
}

// best returns the first of some places on the joint that is clear of all ink, or else the one that is
// clearest.
func (j joint) best(k *ink, clear float64, shares []float64) r2.Vec {
	var best r2.Vec
	most := math.Inf(-1)
	for _, f := range shares {
		p := r2.Add(j.a, r2.Scale(f, j.along))
		gap := k.near(p, clear)
		if gap > most {
			best, most = p, gap
		}
		if gap >= clear {
			break
		}
	}
	return best
}

// registration is a cross in a circle.
func registration(p r2.Vec) []Element {
	x, y := r2.Vec{X: 5}, r2.Vec{Y: 5}
	return []Element{
		Line{r2.Sub(p, x), r2.Add(p, x)}, Line{r2.Sub(p, y), r2.Add(p, y)}, Circle{p, 2.5},
	}
}

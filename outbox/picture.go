package outbox

import (
	"math"
	"unicode/utf8"

	"gonum.org/v1/gonum/spatial/r2"
)

// picture is a drawing of areas, lines and words that is written as SVG or PNG. X runs to the right and Y
// down; its unit is whatever the drawing says, mm for the filler map.
type picture struct {
	width, height float64
	title         string // what a reader who cannot see it is told
	marks         []mark
}

// mark is one thing in a picture: an area with holes (even-odd), lines, or a word.
type mark struct {
	loops  [][]r2.Vec
	closed bool
	fill   tone
	stroke tone
	width  float64
	dash   []float64
	alpha  float64 // of the fill, 1 if zero

	text   string
	at     r2.Vec
	size   float64
	anchor anchor
	bold   bool
	halo   tone // a rim round the words that sets them off
}

// anchor is where words lie about their point. The baseline is always at the point.
type anchor string

const (
	startAt  anchor = "start"
	middleAt anchor = "middle"
	endAt    anchor = "end"
)

// area fills loops, even-odd.
func (p *picture) area(fill tone, loops ...[]r2.Vec) *mark {
	return p.add(mark{loops: loops, closed: true, fill: fill})
}

// line draws one polyline.
func (p *picture) line(stroke tone, width float64, points ...r2.Vec) *mark {
	return p.add(mark{loops: [][]r2.Vec{points}, stroke: stroke, width: width})
}

// lines draws several polylines alike.
func (p *picture) lines(stroke tone, width float64, lines [][]r2.Vec) *mark {
	return p.add(mark{loops: lines, stroke: stroke, width: width})
}

// words writes text with its baseline at a point.
func (p *picture) words(t tone, size float64, at r2.Vec, where anchor, text string) *mark {
	return p.add(mark{text: text, at: at, size: size, anchor: where, fill: t})
}

func (p *picture) add(m mark) *mark {
	p.marks = append(p.marks, m)
	return &p.marks[len(p.marks)-1]
}

// textWidth estimates how wide a text is; a plain sans serif runs to about 0.54 of its size a letter.
func textWidth(text string, size float64) float64 {
	return 0.54 * size * float64(utf8.RuneCountInString(text))
}

func vec(x, y float64) r2.Vec { return r2.Vec{X: x, Y: y} }

// box returns the loop of a rectangle.
func box(x0, y0, x1, y1 float64) []r2.Vec {
	return []r2.Vec{vec(x0, y0), vec(x1, y0), vec(x1, y1), vec(x0, y1)}
}

// disc returns a loop of a regular polygon that passes for a circle.
func disc(c r2.Vec, radius float64) []r2.Vec {
	const n = 24
	out := make([]r2.Vec, n)
	for i := range out {
		s, k := math.Sincos(2 * math.Pi * float64(i) / n)
		out[i] = r2.Add(c, vec(radius*k, radius*s))
	}
	return out
}

package draw

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// ink is where the ink of a drawing lies. Sheets, windows and joints all ask for it, so it is worked out once
// for a drawing, which may not change meanwhile.
type ink struct {
	boxes     [][]box // of the elements, by layer
	stretches []stretch
	under     *ink // what was there before; nil if nothing was
}

// stretch is an element or a piece of a long line, with its box.
type stretch struct {
	box
	of Element
}

// stretchSteps is the number of steps of a long line that are looked at together.
const stretchSteps = 32

func newInk(layers []*Layer) *ink {
	k := &ink{boxes: make([][]box, len(layers))}
	for i, l := range layers {
		k.boxes[i] = make([]box, 0, len(l.Elements))
		k.stretches = slices.Grow(k.stretches, len(l.Elements))
		for _, e := range l.Elements {
			lo, hi := e.bounds()
			k.boxes[i] = append(k.boxes[i], box{lo, hi})
			k.stretches = append(k.stretches, stretchesOf(e, box{lo, hi})...)
		}
	}
	return k
}

// stretchesOf cuts a long line, whose pieces have one point in common with the next.
func stretchesOf(e Element, b box) []stretch {
	var p []r2.Vec
	closed := true
	switch e := e.(type) {
	case Path:
		p, closed = e.Points, e.Closed
	case Area:
		p = e.Points
	}
	if len(p) <= stretchSteps {
		return []stretch{{b, e}}
	}
	var out []stretch
	add := func(e Element) {
		lo, hi := e.bounds()
		out = append(out, stretch{box{lo, hi}, e})
	}
	for from := 0; from < len(p)-1; from += stretchSteps {
		add(Path{Points: p[from:min(from+stretchSteps+1, len(p))]})
	}
	if closed {
		add(Line{p[len(p)-1], p[0]})
	}
	return out
}

// near returns how far from p the nearest ink is, mm, or reach if there is none as near.
func (k *ink) near(p r2.Vec, reach float64) float64 {
	least := reach
	if k.under != nil {
		least = k.under.near(p, reach)
	}
	m := r2.Vec{X: reach, Y: reach}
	view := box{r2.Sub(p, m), r2.Add(p, m)}
	for i := range k.stretches {
		if s := &k.stretches[i]; view.meets(s.lo, s.hi) {
			least = math.Min(least, away(s.of, p))
		}
	}
	return least
}

// in tells whether a view meets the box of any element.
func (k *ink) in(view box) bool {
	for _, layer := range k.boxes {
		for _, b := range layer {
			if view.meets(b.lo, b.hi) {
				return true
			}
		}
	}
	return false
}

// with returns the ink together with that of some more elements, for near alone.
func (k *ink) with(e []Element) *ink {
	more := newInk([]*Layer{{Elements: e}})
	more.under = k
	return more
}

// away returns how far a point is from an element's ink, mm; lettering counts as its box.
func away(e Element, p r2.Vec) float64 {
	switch e := e.(type) {
	case Line:
		return fromLine(p, e.A, e.B)
	case Path:
		return fromPath(p, e.Points, e.Closed)
	case Area:
		return fromPath(p, e.Points, true)
	case Circle:
		return math.Abs(r2.Norm(r2.Sub(p, e.Centre)) - e.R)
	}
	lo, hi := e.bounds()
	return math.Hypot(math.Max(0, math.Max(lo.X-p.X, p.X-hi.X)), math.Max(0, math.Max(lo.Y-p.Y, p.Y-hi.Y)))
}

func fromPath(p r2.Vec, line []r2.Vec, closed bool) float64 {
	near := math.Inf(1)
	for i := 1; i < len(line); i++ {
		near = math.Min(near, fromLine(p, line[i-1], line[i]))
	}
	if closed {
		near = math.Min(near, fromLine(p, line[len(line)-1], line[0]))
	}
	return near
}

func fromLine(p, a, b r2.Vec) float64 {
	d := r2.Sub(b, a)
	f := 0.0
	if n := r2.Norm2(d); n > 0 {
		f = math.Max(0, math.Min(1, r2.Dot(r2.Sub(p, a), d)/n))
	}
	return r2.Norm(r2.Sub(p, r2.Add(a, r2.Scale(f, d))))
}

package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	besideReach  = 20.0 // mm: so far what lies on the skin spoils the look of the skin beside it
	coveredMost  = 0.5  // of a region: with more of it covered it is part of a thing
	doubtfulMost = 0.2  // of a region: with more of it doubtful it is no spot
	fringe       = 65.0 // mm: unless it is wider than the fringe of a thing
)

// hidden covers what narrow things hide, and tells of each thing once, however many patches it left.
func (w *work) hidden() {
	var boxes boxes
	for _, g := range w.surveyor.hidden() {
		w.cover(&g)
		if !w.panel.inBand(&g, w.opt.Band) {
			continue
		}
		boxes.add(w.box(&g, 0), w.surfaceOf)
	}
	for _, b := range boxes {
		w.tellHidden(b)
	}
}

func (w *work) surfaceOf(b box) Surface {
	return w.contour.surface((b.lo.X + b.hi.X) / 2 / w.panel.length)
}

// cover marks a region as no skin.
func (w *work) cover(g *region) {
	for _, c := range slices.Concat(g.cells, g.rim) {
		w.covered[c] = true
	}
}

// things covers what stands on the skin or leans against it, and tells of each once, however many patches of
// it the scan shows. What is high and touches a thing is part of it: a flat board touches a curved skin in one
// place and gapes elsewhere.
func (w *work) things() {
	var boxes boxes
	regions := w.parted.found.regions
	thing := make([]bool, len(w.covered))
	done := make([]bool, len(regions))
	for again := true; again; {
		again = false
		for i := range regions {
			g := &regions[i]
			if done[i] || g.sign < 0 || marked(g, w.covered) > coveredMost || !w.touches(g, thing) && !w.surveyor.isThing(g) {
				continue
			}
			done[i], again = true, true
			w.cover(g)
			for _, c := range g.cells {
				thing[c] = true
			}
			if w.panel.inBand(g, w.opt.Band) {
				boxes.add(w.box(g, w.surveyor.height(g)), w.surfaceOf)
			}
		}
	}
	for _, b := range boxes {
		w.tellThing(b)
	}
}

// touches reports whether a region's cells lie beside marked ones.
func (w *work) touches(g *region, marked []bool) (yes bool) {
	for _, c := range g.cells {
		w.panel.neighbours(c, func(n int) { yes = yes || marked[n] })
	}
	return yes
}

// doubtful marks the cells that are covered or lie beside one that is, and those with far fewer points than
// farther round, which may show the thing that hides the skin.
func (w *work) doubtful() []bool {
	var cells []int
	for c, covered := range w.covered {
		if covered {
			cells = append(cells, c)
		}
	}
	out := slices.Clone(w.surveyor.poor())
	for c, covered := range w.covered {
		out[c] = out[c] || covered
	}
	for _, c := range w.panel.dilate(cells, besideReach) {
		out[c] = true
	}
	return out
}

// isFringe reports whether a region beside a thing is too narrow or too steep to be a spot of the skin.
func (s *surveyor) isFringe(g *region) bool {
	across := s.across(g)
	return across < fringe || s.height(g) > skinSteepest*across
}

// marked returns which share of a region's cells is marked.
func marked(g *region, marks []bool) float64 {
	n := 0
	for _, c := range g.cells {
		if marks[c] {
			n++
		}
	}
	return float64(n) / float64(len(g.cells))
}

func (w *work) box(g *region, height float64) box {
	b := box{height: height}
	b.lo, b.hi = w.panel.box(g.cells)
	return b
}

// box is an upright box in (arc, station), mm, and how high what lies in it stands.
type box struct {
	lo, hi r2.Vec
	height float64
}

// boxes are the places of things, one each.
type boxes []box

// add adds a box and joins it with those that may be patches of the same thing.
func (all *boxes) add(b box, surface func(box) Surface) {
	for i := 0; i < len(*all); i++ {
		if o := (*all)[i]; o.near(b) && surface(o) == surface(b) {
			b = b.with(o)
			*all = slices.Delete(*all, i, i+1)
			i = -1 // the larger box may meet another
		}
	}
	*all = append(*all, b)
}

// near reports whether two boxes may be patches of one thing.
func (b box) near(o box) bool {
	const gap = 40.0 // mm: the hinge line and what was seen by chance part patches of one board
	return b.lo.X-gap < o.hi.X && o.lo.X-gap < b.hi.X && b.lo.Y-gap < o.hi.Y && o.lo.Y-gap < b.hi.Y
}

// with returns the box round both.
func (b box) with(o box) box {
	lo, hi := corners([]r2.Vec{b.lo, b.hi, o.lo, o.hi})
	return box{lo, hi, math.Max(b.height, o.height)}
}

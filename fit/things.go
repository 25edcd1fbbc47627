package fit

import (
	"math"
	"slices"
)

// Tape, strips and clamps that were left on the skin stand out with steep edges; a high spot of a skin
// rises gently, since sheet and laminate do not bend in a few millimetres.
const (
	thingLeast   = 1.5  // mm high
	thingTop     = 0.8  // of the height, and more, is near the top
	thingFoot    = 0.2  // and less is the foot
	thingRise    = 11.0 // mm along the arc within which the edge of a thing falls from top to foot
	thingRiseRow = 15.0 // mm along the station: rows lie farther apart than columns
	skinHighest  = 4.0  // mm: a skin bulges no farther (common practice, no source),
	skinSteepest = 0.04 // nor by more than that share of its bulge's smaller width
)

// isThing reports whether a high region is something that lies on the skin: whether it stands higher than a
// skin bulges, or its edges, looked at outward along the arc and the station from wherever it is nearly at its
// full height, fall steeply.
func (s *surveyor) isThing(r *region) bool {
	if r.sign < 0 {
		return false
	}
	height := s.height(r)
	if height < thingLeast {
		return false
	}
	if height > skinHighest || height > skinSteepest*s.width(r) {
		return true
	}
	nc := s.p.columns()
	var steepness []float64 // falls over the longest of a thing's edge
	for _, c := range r.cells {
		if s.p.w[c] == 0 || s.residual[c] < thingTop*height {
			continue
		}
		for _, sign := range [2]int{-1, 1} {
			if d := s.fall(c, sign, height); d > 0 {
				steepness = append(steepness, d*s.p.dArc/thingRise)
			}
			if d := s.fall(c, sign*nc, height); d > 0 {
				steepness = append(steepness, d*s.p.meanHeight()/thingRiseRow)
			}
		}
	}
	return len(steepness) >= 3 && median(steepness) <= 1.05
}

// fall returns over how many cells, by steps from one near the top, the skin comes down to the foot of a
// thing of the given height; infinity if it does not within eight, and 0 where that cannot be told or the
// next cell is near the top too.
func (s *surveyor) fall(c, step int, height float64) float64 {
	const most = 8
	nc := s.p.columns()
	for d := 1; d <= most; d++ {
		n := c + d*step
		if n < 0 || n >= len(s.residual) || step*step == 1 && n/nc != c/nc || s.p.w[n] == 0 ||
			s.residual[n] >= thingTop*height {
			return 0
		}
		if s.residual[n] <= thingFoot*height {
			return float64(d)
		}
	}
	return math.Inf(1)
}

// height returns how high a region stands, by the highest tenth of its cells.
func (s *surveyor) height(r *region) float64 {
	var v []float64
	for _, c := range r.cells {
		if s.p.w[c] > 0 {
			v = append(v, r.sign*s.residual[c])
		}
	}
	if len(v) == 0 {
		return 0
	}
	slices.Sort(v)
	return v[len(v)*9/10]
}

// width returns the smaller extent of a region with its rim, mm.
func (s *surveyor) width(r *region) float64 { return s.extent(r, slices.Concat(r.cells, r.rim)) }

// across returns the smaller extent of a region without its rim, mm.
func (s *surveyor) across(r *region) float64 { return s.extent(r, r.cells) }

// extent returns the smaller extent of cells of a region, mm; what is cut off by the tip rib, the hinge line
// or the end of the scan counts twice.
func (s *surveyor) extent(r *region, cells []int) float64 {
	lo, hi := s.p.box(cells)
	return math.Min((hi.X-lo.X+s.p.dArc)*s.cut(r, true), (hi.Y-lo.Y)*s.cut(r, false))
}

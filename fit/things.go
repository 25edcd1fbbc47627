package fit

import (
	"math"
	"slices"
)

// Tape, strips and clamps that were left on the skin stand out with steep edges; a high spot of a skin
// rises gently, since sheet and laminate do not bend in a few millimetres.
const (
	thingLeast   = 1.5  // mm high
	thingRise    = 11.0 // mm along the arc within which the edge of a thing rises from 0.2 to 0.8 of its height
	thingRiseRow = 15.0 // mm along the station: rows lie farther apart than columns
)

// isThing reports whether a high region is something that lies on the skin.
func (s *surveyor) isThing(r *region) bool {
	if r.sign < 0 {
		return false
	}
	height := s.height(r)
	if height < thingLeast {
		return false
	}
	nc := s.p.columns()
	var rises []float64
	in := map[int]bool{}
	for _, c := range slices.Concat(r.cells, r.rim) {
		in[c] = true
	}
	look := func(c, step, most int, unit, limit float64) {
		// c stands at 0.8 of the height or more; count the cells outward to 0.2 or less.
		for d := 1; d <= most; d++ {
			n := c + d*step
			if n < 0 || n >= len(s.residual) || step*step == 1 && n/nc != c/nc || s.p.w[n] == 0 {
				return
			}
			if s.residual[n] >= 0.8*height {
				return
			}
			if s.residual[n] <= 0.2*height {
				rises = append(rises, float64(d)*unit/limit)
				return
			}
			if !in[n] {
				break
			}
		}
		rises = append(rises, math.Inf(1))
	}
	for _, c := range r.cells {
		if s.p.w[c] == 0 || s.residual[c] < 0.8*height {
			continue
		}
		for _, sign := range [2]int{-1, 1} {
			look(c, sign, 8, s.p.dArc, thingRise)
			look(c, sign*nc, 5, s.p.meanHeight(), thingRiseRow)
		}
	}
	return len(rises) >= 3 && median(rises) <= 1.05
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

package fit

import (
	"math"
	"slices"

	"tipwright/section"
)

const (
	rimShare    = 0.17  // of the volume of a spot just as deep as the detection limit: what its rim, drowned in noise, leaves in doubt,
	rimPower    = 1.5   // and the power of limit over depth with which that share changes (both simulated)
	rimMost     = 3.0   // limit over depth beyond which it changes no more
	behindReach = 30.0  // mm that a spot may run on behind what hides it
	volumeShare = 0.035 // of a volume: what the choice of its edge leaves in doubt
	leakVolume  = 0.1   // of the volume, and
	leakDepth   = 0.06  // of the depth of a spot as wide as the form's waves and the panel's span: what the form may take of it (by independent wings)
)

// amount returns the area deeper than the detection limit and the volume over the whole region, its rim
// included: there the cells are added up as they are, so that what lies beyond the edge of the noise is
// counted and noise averages out. length, width and depth are those of the spot, mm.
func (s *surveyor) amount(r *region, length, width, depth float64) (area float64, volume section.Measured) {
	nc := s.p.columns()
	var v, noise, whole float64
	var arcs, stations, weights []float64
	for _, cells := range [][]int{r.cells, r.rim} {
		for _, c := range cells {
			a := s.p.area(c / nc)
			d := s.residual[c]
			if s.p.w[c] == 0 {
				d = s.fine.mean[c]
			} else {
				noise += square(a * s.p.se[c])
			}
			v += r.sign * d * a
			whole += a
			arcs, stations, weights = append(arcs, s.p.arc[c%nc]), append(stations, s.p.station[c/nc]), append(weights, a)
			if r.sign*s.fine.mean[c] > s.limit {
				area += a
			}
		}
	}
	for i := range weights {
		weights[i] /= whole
	}
	u := math.Sqrt(square(s.parted.widening(math.Sqrt(length*width)/5))*noise + square(whole*s.form.uMean(arcs, stations, weights)) +
		square(volumeShare*v) + square(leakVolume*s.likeForm(length, width)*v) +
		square(rimShare*v*math.Pow(math.Min(s.limit/depth, rimMost), rimPower)) + square(s.behind(r)))
	return area, section.Measured{Value: v, U: 2 * u}
}

// likeForm returns how far a spot of a length along the arc and a width along the station, mm, is like what the form is
// made of: 1 if it is as long as the waves at the cut and as wide as the panel.
func (s *surveyor) likeForm(length, width float64) float64 {
	return math.Min(length/(formCut*s.p.chord), 1) * math.Min(width/s.p.span(), 1)
}

// behind returns how much of a spot, mm^3, may lie behind what borders on it and hides the skin: holes, things, other
// spots. Where it borders on them it is taken to run on at its depth there for behindReach, more or less.
func (s *surveyor) behind(r *region) (sum float64) {
	nc := s.p.columns()
	id := s.found.owner[r.cells[0]]
	for _, c := range slices.Concat(r.cells, r.rim) {
		if s.hides(c, id) {
			continue
		}
		s.p.neighbours(c, func(n int) {
			if !s.hides(n, id) {
				return
			}
			edge := s.p.height[c/nc]
			if n/nc != c/nc {
				edge = s.p.dArc
			}
			sum += s.before(r, c, c-n, id) * edge * behindReach
		})
	}
	return sum
}

// before returns how deep a region is at a cell and the two that follow it by steps away from what hides it, mm: what
// stands on the skin lifts the window's mean right beside it.
func (s *surveyor) before(r *region, c, step, id int) (depth float64) {
	const cells = 3
	for range cells {
		if c < 0 || c >= len(s.found.owner) || s.found.owner[c] != id {
			break
		}
		depth = math.Max(depth, r.sign*s.fine.mean[c])
		c += step
	}
	return depth
}

// hides reports whether a cell is covered, lies in a hole of the scan or belongs to another region than the given one.
func (s *surveyor) hides(c, id int) bool {
	nc := s.p.columns()
	return s.covered != nil && s.covered[c] || !s.p.seenNear(c/nc, c%nc) || s.found.core[c] > 0 && s.found.owner[c] != id
}

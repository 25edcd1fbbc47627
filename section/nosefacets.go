package section

import (
	"math"
	"slices"

	"tipwright/scan"
)

// Coarse noses. Where the surface turns too far over one facet no points are laid on it, so that of a nose with a
// radius no larger than its facets only their corners are left, and in a scanner's mesh each of these errs.

const (
	coarseNose     = "coarse-nose" // the code of the caution
	facetSpan      = 0.5           // nose radii along the arc either side of the leading edge within which facets are the nose's
	facetsLooked   = 400_000       // triangles looked at, about
	leastSagitta   = 0.5           // mm from which on it is said
	sagittaSE      = 0.3           // of the sagitta is the nose's standard error (by simulated scans of 12 to 18 mm a side)
	leastNoseFacet = 8
)

// noseFacets returns how far the facets on the nose reach along the arc, mm, the middle one of them; 0 where the scan has
// too few there.
func (w *work) noseFacets() float64 {
	c, toWing := w.best, w.wingFromScan()
	nose, within := c.field.arc[c.field.nose]*c.Chord, facetSpan*c.noseRadius()
	stride, with := len(w.points.scan.Triangles)/facetsLooked+1, c.sampler()
	reach := joined((len(w.points.scan.Triangles)+stride-1)/stride, func(lo, hi int) (reach []float64) {
		for k := lo; k < hi; k++ {
			i := uint32(k * stride)
			first := toWing.apply(vec(w.points.scan.At(int(w.points.scan.Triangles[i][0]))))
			if station := first.Y * c.inboard; station < c.lo || station > c.hi || first.X-c.Sweep*station > 4*noseTurn*c.Chord {
				continue
			}
			least, most := math.Inf(1), math.Inf(-1)
			var s sample
			for _, p := range w.triangle(i, &toWing) {
				if with.look(p, &s) {
					least, most = math.Min(least, s.arc-nose), math.Max(most, s.arc-nose)
				}
			}
			if least < within && most > -within {
				reach = append(reach, most-least)
			}
		}
		return reach
	})
	if len(reach) < leastNoseFacet {
		return 0
	}
	return median(reach)
}

// checkNose warns of a nose whose facets are too large for its radius, and widens the standard errors there. The corners
// of an exact mesh tell the nose by themselves, unless they are very few.
func (w *work) checkNose(m *Map, noise float64) {
	if !w.points.laid || noise < exactNoise {
		return
	}
	radius, reach := w.best.noseRadius(), w.noseFacets()
	sagitta := reach * reach / (8 * radius)
	if reach < math.Acos(mostTurnCosine)*radius || sagitta < leastSagitta {
		return
	}
	for i := range m.Station {
		for j, arc := range m.Arc {
			if cell := m.At(i, j); math.Abs(arc-m.NoseArc) < radius {
				cell.SE = math.Hypot(cell.SE, sagittaSE*sagitta)
			}
		}
	}
	if !slices.ContainsFunc(w.messages, func(m scan.Message) bool { return m.Code == coarseNose }) {
		w.say(scan.Cautionf(coarseNose, "The mesh's facets reach %.0f mm round the nose, whose radius is %.0f mm: between their corners the skin stands up to %.1f mm off them, and the nose of the outline may be off by as much. Export a finer mesh before you cut.", reach, radius, sagitta))
	}
}

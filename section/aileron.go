package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The aileron in the search. Its deflection is tried step by step before it is left to the fit.

// settleAileron tries the aileron's deflections one by one, since a far deflection lies outside the reach of
// a step, or in another valley, and returns the deflection that the loft has then, rad.
func (c *candidate) settleAileron() float64 {
	if c.Hinge <= 0 {
		return c.Deflection
	}
	const steps = 6 // either way of 0
	angles := [2*steps + 2]float64{c.Deflection}
	for d := -steps; d <= steps; d++ {
		angles[d+steps+1] = float64(d) * 1.25 * math.Pi / 180
	}
	var misfits [len(angles)]float64
	aft := c.aft()
	scan.OnAllProcessors(len(angles), func(k int) { misfits[k] = c.aileronMisfit(aft, angles[k]) })
	best, least := c.Deflection, misfits[0]
	for k := 1; k < len(angles); k++ {
		if misfits[k] < 0.95*least {
			best, least = angles[k], misfits[k]
		}
	}
	c.Deflection = best
	return best
}

// aft returns those of a share of the points, in the wing frame, that may lie on the aileron.
func (c *candidate) aft() []r3.Vec {
	neutral := c.model
	neutral.Deflection = 0
	stride := max(len(c.points)/aileronPoints, 1)
	return joined((len(c.points)+stride-1)/stride, func(lo, hi int) (points []r3.Vec) {
		var r residual
		for i := lo; i < hi; i++ {
			p := c.wingFromPoints.apply(c.points.at(i * stride))
			if y := p.Y * c.inboard; y < c.lo || y > c.hi {
				continue
			}
			if neutral.compareNear(p, 0.06*c.Chord, &r) && r.x >= c.Hinge+hingeGap && math.Abs(r.distance) <= 0.06*c.Chord {
				points = append(points, p)
			}
		}
		return points
	})
}

// aileronMisfit returns the mean square misfit, chords, of points that may lie on the aileron at a deflection.
func (c *candidate) aileronMisfit(points []r3.Vec, angle float64) float64 {
	turned := c.sampler()
	turned.Deflection, turned.droop = angle, turnBy(angle)
	far := worst*c.Chord + math.Abs(c.offset) // from here on it counts as no more
	var sum float64
	for _, p := range points {
		d := worst
		if distance, ok := turned.away(p, far); ok {
			d = min(math.Abs(distance-c.offset)/c.Chord, worst)
		}
		sum += d * d
	}
	return sum / math.Max(float64(len(points)), 1)
}

const (
	aileronBand  = 60.0  // mm of span over which the deflection is looked at by itself
	aileronLever = 0.05  // chords aft of the hinge from which points tell it
	aileronStep  = 0.009 // rad: a change along the span that no form makes (half a degree)
	aileronLeast = 100   // points that each skin must show in a band
	aileronBands = 2     // bands that must agree on either side of the change

	aileronEndPoints = 100_000 // points of the panel that are asked
)

// aileronEnd returns the station at which the deflection changes for good, mm: the aileron ends there, or begins.
// It reports false where one deflection holds over the whole panel. Both skins must turn, and by as much: a low
// spot or a board bends one only.
func (c *candidate) aileronEnd() (float64, bool) {
	n := int((c.hi - c.lo) / aileronBand)
	if c.Hinge <= 0 || n < 2*aileronBands {
		return 0, false
	}
	var at []int
	var upper, lower []float64
	for b, skins := range c.aileronTurns(n) {
		if len(skins[0]) >= aileronLeast && len(skins[1]) >= aileronLeast {
			at = append(at, b)
			upper, lower = append(upper, median(skins[0])), append(lower, median(skins[1]))
		}
	}
	least, end, found := math.Inf(1), 0.0, false
	for k := aileronBands; k+aileronBands <= len(at); k++ {
		u, missUpper, okUpper := stepAt(upper, k)
		l, missLower, okLower := stepAt(lower, k)
		if okUpper && okLower && u*l > 0 && missUpper+missLower < least {
			least, end, found = missUpper+missLower, c.lo+float64(at[k])*aileronBand, true
		}
	}
	return end, found
}

// aileronTurns returns, for each of n bands of span and each skin, how far each point aft of the hinge says that
// the aileron is turned beyond the loft's deflection, rad.
func (c *candidate) aileronTurns(n int) [][2][]float64 {
	type told struct {
		band, skin int
		turn       float64
	}
	nose := c.field.arc[c.field.nose]
	points := c.points.about(aileronEndPoints)
	all := joined(len(points), func(lo, hi int) (list []told) {
		for i := lo; i < hi; i++ {
			p := c.wingFromPoints.apply(points.at(i))
			station := p.Y * c.inboard
			b := int(math.Floor((station - c.lo) / aileronBand))
			if b < 0 || b >= n || p.X-c.Sweep*station < c.Hinge*c.ChordAt(station) { // the lever makes up for the twist
				continue
			}
			r, ok := c.at(p)
			if !ok || r.end || r.x < c.Hinge+aileronLever || math.Abs(r.distance) > 0.05*c.Chord {
				continue
			}
			turn, skin := (r.distance-c.offset)/((r.x-c.Hinge)*c.Chord), 1
			if r.arc < nose {
				turn, skin = -turn, 0
			}
			list = append(list, told{b, skin, turn})
		}
		return list
	})
	turns := make([][2][]float64, n)
	for _, t := range all {
		turns[t.band][t.skin] = append(turns[t.band][t.skin], t.turn)
	}
	return turns
}

// stepAt returns by how much the angles from band k on differ from those before it, and how badly two levels
// explain them. It reports false where the difference is small, or no step from one level to another.
func stepAt(angle []float64, k int) (step, misfit float64, ok bool) {
	b, a := median(slices.Clone(angle[:k])), median(slices.Clone(angle[k:]))
	step, ok = a-b, true
	for _, side := range []struct {
		angle []float64
		level float64
	}{{angle[:k], b}, {angle[k:], a}} {
		off := 0 // the change may lie within a band, and a spot may reach into another
		for _, v := range side.angle {
			misfit += math.Abs(v - side.level)
			if math.Abs(v-side.level) > math.Abs(step)/3 {
				off++
			}
		}
		ok = ok && off <= max(1, len(side.angle)/4)
	}
	return step, misfit, ok && math.Abs(step) > aileronStep
}

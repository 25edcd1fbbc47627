package section

import "math"

// The aileron in the search. Its deflection is tried step by step before it is left to the fit.

// settleAileron tries the aileron's deflections one by one, since a far deflection lies outside the reach of
// a step, or in another valley.
func (c *candidate) settleAileron() {
	if c.Hinge <= 0 {
		return
	}
	best, least := c.Deflection, c.aileronMisfit(c.Deflection)
	for d := -6; d <= 6; d++ {
		angle := float64(d) * 1.25 * math.Pi / 180
		if m := c.aileronMisfit(angle); m < 0.95*least {
			best, least = angle, m
		}
	}
	c.Deflection = best
}

// aileronMisfit returns the mean square misfit of the points that may lie on the aileron at a deflection.
func (c *candidate) aileronMisfit(angle float64) float64 {
	t := *c
	t.Deflection = 0
	var sum, n float64
	stride := max(len(c.points)/aileronPoints, 1)
	for i := 0; i < len(c.points); i += stride {
		p := c.wingFromPoints.Apply(c.points[i])
		if y := p.Y * c.inboard; y < c.lo || y > c.hi {
			continue
		}
		t.Deflection = 0
		r, ok := t.at(p, false)
		if !ok || r.x < c.Hinge+hingeGap || math.Abs(r.distance) > 0.06*c.Chord {
			continue
		}
		n++
		t.Deflection = angle
		d := worst
		if r, ok := t.at(p, false); ok && !r.end {
			d = math.Min(math.Abs(r.distance-c.offset)/c.Chord, worst)
		}
		sum += d * d
	}
	return sum / math.Max(n, 1)
}

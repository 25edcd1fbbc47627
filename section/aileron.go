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

const (
	aileronBand  = 60.0  // mm of span over which the deflection is looked at by itself
	aileronLever = 0.05  // chords aft of the hinge from which points tell it
	aileronStep  = 0.009 // rad: a change along the span that no form makes (half a degree)
	aileronLeast = 200   // points that a band must show
)

// aileronEnd returns the station at which the deflection changes for good, mm: the aileron ends there, or begins.
// It reports false where one deflection holds over the whole panel.
func (c *candidate) aileronEnd() (float64, bool) {
	n := int((c.hi - c.lo) / aileronBand)
	if c.Hinge <= 0 || n < 4 {
		return 0, false
	}
	turns := make([][]float64, n)
	nose := c.field.arc[c.field.nose]
	for _, q := range c.points {
		p := c.wingFromPoints.Apply(q)
		b := int(math.Floor((p.Y*c.inboard - c.lo) / aileronBand))
		if b < 0 || b >= n {
			continue
		}
		r, ok := c.at(p, false)
		if !ok || r.end || r.x < c.Hinge+aileronLever || math.Abs(r.distance) > 0.05*c.Chord {
			continue
		}
		turn := (r.distance - c.offset) / ((r.x - c.Hinge) * c.Chord)
		if r.arc < nose {
			turn = -turn
		}
		turns[b] = append(turns[b], turn)
	}
	var at []int
	var angle []float64
	for b, v := range turns {
		if len(v) >= aileronLeast {
			at, angle = append(at, b), append(angle, median(v))
		}
	}
	if len(angle) < 4 {
		return 0, false
	}
	tip := (angle[0] + angle[1]) / 2
	// The first band from which on all differ from the outboard ones.
	first := len(angle)
	for first > 2 && math.Abs(angle[first-1]-tip) > aileronStep {
		first--
	}
	if first == len(angle) || math.Abs(angle[0]-angle[1]) > aileronStep {
		return 0, false
	}
	return c.lo + float64(at[first])*aileronBand, true
}

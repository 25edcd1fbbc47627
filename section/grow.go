package section

import "math"

// A candidate that fits is grown along the span as far as the scan shows skin on it.

// covered returns the share of the outline's bins that show skin between two stations.
func (c *candidate) covered(lo, hi float64) float64 {
	s := step{lo: lo, hi: hi, gate: math.Max(4*c.scale, 0.012*c.Chord)}
	length := c.field.length()
	bins := reduce(len(c.points), func(first, last int) (bins [coverBins]bool) {
		var q found
		for i := first; i < last; i++ {
			if c.usable(i, &s, &q) {
				bins[min(int(q.arc/length*coverBins), coverBins-1)] = true
			}
		}
		return bins
	}, func(into *[coverBins]bool, part [coverBins]bool) {
		for b, seen := range part {
			into[b] = into[b] || seen
		}
	})
	n := 0
	for _, b := range bins {
		if b {
			n++
		}
	}
	return float64(n) / coverBins
}

// fullest returns the middle of the strip that shows the most of the outline.
func (c *candidate) fullest() float64 {
	strip := growth * c.Chord
	best, most := (c.lo+c.hi)/2, -1.0
	for y := c.lo; y < c.hi; y += strip {
		if cover := c.covered(y, y+strip); cover > most {
			best, most = y+strip/2, cover
		}
	}
	return best
}

// full is the step that frees all that a panel can tell.
func (c *candidate) full() step {
	s := step{lo: c.lo, hi: c.hi, gate: 0.03 * c.Chord, floor: coarseFloor * c.Chord,
		free: free(rollPar, pitchPar, yawPar, xPar, zPar, chordPar), rounds: 4}
	s.prior = [parameters]float64{rollPar: 0.1, pitchPar: 0.2, yawPar: 0.1, xPar: 0.1 * c.Chord,
		zPar: 0.1 * c.Chord, chordPar: 0.12 * c.expect,
		taperPar: 0.12, twistPar: 6e-5, deflectPar: 0.07, offsetPar: 0.0015 * c.Chord}
	s.mean[chordPar] = c.expect
	if c.misfit == strangerMisfit {
		s.prior[offsetPar] = strangerOffset * c.Chord
	}
	if fine := c.normals == nil; fine || c.hi-c.lo > 0.2*c.Chord {
		s.free[taperPar], s.free[twistPar], s.free[offsetPar] = true, true, true
		s.free[deflectPar] = c.Hinge > 0
	}
	return s
}

// runNear does the rounds of a step on about growPoints of the points that now lie near the loft.
func (c *candidate) runNear(s step) {
	points, normals := c.points, c.normals
	defer func() { c.points, c.normals = points, normals }()
	c.points, c.normals = pick(points, normals, c.near(s.lo, s.hi, 2*s.gate), growPoints)
	c.run(s)
}

// near lists the points between two stations that lie no farther than so many mm from the offset skin, as far as the field
// reaches.
func (c *candidate) near(lo, hi, distance float64) []int {
	return joined(len(c.points), func(first, last int) (near []int) {
		var r residual
		for i := first; i < last; i++ {
			if y := c.wingFromPoints.y(c.points.at(i)) * c.inboard; y < lo || y > hi {
				continue
			}
			if c.compareNear(c.wingFromPoints.apply(c.points.at(i)), distance+math.Abs(c.offset), &r) && math.Abs(r.distance-c.offset) < distance {
				near = append(near, i)
			}
		}
		return near
	})
}

// grow extends the fit along the span from a station, strip by strip, as far as the outline goes on.
func (c *candidate) grow(from float64) {
	c.lo, c.hi = from-0.12*c.Chord, from+0.12*c.Chord
	strip := growth * c.Chord
	low, high := true, true
	for low || high {
		if high {
			if high = c.covered(c.hi, c.hi+strip) > stripCover; high {
				c.hi += strip
			}
		}
		if low {
			if low = c.covered(c.lo-strip, c.lo) > stripCover; low {
				c.lo -= strip
			}
		}
		c.runNear(c.full())
		if c.hi-c.lo > 30*c.Chord {
			break
		}
	}
	c.trim(strip)
	c.settleAileron()
	s := c.full()
	s.gate, s.rounds = 0.02*c.Chord, 6
	c.runNear(s)
	c.cover = c.covered(c.lo, c.hi)
}

// trim takes off the strips at either end that show no wing: a fit may begin beside it and grow into it.
func (c *candidate) trim(strip float64) {
	for c.hi-c.lo > 2*strip && c.covered(c.lo, c.lo+strip) <= stripCover {
		c.lo += strip
	}
	for c.hi-c.lo > 2*strip && c.covered(c.hi-strip, c.hi) <= stripCover {
		c.hi -= strip
	}
}

package section

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The rivals: the four ways in which one section can lie in its place, compared by what they leave unexplained.

const (
	// rivalPoints is how many of the coarse cloud's points about the loft are asked which way the wing lies, about.
	rivalPoints = 2_500
	// rivalFar is how many times the winner's loss another flip's may be after a first fit for a second to be worth
	// while.
	rivalFar = 5
	// outOfRunning is the share of the best flip's fit below which a flip is out of the running: with nose and tail
	// swapped it is a twentieth to a third (simulated).
	outOfRunning = 0.5
)

// misfits returns, for every point, its distance from the loft in the given chord, counted as at most worst;
// worst for points that the loft does not reach, or whose direction contradicts it, and for all points if the
// loft has grown or shrunk beyond what that chord, in the middle of the panel, lets expect.
func (c *candidate) misfits(lo, hi, chord float64) []float64 {
	out := make([]float64, len(c.points))
	grown := math.Abs(math.Log(c.middleChord()/chord)) > chordsApart
	far := worst*chord + math.Abs(c.offset) // from here on a point counts as no more
	parallel(len(out), func(first, last int) {
		var r residual
		for i := first; i < last; i++ {
			out[i] = worst
			if grown {
				continue
			}
			p := c.wingFromPoints.apply(c.points.at(i))
			if y := p.Y * c.inboard; y < lo || y > hi {
				continue
			}
			if !c.compareNear(p, far, &r) || r.end || math.Abs(r3.Dot(c.wingFromPoints.Rotate(c.normals[i]), r.gradient)) < 0.6 {
				continue
			}
			out[i] = math.Min(math.Abs(r.distance-c.offset)/chord, worst)
		}
	})
	return out
}

// compare sets the loss of candidates of one place: the root mean square of the misfits of those points
// that at least one of them explains. What none explains is clutter and would only blur the comparison. Nor does what
// only such a one explains count that shows far less of the outline than another, or far less closely: laid across a
// wing that lies the other way, a section passes through the stand and the floor about it, and would win by them.
func compare(cs []*candidate) {
	all, fits := make([][]float64, len(cs)), make([]float64, len(cs))
	for k, c := range cs {
		all[k] = c.misfits(c.lo, c.hi, cs[0].middleChord())
		fits[k] = c.fitOf(c.covered(c.lo, c.hi))
	}
	best := slices.Max(fits)
	sums := make([]float64, len(cs))
	n := 0
	for i := range all[0] {
		least := worst
		for k, m := range all {
			if fits[k] >= outOfRunning*best {
				least = math.Min(least, m[i])
			}
		}
		if least > worst/2 {
			continue
		}
		n++
		for k, m := range all {
			sums[k] += m[i] * m[i]
		}
	}
	for k, c := range cs {
		c.loss = math.Sqrt(sums[k] / float64(max(n, 1)))
	}
}

// middleChord returns the chord in the middle of the panel, which is the same place for all flips, mm; it is
// never zero or less.
func (c *candidate) middleChord() float64 { return math.Max(c.ChordAt((c.lo+c.hi)/2), 1) }

// rivals fits the other three flips of a winner to the same stretch of skin, each as freely as the winner
// itself, and returns all four, the best first.
func (c *candidate) rivals() []*candidate {
	points, normals := c.points, c.normals
	c.points, c.normals = pick(points, normals, c.near(c.lo, c.hi, math.Inf(1)), rivalPoints)
	out := make([]*candidate, len(flips))
	scan.OnAllProcessors(len(flips), func(k int) {
		if k == 0 {
			out[k] = c
			return
		}
		winner := *c
		r := *c
		r.flip(flips[k])
		s := r.full()
		s.gate, s.floor, s.rounds = 0.06*c.Chord, 0.003*c.Chord, 8
		r.run(s)
		if compare([]*candidate{&r, &winner}); r.loss < rivalFar*winner.loss {
			s.gate, s.floor, s.rounds = 0.04*c.Chord, coarseFloor*c.Chord, 8
			r.run(s)
		}
		out[k] = &r
	})
	compare(out)
	for _, r := range out {
		r.points, r.normals = points, normals
	}
	slices.SortStableFunc(out, func(a, b *candidate) int { return cmp.Compare(a.loss, b.loss) })
	return out
}

// flip turns the candidate over: aft < 0 swaps nose and tail, span < 0 swaps the ends (and with it, or
// without, up and down follows, since the frame stays right-handed).
func (c *candidate) flip(fl flip) {
	middle := (c.lo + c.hi) / 2 * c.inboard
	chord := c.ChordAt(middle * c.inboard)
	// Half turns about an axis through the middle of the panel.
	centre := r3.Vec{X: chord / 2, Y: middle}
	d := [3]float64{fl.aft, fl.span, fl.aft * fl.span}
	turn := Transform{Scale: 1}
	for i := range 3 {
		turn.R[i][i] = d[i]
	}
	turn.T = r3.Sub(centre, turn.Rotate(centre))
	c.wingFromPoints = turn.After(c.wingFromPoints)
	if fl.span < 0 {
		// The chord now runs the other way along the stations.
		c.Chord, c.Taper = c.Chord+c.Taper*2*middle*c.inboard, -c.Taper
		c.Deflection = -c.Deflection // what hung down now stands up; the twist keeps its sense
	}
	if fl.aft < 0 {
		c.Twist, c.Deflection = 0, 0
	}
}

package section

import (
	"cmp"
	"math"
	"slices"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// The closest section of the known families: it tells a builder whose sheet names the wrong one what the wing
// looks like.

const (
	closestPoints = 1500 // patches that the whole family is tried on
	closestKept   = 12
	tapeTrust     = 0.015 // how far a scan's chord may be off the taped one, relative
)

// closest fits every known section to the skin that a candidate covers and returns the likest, the best
// first, with the robust spread of the skin about the first in mm. tip is the reference chord expected at
// the outboard end, mm, 0 if unknown: without it a thin long section may pass for a thick short one.
func (c *candidate) closest(tip float64) (likest []*airfoil.Airfoil, rms float64) {
	var all []*airfoil.Airfoil
	for _, name := range airfoil.Candidates() {
		if a, err := airfoil.Parse(name); err == nil {
			all = append(all, a)
		}
	}
	all, rms = c.rank(all, tip, closestPoints)
	return all[:min(len(all), closestKept)], rms
}

// rank sorts sections by their likeness to the skin, tried on about n of the candidate's points.
func (c *candidate) rank(sections []*airfoil.Airfoil, tip float64, n int) ([]*airfoil.Airfoil, float64) {
	few := *c
	few.points, few.normals = nil, nil
	stride := max(len(c.points)/n, 1)
	for i := 0; i < len(c.points); i += stride {
		few.points = append(few.points, c.points[i])
		if c.normals != nil {
			few.normals = append(few.normals, c.normals[i])
		}
	}
	type ranked struct {
		section *airfoil.Airfoil
		score   float64
	}
	scores := make([]ranked, len(sections))
	scan.OnAllProcessors(len(sections), func(i int) {
		t := few
		scores[i] = ranked{sections[i], t.likeness(sections[i], tip)}
	})
	slices.SortStableFunc(scores, func(a, b ranked) int { return cmp.Compare(a.score, b.score) })
	out := make([]*airfoil.Airfoil, len(scores))
	for i, s := range scores {
		out[i] = s.section
	}
	return out, scores[0].score
}

// likeness fits one section and returns the robust spread of the skin about it, mm, raised for skin that the
// section loses.
func (c *candidate) likeness(a *airfoil.Airfoil, tip float64) float64 {
	covered := c.cover
	c.field = newField(a.Outline(301), roughCell)
	c.HingeZ = hingeHeight(c.field, c.Hinge)
	s := c.full()
	if tip > 0 {
		s.mean[chordPar], s.prior[chordPar] = tip-c.Taper*c.lo, tapeTrust*tip
	}
	s.gate, s.floor, s.rounds = 0.05*c.Chord, 0.002*c.Chord, 4
	c.run(s)
	s.gate, s.floor, s.rounds = 0.03*c.Chord, coarseFloor*c.Chord, 4
	if c.run(s) < 30 {
		return math.Inf(1)
	}
	lost := 1 - c.covered(c.lo, c.hi)/math.Max(covered, 0.1)
	return c.scale * (1 + 4*math.Max(lost, 0))
}

package section

import (
	"math"

	"tipwright/section/airfoil"
)

// The closest section of the known families: it stands in where the sheet names no airfoil, and it tells a
// builder whose sheet names the wrong one what the wing looks like.

const (
	closestPoints = 2500  // patches that the candidates are tried on
	tapeTrust     = 0.015 // how far a scan's chord may be off the taped one, relative
)

// standIn is a section that resembles most others well enough for the wing to be found with it.
func standIn() *airfoil.Airfoil {
	a, err := airfoil.Parse("NACA 2413")
	if err != nil {
		panic("section: the stand-in airfoil must parse: " + err.Error())
	}
	return a
}

// closest fits every known section to the skin that a candidate covers and returns the best, with the
// robust spread of the skin about it in mm. tip is the reference chord expected at the outboard end, mm, 0
// if unknown: without it a thin long section may pass for a thick short one.
func (c *candidate) closest(tip float64) (best *airfoil.Airfoil, rms float64) {
	var few candidate
	few = *c
	few.points, few.normals = nil, nil
	stride := max(len(c.points)/closestPoints, 1)
	for i := 0; i < len(c.points); i += stride {
		few.points = append(few.points, c.points[i])
		if c.normals != nil {
			few.normals = append(few.normals, c.normals[i])
		}
	}
	rms = math.Inf(1)
	for _, name := range airfoil.Candidates() {
		a, err := airfoil.Parse(name)
		if err != nil {
			continue
		}
		t := few
		t.field = newField(a.Outline(401))
		t.HingeZ = hingeHeight(t.field, t.Hinge)
		s := t.full()
		if tip > 0 {
			s.mean[chordPar], s.prior[chordPar] = tip-c.Taper*c.lo, tapeTrust*tip
		}
		s.gate, s.floor, s.rounds = 0.05*c.Chord, 0.002*c.Chord, 4
		t.run(s)
		s.gate, s.floor, s.rounds = 0.03*c.Chord, coarseFloor*c.Chord, 4
		if t.run(s) < 30 {
			continue
		}
		// A section that loses points must not win by it.
		lost := 1 - t.covered(c.lo, c.hi)/math.Max(c.cover, 0.1)
		if score := t.scale * (1 + 4*math.Max(lost, 0)); score < rms {
			best, rms = a, score
		}
	}
	return best, rms
}

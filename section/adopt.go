package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// Where no airfoil is known, a wing is looked for by sections that stand in for its own, and wears its own once it is found.

// adoptOwn puts the outline of the scan's own points between two stations in place of the candidate's section.
// With turn, a wing that lies the wrong way round is turned first. It reports false where there is no outline.
func (c *candidate) adoptOwn(lo, hi float64, turn bool) bool {
	for range 3 {
		o, ok := c.ownSection(lo, hi)
		if !ok {
			return false
		}
		switch {
		case turn && o.tailFirst():
			c.flip(flip{-1, 1})
			continue
		case turn && o.hollow():
			c.flip(flip{1, -1})
			continue
		}
		a, nose, tail, err := o.airfoil()
		if err != nil || o.blunt() {
			return false
		}
		c.wear(a, nose, tail)
		c.Deflection = o.deflection
		return true
	}
	return false
}

const (
	ownTried   = 4    // likeliest places in which the scan's own section is looked for
	ownStretch = 0.15 // chords either side of a station over which it is first looked for
)

// adopt lets the likeliest places wear the scan's own section, and returns them, the best first. Where no outline is to
// be had the stand-in goes on, and its misfit tells.
func adopt(found []*candidate) []*candidate {
	found = found[:min(len(found), ownTried)]
	for _, c := range found {
		c.adopt()
	}
	return byScore(found)
}

// adopt puts the scan's own section in place of a stand-in, as the coarse cloud shows it where it is fullest.
func (c *candidate) adopt() {
	middle, half := c.fullest(), ownStretch*c.Chord
	if c.adopted() || !c.adoptOwn(middle-half, middle+half, true) {
		return
	}
	s := c.full()
	s.gate, s.floor, s.rounds = 0.05*c.Chord, 0.002*c.Chord, 6
	c.run(s)
	c.grow(c.fullest())
}

// adopted reports whether a candidate wears the scan's own section.
func (c *candidate) adopted() bool { return c.Loft.Airfoil != nil }

// wear gives the candidate a section whose chord line runs from nose to tail in the unit section it had.
func (c *candidate) wear(a *airfoil.Airfoil, nose, tail r2.Vec) {
	d := r2.Sub(tail, nose)
	toNose := Identity()
	toNose.T = r3.Vec{X: -nose.X * c.Chord, Z: -nose.Y * c.Chord}
	level := Transform{R: rotation(r3.Vec{Y: math.Atan2(d.Y, d.X)}), Scale: 1}
	c.wingFromPoints = level.After(toNose).After(c.wingFromPoints)
	c.Loft.Airfoil = a
	c.field = newField(a.Outline(outlinePoints), fieldCell)
	c.HingeZ = hingeHeight(c.field, c.Hinge)
	c.Chord, c.Taper = c.Chord*r2.Norm(d), c.Taper*r2.Norm(d)
	c.expect, c.offset, c.misfit = c.Chord, 0, certainMisfit
}

// standIns are the sections by which a wing is looked for whose own is not known, one after the other until what they
// find shows itself to be a wing. The first resembles most others well enough, and is its own mirror image, so that it
// prefers no side up; the others are of the camber and the depth that it misses.
var standIns = [...]string{"NACA 0013", "NACA 4413", "NACA 0018", "NACA 2409"}

// standIn returns one of them.
func standIn(name string) *airfoil.Airfoil {
	a, err := airfoil.Parse(name)
	if err != nil {
		panic("section: the stand-in airfoil must parse: " + err.Error())
	}
	return a
}

// ownName is what the wing's own section is called where a nominal's name would stand.
const ownName = "the scan's own section"

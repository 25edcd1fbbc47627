package airfoil

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	mendShape  = "Compare the point with the drawing, and plot the file: an outline may not cross itself or go back"
	baseTurn   = math.Pi / 4 // rad: a first step that turns this much into the next is the blunt tail's base
	mostUneven = 0.02        // chord: how far the ends of the two surfaces may lie apart along the chord
	baseZone   = 0.02        // chord: how far ahead of the tail a base may reach
)

// tidy drops points that repeat their neighbour, and the points on the base of a blunt tail, which belong to
// neither surface.
func (f *outlineFile) tidy() error {
	lo, hi := extent(f.points)
	chord := hi - lo
	f.points = slices.CompactFunc(f.points, func(a, b sample) bool { return r2.Norm(r2.Sub(a.Vec, b.Vec)) <= merge*chord })
	for f.baseLeads(hi, chord) {
		f.points = f.points[1:]
	}
	slices.Reverse(f.points)
	for f.baseLeads(hi, chord) {
		f.points = f.points[1:]
	}
	slices.Reverse(f.points)
	if len(f.points) < fewest {
		return f.refuse(0, mendText, "%d different points do not tell a section: at least %d are needed", len(f.points), fewest)
	}
	return nil
}

// even refuses surfaces of which one ends well ahead of the other: part of the file is missing.
func (f *outlineFile) even() error {
	lo, hi := extent(f.points)
	short, long := f.points[0], f.points[len(f.points)-1]
	if short.X > long.X {
		short, long = long, short
	}
	if long.X-short.X > mostUneven*(hi-lo) {
		return f.refuse(short.line, "Look whether the file was cut off", "one surface ends at x = %g, the other at x = %g", short.X, long.X)
	}
	return nil
}

// baseLeads reports whether the first step runs along the base of a blunt tail.
func (f *outlineFile) baseLeads(hi, chord float64) bool {
	if len(f.points) < 3 {
		return false
	}
	p := f.points
	step, next := r2.Sub(p[1].Vec, p[0].Vec), r2.Sub(p[2].Vec, p[1].Vec)
	return p[1].X > hi-baseZone*chord && r2.Cos(step, next) < math.Cos(baseTurn)
}

// The frame of a file is a chord's own if the nose lies about x = 0 and the tail about x = 1, 100 or 1000. The
// bounds leave room for a nose ahead of the origin (0.1 % for strong camber, Abbott & von Doenhoff) and for a
// file without a nose point, whose first station is 1.25 or 2.5 % of the chord.
const (
	noseAhead  = 0.01
	noseBehind = 0.03
	noseHeight = 0.02
	tailOff    = 0.01
	mostTilt   = 3 * math.Pi / 180 // rad: a chord line tilted less than this is left as the file has it
)

// frame brings the points to a chord of 1, leaving the file's own frame where it is a chord's.
func (f *outlineFile) frame() error {
	nose := f.points[foremostPoint(f.points)]
	tail := f.tailMiddle()
	for _, unit := range []float64{1, 100, 1000} {
		x := nose.X / unit
		if x < -noseAhead || x > noseBehind || math.Abs(tail.X/unit-1) > tailOff || math.Abs(nose.Y/unit) > noseHeight {
			continue
		}
		f.place(r2.Vec{}, 1/unit, 0)
		if unit != 1 {
			f.note("airfoil-unit", "%s is given in parts of a chord of %g; it was read so.", f.name, unit)
		}
		return nil
	}
	far := slices.MaxFunc(f.points, func(a, b sample) int {
		return int(math.Copysign(1, r2.Norm2(r2.Sub(a.Vec, tail))-r2.Norm2(r2.Sub(b.Vec, tail))))
	})
	chord := r2.Sub(tail, far.Vec)
	tilt := math.Atan2(chord.Y, chord.X)
	if math.Abs(tilt) < mostTilt {
		f.place(nose.Vec, 1/(tail.X-nose.X), 0)
		f.note("airfoil-frame", "%s does not run from x = 0 to x = 1: its nose was moved to the origin and its chord of %.6g made 1.", f.name, tail.X-nose.X)
		return nil
	}
	f.place(far.Vec, 1/r2.Norm(chord), -tilt)
	f.caution("airfoil-turned", "%s has its chord line tilted by %.2f degrees: the line from the nose to the middle of the trailing edge was taken for it. "+
		"Check this against the drawing; the twist of the wing is told from it.", f.name, tilt*180/math.Pi)
	return nil
}

// tailMiddle returns the point midway between the two ends.
func (f *outlineFile) tailMiddle() r2.Vec {
	return r2.Scale(0.5, r2.Add(f.points[0].Vec, f.points[len(f.points)-1].Vec))
}

// place moves the origin, scales and turns the points.
func (f *outlineFile) place(origin r2.Vec, scale, angle float64) {
	for i, p := range f.points {
		f.points[i].Vec = r2.Rotate(r2.Scale(scale, r2.Sub(p.Vec, origin)), angle, r2.Vec{})
	}
}

package airfoil

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
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
	f.dropRepeats(chord)
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

// dropRepeats drops points that lie on their predecessor.
func (f *outlineFile) dropRepeats(chord float64) {
	f.points = slices.CompactFunc(f.points, func(a, b sample) bool { return r2.Norm(r2.Sub(a.Vec, b.Vec)) <= merge*chord })
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

// The frame of a file is a chord's own if the tail lies about x = 1, 100 or 1000 and the outline passes the
// origin, or has its nose about x = 0 at least. The bounds leave room for a nose ahead of the origin, as camber
// makes it, and for a file without a nose point, whose first station is 1.25 or 2.5 % of the chord.
const (
	noseAhead  = 0.02
	noseBehind = 0.03
	noseHeight = 0.02
	tailOff    = 0.01
	originOff  = 0.013             // chord: a chord line begins on the outline, or within half the first station
	mostTilt   = 3 * math.Pi / 180 // rad: a chord line tilted less than this is left as the file has it
)

// units lists the chords that tables are made for.
func units() []float64 { return []float64{1, 100, 1000} }

// frame brings the points to a chord of 1, leaving the file's own frame where it is a chord's.
func (f *outlineFile) frame() error {
	nose, tail := f.points[foremostPoint(f.points)], f.tailMiddle()
	for _, unit := range units() {
		through := f.passesOrigin(originOff * unit)
		x := nose.X / unit
		if math.Abs(tail.X/unit-1) > tailOff || !through && (x < -noseAhead || x > noseBehind) {
			continue
		}
		f.place(r2.Vec{}, 1/unit, 0)
		if unit != 1 {
			f.note("airfoil-unit", "%s is given in parts of a chord of %g; it was read so.", f.name, unit)
		}
		if height := nose.Y / unit; !through && math.Abs(height) > noseHeight {
			f.place(r2.Vec{Y: height}, 1, 0)
			f.note("airfoil-frame", "%s counts its heights from a line %.2f per cent of the chord off the nose, such as a flat underside; "+
				"they were counted from the nose instead.", f.name, 100*math.Abs(height))
		}
		f.warnTilt()
		return nil
	}
	return f.newFrame()
}

// warnTilt cautions where the tail lies well off the axis that the frame of the file is left with.
func (f *outlineFile) warnTilt() {
	const tilted = 1.5 * math.Pi / 180
	nose, tail := f.points[foremostPoint(f.points)], f.tailMiddle()
	if tilt := math.Atan2(tail.Y-nose.Y, tail.X-nose.X); math.Abs(tilt) > tilted {
		f.caution("airfoil-tilted", "In %s the line from the nose to the middle of the trailing edge lies %.2f degrees to its axis, as with sections drawn on "+
			"a flat underside or with a flap down. The twist of the wing is told from the axis; check that the drawing means this one.", f.name, tilt*180/math.Pi)
	}
}

// passesOrigin reports whether the outline passes within a distance of the origin.
func (f *outlineFile) passesOrigin(within float64) bool {
	for i := 1; i < len(f.points); i++ {
		if distance(r2.Vec{}, f.points[i-1].Vec, f.points[i].Vec) <= within {
			return true
		}
	}
	return false
}

// newFrame lays the chord line where the file's own axes are no chord's: along its x axis if the line from the
// foremost point to the middle of the tail is nearly so, else along the longest line from the tail.
func (f *outlineFile) newFrame() error {
	lo, hi := extent(f.points)
	f.place(r2.Vec{X: lo}, 1/(hi-lo), 0) // roughly, for the curve that finds a nose between two points
	c, err := newSpline(vectors(f.points))
	if err != nil {
		return &scan.FormatError{File: f.name, Msg: "no smooth outline runs through these points", Mend: mendShape, Err: err}
	}
	nose, tail := c.point(0), f.tailMiddle()
	if tilt := math.Atan2(tail.Y-nose.Y, tail.X-nose.X); math.Abs(tilt) < mostTilt {
		f.place(nose, 1/(tail.X-nose.X), 0)
		f.note("airfoil-frame", "%s does not run from x = 0 to x = 1: its nose was moved to the origin and its chord of %.6g made 1.",
			f.name, (tail.X-nose.X)*(hi-lo))
		return nil
	}
	length, tilt := longest(c)
	f.place(r2.Sub(tail, r2.Vec{X: length * math.Cos(tilt), Y: length * math.Sin(tilt)}), 1/length, -tilt)
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

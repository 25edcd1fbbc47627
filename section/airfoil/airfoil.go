// Package airfoil gives nominal sections: NACA 4-digit, modified 4-digit, 5-digit and reflexed 5-digit by
// the published formulas, and any other from a coordinate file. Ordinates are in the section frame with
// the chord as the unit: x aft along the chord line, z up, origin at the leading edge.
package airfoil

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// Airfoil is one section of chord 1. Its chord line is the reference line of the formula or of the file,
// x from 0 to 1; the nose of a cambered section lies a little ahead of and above its origin. Nothing in it
// changes once it is made, so it may be used from many goroutines at once.
type Airfoil struct {
	Name string // "NACA 23012", or the name line of the coordinate file

	curve    curve
	formula  *formula // nil for a coordinate file
	messages []scan.Message
	nose     float64 // parameter of the foremost point, which parts the upper surface from the lower
	traits   traits
}

// curve is the outline as a smooth function of one parameter s that runs from 1 at the tail of the upper
// surface through 0 at the nose of the mean line to -1 at the tail of the lower surface. Near the nose s is
// proportional to arc length, aft of it roughly to the root of x, so that even steps in s are short where
// the curve is sharp.
type curve interface {
	point(s float64) r2.Vec
	tangent(s float64) r2.Vec // derivative of point with respect to s
	noseRadius() float64
}

// traits are the figures that describe a section, worked out once.
type traits struct {
	thickness, thicknessAt float64
	camber, camberAt       float64
	tapeFactor, tapeAngle  float64
	symmetric              bool
}

// newAirfoil makes an airfoil of a curve; f is nil for a coordinate file.
func newAirfoil(name string, c curve, f *formula, messages []scan.Message) *Airfoil {
	a := &Airfoil{Name: name, curve: c, formula: f, messages: messages}
	a.nose = foremost(c)
	a.traits = a.measure()
	return a
}

// Messages says what was put up with or changed in reading a coordinate file: lower surface first, per cent
// of chord, crossed tail and the like. It is empty for a section by formula.
func (a *Airfoil) Messages() []scan.Message { return slices.Clone(a.messages) }

// Outline returns n points round the outline in the section frame (X aft, Y up, chord 1): from the trailing
// edge over the upper surface to the leading edge and back along the lower. Points cluster at nose and tail;
// with n = 2001 the polyline lies within 1e-6 of the curve. Exactly one point is the nose of the mean line,
// which for a section by formula is the origin. An open tail stays open: the first point is then not the
// last. Panics if n < 3.
func (a *Airfoil) Outline(n int) []r2.Vec {
	if n < 3 {
		panic("airfoil: an outline needs at least 3 points")
	}
	upper := n / 2 // intervals
	lower := n - 1 - upper
	out := make([]r2.Vec, 0, n)
	for i := range upper {
		out = append(out, a.curve.point(math.Cos(math.Pi/2*float64(i)/float64(upper))))
	}
	for i := range lower + 1 {
		out = append(out, a.curve.point(-math.Sin(math.Pi/2*float64(i)/float64(lower))))
	}
	return out
}

// Upper returns the ordinate of the upper surface at a station x of the chord line, NaN outside [0, 1]. At
// x = 0 a cambered section has its upper surface above the origin, since its nose lies ahead of it.
func (a *Airfoil) Upper(x float64) float64 { return a.cut(x, 1) }

// Lower returns the ordinate of the lower surface at a station x of the chord line, NaN outside [0, 1].
func (a *Airfoil) Lower(x float64) float64 { return a.cut(x, -1) }

// Thickness returns the greatest thickness, square to the chord line, and its station.
func (a *Airfoil) Thickness() (max, atX float64) { return a.traits.thickness, a.traits.thicknessAt }

// Camber returns the greatest height of the mean line over the chord line, negative where it hangs below,
// and its station; (0, 0) for a symmetric section. The mean line is that of the formula, and for a
// coordinate file the line midway between the surfaces.
func (a *Airfoil) Camber() (max, atX float64) { return a.traits.camber, a.traits.camberAt }

// TailThickness returns the width of the open trailing edge, 0 for a closed one.
func (a *Airfoil) TailThickness() float64 {
	return r2.Norm(r2.Sub(a.curve.point(1), a.curve.point(-1)))
}

// Tape returns the longest nose-to-tail distance, which is what a tape measures as the chord, over the
// reference chord, and its angle to the chord line in radians, positive where the nose lies below the tail.
// The tape's end is the middle of the tail.
func (a *Airfoil) Tape() (factor, angle float64) { return a.traits.tapeFactor, a.traits.tapeAngle }

// NoseRadius returns the radius of the leading edge: by formula, or of the curve through a file's points.
func (a *Airfoil) NoseRadius() float64 { return a.curve.noseRadius() }

// Symmetric reports whether the lower surface mirrors the upper within 1e-6 of the chord.
func (a *Airfoil) Symmetric() bool { return a.traits.symmetric }

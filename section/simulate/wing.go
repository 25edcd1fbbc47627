// Package simulate makes seeded simulated scans of a wing that is known to the last micrometre, with the
// truth beside them: the demo's scans, and what the tests of every other step are held to. It shares no
// curve, loft or departure with the code that measures, so that the two can only agree by being right.
package simulate

import (
	"fmt"
	"math"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// Wing is the outboard panel of a wing as it was built. Lengths are mm and angles rad; the zero value of a
// field means that the thing is absent. Sections are parallel to the tip rib's face, so a station is |Y|
// in the wing frame. At a station s the chord is Chord + Taper·s and the skin is made in this order: the
// nominal; moved along its outward normal by the departure (SkinOffset, TailThickness, Form, Spots,
// RibSag); what lies aft of Hinge turned about it by Deflection; turned about TwistAbout by Twist·s, nose
// up; shifted by the sweep and the dihedral.
type Wing struct {
	Airfoil *airfoil.Airfoil
	Side    section.Side
	Chord   float64 // reference chord at the tip rib
	Span    float64 // of the panel present, from the tip rib inboard
	// Overhang is how far the skin stands out past the tip rib's face; its edge lies at station -Overhang.
	Overhang float64

	Taper      float64 // mm of chord a mm of station, positive grows inboard
	TaperAbout float64 // chord fraction whose line has the given Sweep; 0 is the leading edge
	Twist      float64 // rad a mm of station; positive: incidence grows inboard (washout towards the tip)
	TwistAbout float64 // chord fraction of the point on the chord line about which sections turn; 0 is the leading edge
	Sweep      float64 // mm aft a mm of station, of the line at TaperAbout: negative where the tip lies aft
	Dihedral   float64 // mm up a mm of station, of the line at TwistAbout: negative where the tip lies high

	TailThickness float64 // of the aft face at the tip rib; 0 leaves the airfoil's own. Grows linearly from tailFrom to the tail

	Hinge      float64 // hinge axis, fraction of the chord; 0: no aileron
	HingeZ     float64 // its height over the chord line, fraction of the chord
	Deflection float64 // trailing edge down is positive
	HingeGap   float64 // chordwise width of the gap, centred on the hinge, in both skins

	SkinOffset       float64 // outward, everywhere
	Form             []Wave
	Spots            []Bump
	RibPitch, RibSag float64 // ribs at stations 0, RibPitch, ...; the skin sags inward by RibSag midway
}

// tailFrom is the chord fraction where the thickening of the tail begins.
const tailFrom = 0.5

// Surface tells the two skins apart. The nose, the foremost point of the nominal, parts them.
type Surface int

// The surfaces; the zero value means both.
const (
	Both Surface = iota
	Upper
	Lower
)

// String returns "both", "upper" or "lower".
func (s Surface) String() string { return [...]string{"both", "upper", "lower"}[s] }

// has reports whether s includes one surface.
func (s Surface) has(one Surface) bool { return s == Both || s == one }

// Wave is one long-wave error of form: Amplitude·cos(2π·arc/Length + Phase), arc in mm of the tip section
// along the skin from the nose, positive on both surfaces; crests follow constant chord fractions. Where
// it is on one surface only it fades in over the first 6 % of the chord from the nose.
type Wave struct {
	Surface    Surface
	Amplitude  float64 // mm, outward positive
	Length     float64 // mm along the arc at the tip rib
	Phase      float64 // rad
	SpanLength float64 // mm; 0: the same at every station, else multiplied by cos(2π·station/SpanLength)
}

// Bump is one spot: Height·(1 - r²)² inside r = 1, with r² = (2a/Length)² + (2b/Width)², a the mm along
// the arc and b the mm of station from its middle. It may reach round the nose. Its volume is Height·Length·Width·π/12.
type Bump struct {
	Surface       Surface // Upper or Lower
	X             float64 // mm aft of the leading edge in the tip section, aileron faired, of its middle: the spot lies at X/Chord of its own section
	Station       float64 // mm, of its middle
	Length, Width float64 // mm, its whole extent chordwise (along the arc) and spanwise
	Height        float64 // mm outward: negative is a low spot
}

// ChordAt returns the reference chord in mm at a station in mm.
func (w *Wing) ChordAt(station float64) float64 { return w.Chord + w.Taper*station }

// check says what makes a wing impossible to build.
func (w *Wing) check() error {
	for _, f := range []struct {
		name  string
		value float64
		good  bool
	}{
		{"chord", w.Chord, w.Chord > 0},
		{"span", w.Span, w.Span > 0},
		{"overhang", w.Overhang, w.Overhang >= 0},
		{"chord at the outboard edge", w.ChordAt(-w.Overhang), w.ChordAt(-w.Overhang) > 0},
		{"chord at the inboard end", w.ChordAt(w.Span), w.ChordAt(w.Span) > 0},
		{"twist", w.Twist * w.Span, math.Abs(w.Twist*w.Span) < 1},
		{"twist centre", w.TwistAbout, true},
		{"taper line", w.TaperAbout, true},
		{"sweep", w.Sweep, true},
		{"dihedral", w.Dihedral, true},
		{"tail thickness", w.TailThickness, w.TailThickness >= 0 && w.TailThickness < w.Chord/10},
		{"hinge", w.Hinge, w.Hinge == 0 || w.Hinge > 0.3 && w.Hinge < 1},
		{"hinge height", w.HingeZ, math.Abs(w.HingeZ) < 1},
		{"deflection", w.Deflection, math.Abs(w.Deflection) < 1},
		{"hinge gap", w.HingeGap, w.HingeGap >= 0 && w.HingeGap < w.Chord/10},
		{"skin offset", w.SkinOffset, math.Abs(w.SkinOffset) < w.Chord/10},
		{"rib sag", w.RibSag, w.RibSag == 0 || w.RibPitch > 0},
	} {
		if !f.good || !finite(f.value) {
			return fmt.Errorf("simulate: a wing cannot have a %s of %g", f.name, f.value)
		}
	}
	if w.Airfoil == nil || w.Side == section.NoSide {
		return fmt.Errorf("simulate: a wing needs an airfoil and a side")
	}
	return w.checkSkin()
}

// checkSkin says what is wrong with the waves and spots.
func (w *Wing) checkSkin() error {
	for i, f := range w.Form {
		if !(f.Length > 0) || !finite(f.Amplitude) || !finite(f.Phase) || !finite(f.SpanLength) {
			return fmt.Errorf("simulate: wave %d cannot be: %+v", i, f)
		}
	}
	for i, b := range w.Spots {
		if b.Surface == Both || !(b.Length > 0) || !(b.Width > 0) || !finite(b.Height) ||
			!(b.X > 0) || !(b.X < w.Chord) || !finite(b.Station) {
			return fmt.Errorf("simulate: spot %d cannot be: %+v", i, b)
		}
	}
	return nil
}

// finite reports whether v is neither NaN nor infinite.
func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

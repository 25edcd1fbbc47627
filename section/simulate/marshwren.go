package simulate

import (
	"math"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// The Marsh Wren's drawing, the same for both wings. The aircraft is invented.
const (
	marshWrenAirfoil = "NACA 23012"
	marshWrenChord   = 1220.0 // mm, taped nose to tail at the tip rib
	marshWrenHinge   = 0.78
)

// MarshWren returns the demo's wing and how it was scanned: an invented homebuilt whose two wings came out
// a little different, each with an aileron off neutral, two low spots, a high one and its own long-wave
// form. Side must be section.Left or section.Right.
func MarshWren(side section.Side) (Wing, Scanner) {
	a, err := airfoil.Parse(marshWrenAirfoil)
	if err != nil {
		panic(err) // the designation is ours
	}
	tape, _ := a.Tape()
	w := Wing{
		Airfoil: a, Side: side, Span: 700,
		Taper: 0.045, TaperAbout: 0.25, TwistAbout: 0.25, Dihedral: -0.05,
		Hinge: marshWrenHinge, HingeZ: 0.004,
	}
	s := Scanner{
		Points: 150_000, ClutterDensity: 0.12,
		Noise: 0.4, CorrelatedNoise: 0.05, NoiseLength: 50,
		Unit: scan.Metre, RandomPose: true, Strays: 0.01, Floor: true, Stand: true, RibFace: Closed,
	}
	if side == section.Right {
		w.Chord = (marshWrenChord - 0.6) / tape
		marshWrenRight(&w)
		s.Seed, s.ScaleError = 2, -0.002
	} else {
		w.Chord = (marshWrenChord - 0.2) / tape
		marshWrenLeft(&w)
		s.Seed, s.ScaleError = 1, 0.003
	}
	return w, s
}

// marshWrenLeft sets what is the left wing's own.
func marshWrenLeft(w *Wing) {
	w.Twist = 1.5e-3 * math.Pi / 180
	w.TailThickness, w.SkinOffset = 3.4, 0.2
	w.Deflection, w.HingeGap = 1.2*math.Pi/180, 4
	w.Form = []Wave{
		{Surface: Upper, Amplitude: 0.4, Length: 820, Phase: 1.1, SpanLength: 5200},
		{Surface: Lower, Amplitude: 0.3, Length: 960, Phase: 2.6},
	}
	w.Spots = []Bump{
		{Surface: Upper, X: 430, Station: 110, Length: 180, Width: 150, Height: -1.2},
		{Surface: Lower, X: 640, Station: 190, Length: 140, Width: 120, Height: -0.9},
		{Surface: Upper, X: 740, Station: 205, Length: 130, Width: 110, Height: 0.6},
	}
}

// marshWrenRight sets what is the right wing's own.
func marshWrenRight(w *Wing) {
	w.Twist = 1.62e-3 * math.Pi / 180
	w.TailThickness, w.SkinOffset = 3.0, 0.1
	w.Deflection, w.HingeGap = -0.9*math.Pi/180, 5
	w.Form = []Wave{
		{Surface: Upper, Amplitude: 0.35, Length: 900, Phase: 0.4},
		{Surface: Lower, Amplitude: 0.4, Length: 780, Phase: 3.0, SpanLength: 6000},
	}
	w.Spots = []Bump{
		{Surface: Upper, X: 560, Station: 140, Length: 170, Width: 160, Height: -1.1},
		{Surface: Lower, X: 350, Station: 90, Length: 150, Width: 130, Height: -0.9},
		{Surface: Lower, X: 700, Station: 220, Length: 120, Width: 120, Height: 0.6},
	}
}

// MarshWrenSheet returns the text of the demo's wing.toml, as a builder would write it.
func MarshWrenSheet() string {
	return `# The wing sheet of the Marsh Wren, an invented aircraft.
name      = "Marsh Wren"
airfoil   = "NACA 23012"
chord     = "1220 mm"         # taped nose to tail at the tip rib, aileron neutral
thickness = "147 mm"          # callipered at the thickest point
target    = "fair"            # the tip fits the wing as it stands

[aileron]
hinge = 0.78                  # hinge line, fraction of the chord
droop = "0 deg"               # the designer's neutral is faired

[filler]
band       = "300 mm"         # how far inboard of the tip rib to look
act_above  = "0.5 mm"
sand_limit = "0.2 mm"
density    = 450              # kg/m3, mixed and cured

[tip]
length   = "260 mm"
laminate = "0.8 mm"

[wire]
diameter = "0.5 mm"
kerf     = "1.5 mm"

[block]
thickness = "19 mm"

[foam]
sheet = "50 mm"               # measured

[flange]
skin  = "0.6 mm"
pitch = "75 mm"

[print]
paper = "letter"
`
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// Options is what the builder knows about the wing, from the wing sheet. Lengths mm, angles rad.
type Options struct {
	Airfoil    *airfoil.Airfoil // nil: unknown; the scan's own section stands in
	Chord      float64          // taped nose to tail at the tip rib; 0: unknown
	Hinge      float64          // fraction of the chord; 0: no aileron reaches the tip
	Side       Side
	Unit       scan.Unit // of the scan, if the builder says so
	TrustScale bool      // keep the scan's own scale
	Thickness  float64   // callipered at the thickest point near the tip; 0: unknown
	MendSplit  bool      // bring upper and lower skin together if the callipers say that the scan holds them apart
	TipRib     float64   // how far inboard of the skin's outboard end the tip rib's face lies
}

// reference returns the reference chord that belongs to the taped one: a tape measures from nose to tail,
// which is a little more than the chord line of a cambered section. 0 if no chord was taped.
func (o *Options) reference(a *airfoil.Airfoil) float64 {
	if o.Chord == 0 {
		return 0
	}
	factor, _ := a.Tape()
	return o.Chord / factor
}

const (
	likelyChord   = 1200.0 // mm: the middle of what amateur-built aircraft have at the tip (common practice, no source)
	leastChord    = 150.0  // mm
	mostChord     = 4000.0 // mm
	chordToScene  = 0.10   // a chord is at least this share of the scene's longest side ...
	knownToScene  = 0.02   // the same where the unit is known: a wing in a hall
	sceneToChord  = 1.35   // ... and at most this multiple of it
	unknownChords = 1.1    // ratio of neighbouring chords tried when nothing is known
)

// guess is one supposed size of the wing in the file.
type guess struct {
	chord float64 // file units
	mm    float64 // mm per file unit under this guess; 0 where the unit is to be told later
}

// guesses lists the chords, in file units, that the sheet, the format and the size of the scene allow,
// the largest first.
func (o *Options) guesses(s *scan.Scan, size r3.Vec, reference float64) []guess {
	scene := math.Max(size.X, math.Max(size.Y, size.Z))
	known := o.Unit
	if known == scan.UnitUnknown {
		known = s.Unit
	}
	var out []guess
	switch {
	case reference > 0 && known != scan.UnitUnknown:
		if c := reference / known.MM(); c > knownToScene*scene && c < sceneToChord*scene {
			out = append(out, guess{c, known.MM()})
		}
	case reference > 0:
		for _, u := range scan.Units() {
			if c := reference / u.MM(); c > chordToScene*scene && c < sceneToChord*scene {
				out = append(out, guess{c, u.MM()})
			}
		}
	default:
		for c := scene; c > chordToScene*scene; c /= unknownChords {
			mm := known.MM()
			if mm > 0 && (c*mm < leastChord || c*mm > mostChord) {
				continue
			}
			out = append(out, guess{c, mm})
		}
	}
	return out
}

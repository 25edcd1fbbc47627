// Package sheet reads the wing sheet, wing.toml: what the builder knows about his wing. Every value comes
// out in millimetres, radians or kg/m3 with its default resolved, and [Sheet.Assumptions] tells which
// values are defaults and why they are what they are. It belongs to the scan step and knows no airfoil:
// an airfoil stays the text that the builder wrote.
package sheet

import (
	"math"

	"tipwright/scan"
)

// Sheet is one wing sheet with every default resolved. The zero value is not a usable sheet: [Default]
// is what stands when there is none. Lengths are mm, angles rad. A default is marked "common practice, no
// source" or "invented" where no publication stands behind it; the figures are those of the project's page
// of published figures otherwise.
type Sheet struct {
	Source scan.Source // the file; zero when there is no sheet

	Name      string // of the aircraft, as the builder calls it; empty if not given
	Airfoil   string // a designation, or the name of a coordinate file beside the sheet; empty if not given
	Chord     Length // taped nose to tail at the tip rib, aileron neutral; 0 unknown. 150 mm to 6 m
	Thickness Length // callipered at the thickest point; 0 unknown. 3 to 40 % of the chord

	// TargetNominal is true for target = "nominal": placed nominal and one constant offset. The default is
	// "fair": the form of the wing stays (our choice: the tip has to fit the wing as it stands).
	TargetNominal bool

	Hinge float64 // hinge line, fraction of the chord, 0.5 to 0.95; 0: no aileron reaches the tip (the default)
	Droop float64 // rad, the designer's neutral, trailing edge down positive; default 0, faired (common practice)

	Units      scan.Unit // of the scan; UnitUnknown: tell it from the format and the chord (the default)
	TrustScale bool      // keep the scan's own scale; default false: the taped chord sets it
	MendSplit  bool      // set upper and lower skin together again if the scan holds them apart; default false
	TipRib     Length    // how far inboard of the skin's outboard end the tip rib's face lies; default 0 (invented)
	Tip        string    // "left" or "right" in a file that holds both wings, held against the file's name; empty: the name alone says it

	Band      Length  // how far inboard of the tip rib to look for low spots; default 300 mm (invented)
	ActAbove  Length  // shallower low spots are left alone; default 0.5 mm (common practice, no source)
	SandLimit Length  // high spots up to this may be sanded off; default 0.2 mm (invented)
	Density   float64 // of the filler, mixed and cured, kg/m3; default 450 (hollow glass spheres in resin 4:1, computed)

	TipLength Length // of the tip, tip rib to its outboard block; default 260 mm (invented: a 30 degree bevel of a 12 % section on 1.2 m takes 249 mm, computed)
	Laminate  Length // thickness of the skin over the foam; from Plies, else default 0.8 mm (invented: two plies of 200 g/m2 and 0.35 mm of skim, weave and paint)
	Plies     []Ply  // what Laminate was computed from; nil when it was not

	WireDiameter   Length // of the hot wire; default 0.5 mm (upper end of what is published for foam cutting)
	Kerf           Length // width of the slot that it melts, at least the wire; default the wire and 1 mm (common practice, no source)
	BlockThickness Length // of the boards for the form blocks; default 19 mm (common practice, no source)
	FoamSheet      Length // measured thickness of the foam sheet; default 50 mm (the nominal size of a common board; boards vary by millimetres)
	SkinThickness  Length // of the wing's skin, under which the flange lies; default 0.6 mm (common practice, no source: 0.4 to 0.8 mm)
	FlangePitch    Length // of the flange's fasteners; default 75 mm (common practice, no source: 65 to 100 mm)
	PairTolerance  Length // what may differ between the tips; default 1 mm (common practice, no source)

	Paper      Paper  // to print on; default letter (invented)
	BarX, BarZ Length // what the printed bars really measured, across and along the sheet; 0 not measured

	given map[string]bool // the keys that the sheet holds
}

// Ply is one kind of cloth in the laminate over the foam.
type Ply struct {
	Weight ArealWeight // of the dry cloth, 10 to 2000 g/m2
	Count  int         // how many plies of it, 1 to 50
}

// Paper is what the templates are printed on, upright.
type Paper struct {
	Name          string  // "letter", "legal", "tabloid", "A4", "A3" or "roll"
	Width, Height float64 // mm; the height of a roll is 0: it is cut where the drawing ends
}

// papers lists the sheets by name. A4 and A3 are ISO 216; letter and tabloid are the sizes A and B of ASME
// Y14.1; legal is 8.5 by 14 in (common practice, no source).
func papers() []Paper {
	const inch = 25.4
	return []Paper{
		{"letter", 8.5 * inch, 11 * inch},
		{"legal", 8.5 * inch, 14 * inch},
		{"tabloid", 11 * inch, 17 * inch},
		{"A4", 210, 297},
		{"A3", 297, 420},
	}
}

// Fibre of a hand lay-up: t = areal weight / (rho_f V_f) and nothing else. The density is that of E-glass;
// the volume fraction lies between 0.30 and 0.45 in workshop tables. Slurry, peel-ply weave, filler and
// paint come on top, 0.1 to 0.4 mm in all (common practice, no source).
const (
	glassDensity  = 2540.0 // kg/m3
	fibreFraction = 0.35   // of the volume
)

// laminateOf returns the cured thickness of plies, to the micrometre.
func laminateOf(plies []Ply) Length {
	sum := 0.0 // g/m2
	for _, p := range plies {
		sum += float64(p.Weight) * float64(p.Count)
	}
	const mmFromGrams = 1e-3 * 1e3 // g/m2 to kg/m2, m to mm
	return Length(math.Round(1e3*sum*mmFromGrams/(glassDensity*fibreFraction)) / 1e3)
}

// Default returns what is assumed when there is no wing sheet at all.
func Default() *Sheet {
	s := &Sheet{given: map[string]bool{}}
	for _, k := range keys() {
		if k.standard == nil {
			continue
		}
		if err := k.read(s, k.standard); err != nil {
			panic("wing sheet: the default of " + k.name + ": " + err.Error())
		}
	}
	s.Kerf = s.WireDiameter + kerfBeyondWire
	return s
}

// kerfBeyondWire is how much wider than the wire a slot is taken to be: half a millimetre melts away on
// each side, the upper end of 0.1 to 0.5 mm (common practice, no source), since a builder who has not made
// a test cut has not tuned his heat either.
const kerfBeyondWire Length = 1

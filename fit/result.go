// Package fit turns a survey of one side (or two) into what the builder needs: the form that stays, the
// low and high spots, the filler, the aileron's angle, the target surface and the outlines of the
// templates. Each figure carries its uncertainty. It draws nothing and writes no file.
package fit

import (
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
	"tipwright/section"
)

// Result is everything that is said about one side. Lengths are mm, angles rad; outlines lie in the
// section frame, closed at the trailing edge only if the section is, running from the trailing edge over
// the upper surface to the leading edge and back along the lower surface.
type Result struct {
	Survey *section.Survey

	Nominal  []r2.Vec // placed nominal, aileron faired; nil where no airfoil was given
	AsBuilt  []r2.Vec // the skin as scanned at station 0, aileron as it stood
	Target   []r2.Vec // the finished surface at station 0, aileron at the designer's neutral
	Sections []Trace  // departures along the outline at station 0, for charts and CSV

	// The next four are 0 where no airfoil was given.
	NominalRMS     float64           // mm, of the departures at station 0
	WorstLow       float64           // mm, at station 0; negative
	WorstHigh      float64           // mm, at station 0; positive
	OffsetMean     float64           // mm, mean departure of the form at station 0 (a constant skin offset)
	OutlineU       float64           // mm, expanded uncertainty (k = 2) of the as-built outline: nine tenths of it are known at least that well
	TargetU        float64           // mm, the same of the target
	Deflection     *section.Measured // rad, of the aileron from where its section continues the wing's, trailing edge down; nil without one
	DetectionLimit float64           // mm, depth that a low spot 100 mm wide must have to be told from noise

	LowSpots  []Spot
	HighSpots []Spot
	Filler    Filler
	Map       FillerMap
	Templates []Template // "inboard-block" and "outboard-block": equal outlines, since the trade saws an equal pair
	Gauges    []Template // the target itself from the tip rib inboard over the band, for check gauges
	Verdict   scan.Level // the gravest level among Messages
	Messages  []scan.Message

	work *work // for comparing two sides; nil in a result that was not made by Fit
}

// Trace is the skin at one point of the outline at station 0.
type Trace struct {
	Arc       float64          // mm, as in section.Map
	X, Z      float64          // mm, of the placed nominal, aileron neutral
	Departure section.Measured // mm, negative is low; U as a whole, k = 2
	Form      float64          // mm, long-wave part of the departure
	Target    float64          // mm, of the target from the nominal along its normal
	TargetU   float64          // mm, its expanded uncertainty as a whole, k = 2
	Turn      float64          // mm, part of Form that is the aileron's turn beyond the loft's deflection; not in Target
	Seen      bool             // false: no points here; Departure is carried over from the form
}

// Surface tells the two skins apart.
type Surface string

// The surfaces, as result.json names them.
const (
	Upper Surface = "upper"
	Lower Surface = "lower"
)

// Spot is a region where the skin lies below (low) or above (high) the fair surface by more than can be
// noise. X and Station are those of its deepest point.
type Spot struct {
	Surface Surface
	X       float64          // mm aft of the leading edge, along the chord line
	Station float64          // mm inboard of the tip rib's face
	Length  float64          // mm along the outline (chordwise)
	Width   float64          // mm along the station (spanwise)
	Depth   section.Measured // mm, positive for low and for high spots alike
	Area    float64          // mm^2, where it is deeper than the detection limit
	Volume  section.Measured // mm^3: filler up to the fair surface for a low spot, material above the target for a high one
	Act     bool             // deeper than act_above (low) or sand_limit (high): something to do
	Arc     float64          // mm, of the deepest point, as in section.Map
	Outline []r2.Vec         // its edge in (arc, station), mm, closed
}

// Filler is what the band needs in all.
type Filler struct {
	Volume section.Measured // mm^3
	Mass   float64          // g, mixed and cured
}

// FillerMap is the target less the skin over the filler band, on the grid of section.Map: what to fill
// where, and what cannot be told.
type FillerMap struct {
	Arc, Station []float64  // mm, as in section.Map, cut to the band
	Depth        []float64  // mm to fill (positive) or proud of the target (negative); rows by station
	U            []float64  // mm, expanded uncertainty (k = 2) of Depth
	Form         []float64  // mm, long-wave part of the departure, which the target follows; seen or not
	Seen         []bool     // false: unseen, Depth means nothing
	X            []float64  // mm aft of the leading edge of each arc on the nominal at station 0
	Length       float64    // mm, arc of the whole outline
	NoseArc      float64    // mm
	HingeArc     [2]float64 // mm, upper and lower; NaN without an aileron
}

// Template is one outline to saw to.
type Template struct {
	Name    string  // "inboard-block"
	Station float64 // mm; negative is outboard of the tip rib
	Offset  float64 // mm along the outward normal from the target; negative is smaller
	Outline []r2.Vec
	U       float64 // mm, expanded uncertainty (k = 2) of the outline, normal to it, typical
}

// Options are the builder's wishes for this step, from the wing sheet. Lengths mm.
type Options struct {
	TargetNominal bool    // target = "nominal": placed nominal and one constant offset
	Band          float64 // how far inboard to look for spots
	ActAbove      float64 // shallower low spots are left alone
	SandLimit     float64 // high spots up to this height may be sanded off
	Density       float64 // of the filler, mixed and cured, kg/m^3
	Droop         float64 // rad, the designer's neutral, trailing edge down positive
	Laminate      float64 // thickness of the skin over the foam
	Kerf          float64 // width of the slot that the wire melts
	Wire          float64 // diameter of the wire
	TipLength     float64 // of the tip, tip rib to outboard block
}

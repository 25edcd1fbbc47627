package section

import (
	"tipwright/scan"
	"tipwright/section/airfoil"
)

// Survey is what the scans of one side say about the wing: where it lies, what its lofted nominal looks
// like, and how far the skin departs from it everywhere on the panel. It is the value that this step
// hands to the next.
type Survey struct {
	Side     Side
	Loft     Loft
	StandIn  bool // no airfoil was given: Loft.Airfoil is the scan's own smooth section, not the drawing
	Fit      Quality
	Map      Map
	Noise    float64 // mm, standard deviation of the scan's points about the skin
	Units    scan.Unit
	UnitFrom string // "sheet", "format", "chord" or "size"

	// WingFromScan takes file units to the wing frame in mm, the scale correction included.
	WingFromScan Transform
	// Correction is what the scan's own scale was multiplied by to meet the taped chord; 1 if nothing
	// was changed.
	Correction float64

	Chord      Measured  // mm, reference chord at station 0
	Twist      Measured  // rad per mm of station; positive: incidence grows inboard (washout at the tip)
	Taper      Measured  // mm of chord per mm of station; positive: the chord grows inboard
	Sweep      Measured  // mm aft per mm of station, of the leading edge against square to the tip rib's face
	Deflection *Measured // rad, trailing edge down is positive; nil where no hinge reaches the tip
	ScaleRel   float64   // relative expanded uncertainty (k = 2) of every length, from the tape or the scanner

	Coverage float64 // share of the section's outline at the tip rib that the scan saw, 0 to 1
	Stations float64 // mm, how far inboard the scan reaches
	Messages []scan.Message
}

// Quality says how well the chosen pose explains the scan, and how far ahead of the next best it is.
type Quality struct {
	RMS     float64 // mm, robust spread of the used points about the lofted nominal
	Inliers float64 // share of the points near the wing that the loft explains, 0 to 1
	Used    int     // points that carried weight
	Starts  int     // poses tried
	Margin  float64 // RMS of the best different pose (another flip) over RMS; near 1 is a near tie
}

// Loft is the nominal placed in the wing frame: a section that changes linearly along the station. All
// lengths are mm, all angles rad. It is also the model that is fitted to the points.
type Loft struct {
	Airfoil *airfoil.Airfoil
	Chord   float64 // reference chord at station 0
	Taper   float64 // change of chord per mm of station
	Twist   float64 // change of incidence (nose up) per mm of station
	Sweep   float64 // aft shift of the leading edge per mm of station
	Rise    float64 // upward shift of the leading edge per mm of station

	Hinge      float64 // hinge line as a fraction of the chord; 0 where no aileron reaches the tip
	HingeZ     float64 // height of the hinge axis above the chord line, fraction of the chord
	Deflection float64 // aileron, trailing edge down is positive
}

// Map holds the departures of the skin from the lofted nominal over the whole panel, on a grid of arc
// length and station.
//
// The arc runs along the nominal outline at station 0 (with the aileron at neutral) from the trailing
// edge over the upper surface to the leading edge and back along the lower surface. At another station
// the same arc means the same fraction of that station's outline. A departure is the signed distance of
// the skin from the nominal along the nominal's outward normal, mm: negative is low. This is the one
// place where the sign is defined.
type Map struct {
	Arc      []float64  // mm, centres of the columns, rising
	Station  []float64  // mm, centres of the rows, rising
	Cells    []Cell     // len(Station) rows of len(Arc)
	Length   float64    // mm, arc of the whole outline
	NoseArc  float64    // mm, arc at the leading edge (x = 0)
	HingeArc [2]float64 // mm, arcs of the hinge line on the upper and lower surface; NaN without one
	doubled  *doubled   // filled with the map where it is not nil
	inside   *inside    // what is seen of the inside of the skin; nil: it is not asked
}

// Cell is one patch of the map.
type Cell struct {
	Departure float64 // mm, robust mean of the points in the cell; meaningless where N is 0
	SE        float64 // mm, its standard error (k = 1), correlation between neighbouring points included
	N         int     // points that carried weight; 0: unseen
}

// At returns the cell of row i (station) and column j (arc).
func (m *Map) At(i, j int) *Cell { return &m.Cells[i*len(m.Arc)+j] }

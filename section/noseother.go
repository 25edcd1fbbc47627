package section

import (
	"math"

	"tipwright/section/airfoil"
)

// Slid skins or another airfoil. With a wrong section laid on it a nose that is whole looks as if its halves were shifted:
// a section of another camber stands off the skin to one side above and to the other below. A shift of the scan stays
// whichever section is laid on; that of a wrong section goes when the right one is.

// slideNeed is what a step at the nose must be to be told.
func slideNeed(u float64) float64 { return math.Max(doubtfulStep, sureStep*u) }

// farStep returns the greatest that a step is at either end of the stretch that tells it or in its middle, where it is large
// enough to be told, and the station of that.
func farStep(step *straight, far float64) (at float64, slid bool) {
	for _, station := range []float64{step.middle, 0, far} {
		off, u := math.Abs(step.at(station)), step.u(station)
		if u < vagueStep && off > slideNeed(u) && (!slid || off > math.Abs(step.at(at))) {
			at, slid = station, true
		}
	}
	return at, slid
}

// meetsAs reports whether the two skins meet at the nose once another section is laid on in place of the sheet's.
func (w *work) meetsAs(name string) bool {
	a, err := airfoil.Parse(name)
	if err != nil || name == w.airfoil.Name {
		return false
	}
	few := *w.best
	few.points, few.normals = w.best.points.about(closestPoints), nil
	if math.IsInf(few.likeness(a, w.opt.Chord), 1) {
		return false
	}
	few.points = w.best.points
	few.field = newField(a.Outline(outlinePoints), fieldCell)
	far := math.Min(few.hi, stepSpan)
	step, ok := few.noseStep(w.rimStation(), far)
	if !ok || step.uValue >= vagueStep {
		return false
	}
	_, slid := farStep(&step, far)
	return !slid
}

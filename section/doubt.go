package section

import (
	"math"

	"tipwright/scan"
)

// What must be said of a measurement that was made: whether the airfoil is this wing's, and what was not seen.

// doubt looks whether the sheet's airfoil is this wing's.
func (w *work) doubt(m *Map) {
	c := w.best
	var abs []float64
	for _, cell := range m.Cells {
		if cell.N > 0 {
			abs = append(abs, math.Abs(cell.Departure-c.offset))
		}
	}
	if w.opt.Airfoil == nil || len(abs) == 0 {
		return
	}
	rms := madScale * median(abs)
	if rms < doubtfulForm*c.Chord {
		return
	}
	if likest, other := c.closest(w.opt.Chord); other < rms/2 {
		w.say(scan.Cautionf("airfoil-doubtful", "The skin departs from %s by %.1f mm rms, from %s by only %.1f mm: the wing sheet may name the wrong airfoil. Check it before you cut.", w.airfoil.Name, rms, likest[0].Name, other))
		return
	}
	w.say(scan.Cautionf("far-from-nominal", "The skin departs from %s by %.1f mm rms, more than a hand-built wing usually does. Check the airfoil and the taped chord in the wing sheet.", w.airfoil.Name, rms))
}

// checkSeen refuses a scan that shows too little of the wing and warns of one that shows not all of it.
func (w *work) checkSeen(v *Survey) error {
	switch {
	case v.Stations < leastSpan:
		return scan.Refusef("too-short", "Scan at least the outboard 300 mm of the wing.",
			"The scan shows only %.0f mm of the wing's span; twist and low spots cannot be told from so little.", v.Stations)
	case v.Coverage < leastCover:
		return scan.Refusef("too-little-seen", "Scan the wing again from above, from below and round the nose.",
			"The scan shows only %.0f %% of the section's outline at the tip rib.", 100*v.Coverage)
	case v.Coverage < wholeCover:
		w.say(scan.Cautionf("partly-seen", "The scan shows %.0f %% of the section's outline at the tip rib. What was not seen is carried over from the airfoil and marked; check the template there against the wing before you cut.", 100*v.Coverage))
	}
	if !w.tip.closed && w.opt.TipRib == 0 && w.tip.rms > raggedEdge {
		w.say(scan.Cautionf("edge-uneven", "The skin's outboard end is no straight edge: it departs by %.0f mm from a plane. If the tip rib lies inboard of it, tell how far: [scan] tip_rib = \"40 mm\". If not, scan the end again, with its whole edge.", w.tip.rms))
	}
	if n, laid := w.noseCorners(); laid && n <= fewCorners {
		w.say(scan.Cautionf("coarse-nose", "The mesh has corners at only %d places round the nose. Between them its shape is a guess that may be off by a millimetre. Export a finer mesh before you cut.", n))
	}
	if v.Stations < shortSpan {
		w.say(scan.Cautionf("short-span", "The scan shows only %.0f mm of the wing's span. Twist is uncertain, and low spots farther inboard were not looked for.", v.Stations))
	}
	return nil
}

// coverage returns the share of the arc that shows skin in the rows nearest the tip.
func (m *Map) coverage() float64 {
	rows := min(5, len(m.Station))
	n := 0
	for j := range m.Arc {
		for i := range rows {
			if m.At(i, j).N > 0 {
				n++
				break
			}
		}
	}
	return float64(n) / float64(len(m.Arc))
}

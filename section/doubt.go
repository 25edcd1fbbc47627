package section

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// What must be said of a measurement that was made: whether the airfoil is this wing's, and what was not seen.

const (
	// The form that a hand-built wing hardly reaches, chords, robust rms (common practice, no source).
	doubtfulForm = 0.004
	// What the sheet's section, laid on the skin by itself, leaves from which on others are tried, chords. A loft that is
	// bent to fit hides much of a wrong section, its nose lies beyond the gate, and what the map then shows may be no more
	// than a large form.
	tryLikeness = 0.0004
	// Another section is named if it leaves no more than this share of that: a like one may meet a form a little better.
	likelierBy = 0.65
	// It is taken for the wing's own if it leaves less than this of a form that hardly any wing has.
	plainlyBy = 0.25
	// Rows of the map nearest the tip in which the outline must show, and that many points of a column that shows: by
	// chance, one column in 400 then has none.
	coverLeast, coverMost, coverPoints = 5, 30, 6
)

// doubt looks whether the sheet's airfoil is this wing's, and refuses to go on where it is plainly another's: the loft is
// then laid anywhere, and so is the plane of the tip rib.
func (w *work) doubt(m *Map, noise float64) error {
	c := w.best
	var abs []float64
	for _, cell := range m.Cells {
		if cell.N > 0 {
			abs = append(abs, math.Abs(cell.Departure-c.offset))
		}
	}
	if w.opt.Airfoil == nil || len(abs) == 0 {
		return nil
	}
	rms := madScale * median(abs)
	switch other, own, of := w.likelier(noise); {
	case own > doubtfulForm*c.Chord && of < plainlyBy*own:
		return scan.Refusef("another-airfoil", "Check the airfoil in the wing sheet against the drawing.",
			"The skin departs from %s by %.1f mm rms, from %s by only %.1f mm: this wing is not of the section that the wing sheet names.", w.airfoil.Name, own, other, of)
	case of < likelierBy*own, w.misnamed:
		w.say(scan.Cautionf("airfoil-doubtful", "The skin departs from %s by %.1f mm rms, from %s by only %.1f mm: the wing sheet may name the wrong airfoil. Check it before you cut.", w.airfoil.Name, own, other, of))
		return nil
	}
	if rms > doubtfulForm*c.Chord {
		w.say(scan.Cautionf("far-from-nominal", "The skin departs from %s by %.1f mm rms, more than a hand-built wing usually does. Check the airfoil and the taped chord in the wing sheet.", w.airfoil.Name, rms))
	}
	return nil
}

// likelier returns the known section that comes nearest to the skin, and how far the skin departs from the sheet's and
// from that one, mm, both laid on in the same way, the scan's noise taken off.
func (w *work) likelier(noise float64) (other string, own, of float64) {
	c := w.best
	form := func(rms float64) float64 { return math.Sqrt(math.Max(rms*rms-noise*noise, 0)) }
	_, rms := c.rank([]*airfoil.Airfoil{w.airfoil}, w.opt.Chord, closestPoints)
	if own = form(rms); own < tryLikeness*c.Chord {
		return w.airfoil.Name, own, own
	}
	likest, rms := c.closest(w.opt.Chord)
	return likest[0].Name, own, form(rms)
}

// orAnotherAirfoil adds to a refusal that a wrong airfoil in the sheet leads to as well that another section comes far
// nearer to the skin, where one does.
func (w *work) orAnotherAirfoil(err error) error {
	refused, ok := errors.AsType[*scan.RefusalError](err)
	if !ok || w.opt.Airfoil == nil || !slices.Contains(airfoilMayBe[:], refused.Code) {
		return err
	}
	other, own, of := w.likelier(0)
	if math.IsInf(own, 0) || of >= likelierBy*own {
		return err
	}
	out := *refused
	out.Text += fmt.Sprintf(" Or the wing sheet names the wrong airfoil: the skin departs from %s by %.1f mm rms, from %s by only %.1f mm.", w.airfoil.Name, own, other, of)
	return &out
}

// airfoilMayBe are the codes of refusals that a wrong airfoil in the wing sheet leads to as well.
var airfoilMayBe = [...]string{"scale-impossible", "skins-apart", "too-little-seen"}

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

// coverage returns the share of the arc that shows skin in the rows nearest the tip, in as many as a sparse scan needs
// to show something in.
func (m *Map) coverage() float64 {
	rows, n := m.coverRows(), 0
	for j := range m.Arc {
		if m.points(j, rows) > 0 {
			n++
		}
	}
	return float64(n) / float64(len(m.Arc))
}

// coverRows returns how many rows nearest the tip a column must have to hold coverPoints, where anything of it was seen.
func (m *Map) coverRows() int {
	points, columns := 0, 0
	most := min(coverMost, len(m.Station))
	for j := range m.Arc {
		if n := m.points(j, most); n > 0 {
			points += n
			columns++
		}
	}
	if points == 0 {
		return min(coverLeast, most)
	}
	return min(max(coverLeast, (coverPoints*columns*most+points-1)/points), most)
}

// points returns how many a column holds in the rows nearest the tip.
func (m *Map) points(column, rows int) (n int) {
	for i := range rows {
		n += max(m.At(i, column).N, 0)
	}
	return n
}

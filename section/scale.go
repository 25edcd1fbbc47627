package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// Scale: a phone's scan is a few tenths of a per cent off, a tape over a straightedge half a millimetre.
// So the scan is made as large as the taped chord says, unless the sheet trusts the scanner.

// noseReach is how far along the arc from the leading edge the skin is still met square by a tape, chords.
const noseReach = 0.006

// noseAhead is how far along the chord from the leading edge such a point may lie, chords, whatever the pose.
const noseAhead = 0.05

// settleScale names the scan's unit and brings the work to true millimetres.
func (w *work) settleScale() error {
	c := w.best
	unit, from := w.unit()
	if unit == scan.UnitUnknown {
		return scan.Refusef("no-scale", "Tape the chord and write it into the wing sheet, or name the unit there: [scan] units = \"mm\".",
			"The scan says no unit, and its wing's chord of %.4g units fits none of the usual ones.", c.Chord/c.mm)
	}
	w.unitFrom, w.unitName = from, unit
	w.rescale(unit.MM() / c.mm)
	w.correction = 1
	reference := w.opt.reference(w.airfoil)
	if reference == 0 {
		return nil
	}
	// The tape runs from the skin's nose to the tail's edge, which both may stand off the loft's.
	nose := c.noseStandsOff(w.rimStation())
	w.noseOff = nose - c.offset
	ratio := w.opt.Chord / (c.Chord*w.opt.Chord/reference + nose + w.tailStandsOff())
	if math.Abs(ratio-1) > scaleRefusal {
		return scan.Refusef("scale-impossible",
			"Tape the chord again, nose to tail at the tip rib, and check the airfoil in the wing sheet and the unit that the scan was exported in.",
			"%s, the scan's chord is %.1f mm; the wing sheet's is %.1f mm: they differ by %.1f %%.",
			unitWords(unit, from), c.Chord, reference, 100*math.Abs(ratio-1))
	}
	percent := 100 * (ratio - 1)
	switch off := math.Abs(ratio - 1); {
	case w.opt.TrustScale && off > scaleCaution:
		w.say(scan.Cautionf("scale-differs", "The scan's chord is %.1f mm, the taped one %.1f mm (%+.2f %%). The sheet says to trust the scan, so nothing was corrected. Tape the chord again before you cut.", c.Chord, reference, percent))
	case w.opt.TrustScale:
	case off > scaleCaution:
		w.say(scan.Cautionf("scale-corrected", "The scan's scale was off: it was multiplied by %.4f (%+.2f %%) to meet the taped chord. Tape the chord again before you cut: a wrong tape gives wrong templates.", ratio, percent))
	default:
		w.say(scan.Notef("scale-corrected", "The scan's scale was multiplied by %.4f (%+.2f %%) to meet the taped chord.", ratio, percent))
	}
	if !w.opt.TrustScale {
		w.correction = ratio
		w.rescale(ratio)
	}
	return nil
}

// The nose's stand-off is told at the tip rib, where the tape lay: a loft that tapers a little more or less than the
// skin leaves its nose by another amount there than farther inboard.
const (
	noseSpan  = 400.0 // mm inboard of the tip rib that tell it
	noseSlope = 0.004 // standard deviation of its change along the span (common practice, no source)
	noseTurns = 5
	noseLeast = 12  // points that tell it
	noseLoose = 3.0 // standard deviations of the skin's residuals, and
	noseThick = 1.0 // mm: what scatters by more is not the nose but the rib's face, strays, or the inside
)

// noseStandsOff returns how far the skin's nose lies outside the nominal's at the tip rib, mm, from the points inboard of
// a station. Where the scan does not show it, it is where the skin as a whole lets expect it.
func (f *fitter) noseStandsOff(from float64) float64 {
	reach := noseReach * f.Chord
	nose := f.field.arc[f.field.nose] * f.Chord
	with := f.sampler()
	seen := joined(len(f.points), func(lo, hi int) (out []sample) {
		var s sample
		for i := lo; i < hi; i++ {
			p, _, near := f.nearNose(i, math.Max(from, 0), noseSpan, noseAhead*f.Chord)
			if !near {
				continue
			}
			if with.look(p, &s) && math.Abs(s.arc-nose) < reach {
				out = append(out, s)
			}
		}
		return out
	})
	var stations, d []float64
	for _, s := range seen {
		stations, d = append(stations, s.station), append(d, s.distance)
	}
	if len(d) < noseLeast {
		return f.offset
	}
	if nose, noise := atTip(stations, d); noise < math.Max(noseLoose*f.scale, noseThick) {
		return nose
	}
	return f.offset
}

// atTip returns the value at station 0 of a line through values at stations, which strays do not pull at, and the
// standard deviation of the values about it. Neighbours err together, and the fewer they are the less of their slope is
// believed.
func atTip(stations, values []float64) (value, noise float64) {
	level, slope, middle := median(slices.Clone(values)), 0.0, 0.0
	off := make([]float64, len(values))
	for range noseTurns {
		for i, v := range values {
			off[i] = math.Abs(v - level - slope*(stations[i]-middle))
		}
		noise = math.Max(madScale*median(slices.Clone(off)), leastSE)
		var sum, sumStation, sumValue, lever, moment float64
		weight := func(i int) float64 {
			t := math.Min(off[i]/(biweight*noise), 1)
			return (1 - t*t) * (1 - t*t)
		}
		for i, v := range values {
			w := weight(i)
			sum, sumStation, sumValue = sum+w, sumStation+w*stations[i], sumValue+w*v
		}
		middle, level = sumStation/sum, sumValue/sum
		for i, v := range values {
			w, arm := weight(i), stations[i]-middle
			lever, moment = lever+w*arm*arm, moment+w*arm*(v-level)
		}
		slope = moment / (lever + oneVoice*noise*noise/(noseSlope*noseSlope))
	}
	return level - slope*middle, noise
}

// tailStandsOff returns how far the tail's edge lies aft of the loft's at the tip rib, mm, and says so where smoothing
// has taken of it and of the nose.
func (w *work) tailStandsOff() float64 {
	t, ok := w.tailSeen(0)
	if !ok {
		return 0
	}
	w.tailU = 2 * t.line.u(0)
	if lost := t.lost.chord(); lost > smoothedFrom {
		w.tailU = math.Hypot(w.tailU, smoothedU*lost)
		w.say(scan.Cautionf("mesh-smoothed", "The mesh was smoothed before it was saved: neighbouring corners err together, and nose and tail are rounded off. About %.1f mm are gone at the tail and %.1f mm at the nose. The scale makes up for them, to within %.1f mm on the chord, but the templates' nose is that much too blunt. Export the scan without smoothing, as a point cloud if the program offers one, and measure again before you cut.", t.lost.tail, t.lost.nose, math.Hypot(w.tailU, tapeU)))
	}
	return t.line.at(0) + t.lost.nose
}

// scaleU returns by how much the chord may be wrong that the tape gives, mm, k = 2: the tape itself, the tail's edge in
// the scan, and the hinge that the tail hangs on.
func (w *work) scaleU(noise float64) float64 {
	return math.Hypot(math.Hypot(tapeU, w.tailU), math.Hypot(w.hingeHeightU(), w.meshTailU(noise)))
}

// hingeHeightU returns the uncertainty (k = 2) of the tail's place along the chord, mm, that comes of a turned aileron
// whose hinge line lies at a height that is known so well. The tape was laid with the aileron at neutral.
func (w *work) hingeHeightU() float64 {
	if w.best.Hinge <= 0 {
		return 0
	}
	return 2 * w.hingeU * math.Abs(math.Sin(w.best.Deflection))
}

// unitWords says what the unit is and how it is known, to begin a sentence.
func unitWords(unit scan.Unit, from string) string {
	switch from {
	case "sheet":
		return "Read in " + unit.Words() + ", as the wing sheet says"
	case "format":
		return "Read in " + unit.Words() + ", as its format says"
	}
	return "Read in " + unit.Words() + ", which comes nearest"
}

// noScale is the refusal of a scan whose size fits no wing with the taped chord.
func (o *Options) noScale(s *scan.Scan, size r3.Vec) error {
	known, from := o.Unit, "the wing sheet says"
	if known == scan.UnitUnknown {
		known, from = s.Unit, "its format says"
	}
	if known == scan.UnitUnknown || o.Chord == 0 {
		return scan.Refusef("no-scale",
			"Check the chord in the wing sheet, or name the scan's unit there: [scan] units = \"mm\".",
			"No usual unit makes a scan %.4g x %.4g x %.4g large hold a wing with a chord of %.0f mm.",
			size.X, size.Y, size.Z, o.Chord)
	}
	mm := known.MM()
	return scan.Refusef("units-impossible", "Correct or remove the unit, [scan] units, and check the chord in the wing sheet.",
		"Read in %s, as %s, the scan is %.0f x %.0f x %.0f mm large: that does not suit a chord of %.0f mm.",
		known.Words(), from, size.X*mm, size.Y*mm, size.Z*mm, o.Chord)
}

// unit returns the scan's unit and who said so.
func (w *work) unit() (scan.Unit, string) {
	switch {
	case w.opt.Unit != scan.UnitUnknown:
		return w.opt.Unit, "sheet"
	case w.points.scan.Unit != scan.UnitUnknown:
		return w.points.scan.Unit, "format"
	case w.opt.Chord > 0:
		return w.nearestUnit(w.opt.Chord), "chord"
	}
	return w.nearestUnit(likelyChord), "size"
}

// nearestUnit returns the unit in which the scan's chord comes nearest to a length in mm.
func (w *work) nearestUnit(mm float64) scan.Unit {
	chord := w.best.Chord / w.best.mm // file units
	best, least := scan.UnitUnknown, math.Log(mostChord/leastChord)
	for _, u := range scan.Units() {
		size := chord * u.MM()
		if off := math.Abs(math.Log(size / mm)); size > leastChord && size < mostChord && off < least {
			best, least = u, off
		}
	}
	return best
}

// rescale multiplies every length of the work.
func (w *work) rescale(k float64) {
	c := w.best
	c.mm *= k
	if k != 1 {
		parallel(len(c.points), func(lo, hi int) {
			for i := lo; i < hi; i++ {
				c.points[i] = single(r3.Scale(k, c.points.at(i)))
			}
		})
	}
	c.wingFromPoints.T = r3.Scale(k, c.wingFromPoints.T)
	c.Chord *= k
	c.expect *= k
	c.Twist /= k
	c.offset *= k
	c.scale *= k
	c.lo, c.hi = c.lo*k, c.hi*k
	w.form *= k
	w.growth /= k
	w.certain[chordPar] *= k
	w.certain[twistPar] /= k
	w.hingeU *= k
	w.tip.at *= k
	w.root.at *= k
	w.tailShape.rescale(k)
}

// wingFromScan returns the transform from file units to the wing frame.
func (w *work) wingFromScan() Transform {
	c := w.best
	toPoints := Transform{R: Identity().R, Scale: c.mm, T: r3.Scale(-c.mm, c.origin)}
	return c.wingFromPoints.After(toPoints)
}

func (w *work) say(m scan.Message) { w.messages = append(w.messages, m) }

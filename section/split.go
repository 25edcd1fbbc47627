package section

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// Split surfaces. A phone sees upper and lower skin from different stands, and its program may put the two
// together a few millimetres apart: too thick, too thin, or slid along the chord. The result looks like a
// wing. What tells the first two is the thickness, callipered on the wing itself; without that figure only a wing
// much thicker than drawn can raise a doubt. Skins that are slid do not meet at the nose, and end at different places.

const (
	callipered     = 1.0   // mm: how far a callipered thickness and a scan may differ (common practice, no source)
	mendFrom       = 0.3   // mm: from here on the skins are brought together where the builder asks for it
	doubtfulSplit  = 0.002 // chords: excess of thickness from which an uncallipered scan is doubted (skins of 0.6 mm laid over the drawn ribs make 1.2 mm)
	hopelessSplit  = 0.006 // chords: excess at which it is refused
	doubtfulSlide  = 2.5   // mm between the tails of the two skins
	doubtfulStep   = 1.2   // mm by which they may miss each other at the nose (two skins lapped and glued there differ by one of 0.8 mm)
	sureStep       = 5.0   // standard uncertainties that it must be
	vagueStep      = 0.6   // mm, standard uncertainty from which on the nose does not tell
	unevenStep     = 1.0   // mm by which a slide must change along the span to be told for both ends
	slideFrom      = 0.99  // chords: up to here the skins must be told apart for that
	thickFrom      = 0.12  // chords: where the thickness is looked for
	thickTo        = 0.60
	thickRows      = 15 // rows of the map nearest the tip whose thickness is compared
	leastThickCols = 10
	thickCols      = 8 // columns either side over which a thickness is averaged
)

// thickest returns the greatest thickness of the scanned section near the tip and the median excess of
// its thickness over the nominal's between thickFrom and thickTo, mm. It reports false where too little of
// both skins was seen.
func (f *fitter) thickest(m *Map) (thickness, excess float64, ok bool) {
	type column struct{ x, departure float64 }
	var skins [2][]column
	for j, arc := range m.Arc {
		at, _ := f.field.point(arc / m.Length * f.field.length())
		if at.X < thickFrom || at.X > thickTo {
			continue
		}
		var d []float64
		for i := range min(thickRows, len(m.Station)) {
			if c := m.At(i, j); c.N > 0 {
				d = append(d, c.Departure)
			}
		}
		if len(d) == 0 {
			continue
		}
		k := 0
		if arc > m.NoseArc {
			k = 1
		}
		skins[k] = append(skins[k], column{at.X, median(d)})
	}
	var sums, nominals []float64
	for _, up := range skins[0] {
		best, gap := 0.0, 0.02
		for _, low := range skins[1] {
			if off := math.Abs(low.x - up.x); off < gap {
				best, gap = low.departure, off
			}
		}
		if gap < 0.02 {
			sums = append(sums, up.departure+best)
			nominal := heightAt(f.field.outline[:f.field.nose+1], up.x) - heightAt(f.field.outline[f.field.nose:], up.x)
			nominals = append(nominals, nominal*f.Chord)
		}
	}
	if len(sums) < leastThickCols {
		return 0, 0, false
	}
	// The greatest of many figures is as high as their noise: neighbours are averaged first.
	for i, nominal := range nominals {
		near := sums[max(i-thickCols, 0):min(i+thickCols+1, len(sums))]
		var sum float64
		for _, s := range near {
			sum += s / float64(len(near))
		}
		thickness = math.Max(thickness, nominal+sum)
	}
	return thickness, median(sums), true
}

// slide returns how far the lower skin ends aft of the upper one, mm. It reports false where either end was not seen,
// or where the skins come so close before the tail that points of one pass for the other's.
func (w *work) slide() (float64, bool) {
	c := w.best
	top, bottom := heightAt(c.field.outline[:c.field.nose+1], slideFrom), heightAt(c.field.outline[c.field.nose:], slideFrom)
	if (top-bottom)*c.Chord+2*c.offset < thinSigma*c.scale {
		return 0, false
	}
	points := w.tailPoints()
	var n [2]int
	for i := range points {
		n[points[i].side()]++
	}
	skins := [2][]tailPoint{make([]tailPoint, 0, n[0]), make([]tailPoint, 0, n[1])}
	for i := range points {
		side := points[i].side()
		skins[side] = append(skins[side], points[i])
	}
	slid := func(rounds int) (float64, bool) {
		var ends [2]edgeFit
		var ok [2]bool
		known := w.tailShape
		known.tilt = 0 // that of both together
		scan.OnAllProcessors(len(skins), func(i int) { ends[i], ok[i] = c.edgeFrom(skins[i], c.lo, c.hi, known, rounds) })
		middle := (c.lo + c.hi) / 2
		return ends[1].line.at(middle) - ends[0].line.at(middle), ok[0] && ok[1]
	}
	// Skins that slid have ends of other shapes than both together seem to have.
	if s, ok := slid(0); w.tailShape.blur > 0 && (!ok || math.Abs(s) < doubtfulSlide/2) {
		return s, ok
	}
	return slid(edgeRounds)
}

// checkSplit compares the scan's thickness with the callipered one and says what it finds. It reports how far
// the skins must be brought together, mm, where the builder asked for that; 0 where nothing is to be done.
func (w *work) checkSplit(m *Map) (mend float64, err error) {
	c := w.best
	if w.opt.Airfoil == nil {
		return 0, nil
	}
	thickness, excess, ok := c.thickest(m)
	switch {
	case !ok && w.opt.Thickness > 0:
		w.say(scan.Cautionf("thickness-unchecked", "Too little of both skins was seen to compare the thickness of %.1f mm in the wing sheet with the scan.", w.opt.Thickness))
	case ok && w.opt.Thickness > 0:
		mend = w.againstCallipers(thickness)
	case ok:
		err = w.withoutCallipers(excess)
	}
	return mend, err
}

// checkSlid warns of skins that were put together shifted along the chord, and refuses those that were shifted so far
// that the rest cannot be told. Where another airfoil in the sheet explains what is seen, nothing is claimed: doubt says so.
func (w *work) checkSlid(noise float64) error {
	c := w.best
	far := math.Min(c.hi, stepSpan)
	step, ok := c.noseStep(w.rimStation(), far)
	ok = ok && step.uValue < vagueStep
	tail, tailOK := w.slide()
	at, slid := 0.0, false
	if ok {
		at, slid = farStep(&step, far)
	}
	tailSlid := tailOK && math.Abs(tail) > doubtfulSlide
	if (slid || tailSlid) && w.opt.Airfoil != nil {
		other, own, of := w.likelier(noise)
		w.misnamed = slid && of < own && w.meetsAs(other)
		if w.misnamed || !slid && of < likelierBy*own {
			return nil
		}
	}
	switch {
	case slid && math.Abs(step.at(at)) > hopelessSplit*c.Chord:
		return scan.Refusef("skins-slid", "Scan again, once round the nose without a break.",
			"Upper and lower skin do not meet at the nose: against the lower one the upper lies %s. The scanner program put the two together wrongly, so that neither section nor chord can be told.", slidWords(&step, far))
	case slid:
		w.slid = math.Abs(step.at(at))
		also := ""
		if tailOK && math.Abs(tail+step.value) < doubtfulSlide {
			also = fmt.Sprintf(" At the tail they end %.1f mm apart, too.", math.Abs(tail))
		}
		w.say(scan.Cautionf("skins-slid", "Upper and lower skin do not meet at the nose: against the lower one the upper lies %s.%s No skin is built so: the scanner program put the two together wrongly. Outline, chord and scale are wrong by as much, and spots near the nose and the tail may be none. Do not cut by these templates: scan once round the nose without a break, and measure again.", slidWords(&step, far), also))
	case tailSlid && ok:
		w.say(scan.Cautionf("tails-apart", tailWords+" At the nose the two meet, so that the wing may well be built so. Look at its tail: if the skins end together there, scan it again and measure again before you cut.", math.Abs(tail), aftOrAhead(tail)))
	case tailSlid:
		w.say(scan.Cautionf("skins-slid", tailWords+" If it does not on the wing, the scanner program put the two together wrongly: scan once round the nose without a break, and measure again before you cut.", math.Abs(tail), aftOrAhead(tail)))
	}
	return nil
}

// tailWords say how far the skins end apart.
const tailWords = "At the tail the lower skin ends %.1f mm %s of the upper one."

// slidWords says how far and which way the upper skin lies from where it belongs, at the tip rib and far inboard where that
// differs.
func slidWords(step *straight, far float64) string {
	one := func(station float64) string {
		return fmt.Sprintf("%.1f ± %.1f mm too far %s", math.Abs(step.at(station)), math.Ceil(20*step.u(station))/10, aftOrAhead(step.at(station)))
	}
	if math.Abs(step.slope)*far < math.Max(unevenStep, 4*step.uSlope*far) {
		return one(step.middle)
	}
	return fmt.Sprintf("%s at the tip rib and %s %.0f mm inboard of it", one(0), one(far), far)
}

func aftOrAhead(off float64) string {
	if off < 0 {
		return "ahead"
	}
	return "aft"
}

// againstCallipers compares the scan's greatest thickness with the callipered one.
func (w *work) againstCallipers(thickness float64) (mend float64) {
	off := thickness - w.opt.Thickness
	switch {
	case math.Abs(off) <= callipered && !(w.opt.MendSplit && math.Abs(off) > mendFrom):
		w.say(scan.Notef("thickness-agrees", "The scan is %.1f mm thick near the tip, the callipers said %.1f mm.", thickness, w.opt.Thickness))
	case w.opt.MendSplit:
		w.say(scan.Cautionf("split-mended", "The scan is %.1f mm thick near the tip, the callipers said %.1f mm. As the wing sheet asks, upper and lower skin were brought %.1f mm %s, half of it each. Hold the templates to nose and tail before you cut.", thickness, w.opt.Thickness, math.Abs(off), together(off)))
		return off
	default:
		w.say(scan.Cautionf("skins-apart", "The scan is %.1f mm thick near the tip, the callipers said %.1f mm: upper and lower skin were put together %.1f mm wrong, or the chord or the thickness in the wing sheet is. Do not cut by these templates: calliper and tape again, and scan once round the nose without a break. If the scan is at fault, [scan] mend_split = true brings the skins %s.", thickness, w.opt.Thickness, math.Abs(off), together(off)))
	}
	return 0
}

func together(off float64) string {
	if off < 0 {
		return "apart"
	}
	return "together"
}

// withoutCallipers doubts a wing much thicker or thinner than drawn.
func (w *work) withoutCallipers(excess float64) error {
	chord := w.best.Chord
	word := "thicker"
	if excess < 0 {
		word = "thinner"
	}
	const mend = "Calliper the wing at its thickest point near the tip and write it into the wing sheet: thickness = \"146 mm\"."
	switch {
	case math.Abs(excess) > hopelessSplit*chord:
		return scan.Refusef("skins-apart", mend+" Scan again, once round the nose without a break.",
			"The scan is %.1f mm %s than %s at this chord. Few wings are; scanner programs often put upper and lower skin together so.",
			math.Abs(excess), word, w.airfoil.Name)
	case math.Abs(excess) > doubtfulSplit*chord:
		w.say(scan.Cautionf("skins-apart", "The scan is %.1f mm %s than %s at this chord. Either the wing is built so, or the scanner program put upper and lower skin together wrongly; the scan alone cannot tell. "+mend, math.Abs(excess), word, w.airfoil.Name))
	}
	return nil
}

// mending is how upper and lower skin are brought together: each by half the distance between them, by which of the
// two a point is nearer to.
type mending struct {
	loft         model // as it lay before
	wingFromScan Transform
	half         float64 // mm
}

// move takes a point in the wing frame as it lay before to its place.
func (m *mending) move(p r3.Vec) r3.Vec {
	r, ok := m.loft.at(p)
	switch {
	case !ok:
	case r.arc > m.loft.field.arc[m.loft.field.nose]:
		p.Z += m.half
	default:
		p.Z -= m.half
	}
	return p
}

// bringTogether moves upper and lower skin towards each other by half the given distance each, mm.
func (w *work) bringTogether(distance float64) {
	c := w.best
	w.mended = &mending{c.model, w.wingFromScan(), distance / 2}
	toPoints := c.wingFromPoints.Inverse()
	parallel(len(c.points), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			c.points[i] = single(toPoints.Apply(w.mended.move(c.wingFromPoints.Apply(c.points.at(i)))))
		}
	})
}

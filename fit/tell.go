package fit

import (
	"fmt"
	"math"
	"strconv"

	"tipwright/scan"
)

const (
	offNeutral = 0.5 * math.Pi / 180 // rad, deflection that the builder is cautioned about
	muchRaised = 2.0                 // mm over high spots, above which the builder is cautioned
	leastSeen  = 0.97                // share of the outline at the tip rib below which the unseen parts are named
	leastShown = 0.25                // share of it without which it is not known: one skin without its aileron
)

func (w *work) say(m scan.Message) { w.result.Messages = append(w.result.Messages, m) }

// tell says what the builder has to know, and sets the verdict.
func (w *work) tell() {
	w.tellScale()
	w.tellAileron()
	w.tellKink()
	w.tellTarget()
	w.tellSag()
	w.tellLaps()
	w.tellRipples()
	w.tellUneven()
	w.tellUnseen()
	w.tellMarks()
	w.tellSpots()
	for _, m := range w.result.Messages {
		w.result.Verdict = max(w.result.Verdict, m.Level)
	}
}

// roundedUp writes an uncertainty or a limit with n decimals so that it is never understated, as the reports do.
func roundedUp(u float64, n int) string {
	p := math.Pow10(n)
	return strconv.FormatFloat(math.Ceil(u*p-1e-6)/p+0, 'f', n, 64)
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// tellScale says what to measure where scan and tape differ by more than scans usually err.
func (w *work) tellScale() {
	off := w.survey.Correction - 1
	if !(w.survey.Correction > 0) || math.Abs(off) <= scannerErrs {
		return
	}
	w.say(scan.Cautionf("scale-in-doubt", "Scan and taped chord differ by %.1f %% (%.0f mm), more than a phone's scan usually errs: one of them is wrong, and the uncertainties count that in. Tape the chord again in one straight line from nose to tail along the tip rib, aileron at neutral, then something else that the scan shows, such as the wing's thickness there or the span between two marks, and see which of the two the scan agrees with.",
		100*math.Abs(off), math.Abs(off)*w.survey.Loft.Chord))
}

func (w *work) tellAileron() {
	d := w.result.Deflection
	if d == nil {
		return
	}
	neutral := "neutral (faired)"
	if w.opt.Droop != 0 {
		neutral = fmt.Sprintf("the designer's neutral, %.1f degrees down", degrees(w.opt.Droop))
	}
	off := d.Value - w.opt.Droop
	way := "down"
	if off < 0 {
		way = "up"
	}
	if math.Abs(off) > offNeutral {
		w.say(scan.Cautionf("aileron-off-neutral", "In the scan the aileron's trailing edge stood %.1f ± %s degrees %s from neutral. The templates show it at %s. Set the aileron there before you fit the tip.",
			degrees(math.Abs(off)), roundedUp(degrees(d.U), 1), way, neutral))
		return
	}
	w.say(scan.Notef("aileron-neutral", "The aileron stood within %.1f ± %s degrees of neutral. The templates show it at %s.",
		degrees(math.Abs(off)), roundedUp(degrees(d.U), 1), neutral))
}

func (w *work) tellTarget() {
	if w.opt.TargetNominal {
		w.say(scan.Notef("target-nominal", "The target is the nominal section with one constant offset of %+.2f mm: the least for which no more than %.1f mm has to be sanded off anywhere in the filler band.",
			w.target.level, w.opt.SandLimit))
		return
	}
	top := 0.0
	for _, b := range w.nodes.bump {
		top = math.Max(top, b)
	}
	if top > muchRaised {
		w.say(scan.Cautionf("target-raised", "The target is raised by up to %.1f mm over high spots. That is much: look whether something lay on the skin there before you cut.", top))
	} else if top > 0.05 {
		w.say(scan.Notef("target-raised", "The target is raised by up to %.1f mm over high spots that stand more than %.1f mm proud, so that no skin has to be cut.",
			top, w.opt.SandLimit))
	}
}

// tellSag says by how much the skin sags between the ribs within the band.
func (w *work) tellSag() {
	f := w.parted.form
	if !f.sags {
		return
	}
	text, last := "The skin sags between the ribs by up to %.1f mm. That is taken for the wing's form, not for low spots at the bays or high spots at the ribs, so do not sand the ribs down: the filler map does not show it, and the template is that of the tip rib.", ""
	say, below := scan.Notef, 0.0
	for _, arc := range w.panel.arc {
		below = math.Max(below, f.belowRibs(arc))
	}
	if below > ribBelow {
		say = scan.Cautionf
		last = fmt.Sprintf(" At the tip rib the skin itself lies up to %.1f mm below the level of the ribs farther inboard, and the template follows it there: look with a straightedge along the span, and if the tip is low, build it up before you scan it again for the template.", below)
	}
	w.say(say("skin-sags", text+last, f.sagDepth()))
}

// checkShown refuses a scan of which hardly anything passes for skin at the tip rib, because nothing was seen there or
// because it was taken for things that lie on it.
func (w *work) checkShown() error {
	shown, n := 0, w.panel.columns()
	for _, seen := range w.nodes.seen[:n] {
		if seen {
			shown++
		}
	}
	if share := float64(shown) / float64(n); share < leastShown {
		return scan.Refusef("too-little-seen", "Clear the tip rib's end of the wing and scan it again from above, from below and round the nose.",
			"Only %.0f %% of the section's outline at the tip rib shows as skin in the scan, too little to draw the rest from.", 100*share)
	}
	return nil
}

// tellUnseen names the longest stretch of the outline at the tip rib that the scan does not show.
func (w *work) tellUnseen() {
	seen, run, longest, end := 0, 0, 0, 0
	for j := range w.panel.arc {
		if w.nodes.seen[j] {
			seen++
			run = 0
			continue
		}
		if run++; run > longest {
			longest, end = run, j
		}
	}
	n := w.panel.columns()
	if float64(seen) >= leastSeen*float64(n) {
		return
	}
	arc := w.panel.arc[end] - float64(longest-1)/2*w.panel.dArc
	share := arc / w.panel.length
	w.say(scan.Cautionf("outline-unseen", "At the tip rib the scan shows %.0f %% of the outline. The longest gap is %.0f mm on the %s surface, %.0f mm aft of the leading edge; there the template carries on the form of the skin beside it (± %s mm). Check it against the wing before you cut.",
		100*float64(seen)/float64(n), float64(longest)*w.panel.dArc, w.contour.surface(share),
		w.contour.x(&w.survey.Loft, share, 0), roundedUp(math.Max(2*w.parted.form.u(arc, 0), 0.1), 1)))
}

func (w *work) tellSpots() {
	low, high := 0, 0
	for _, s := range w.result.LowSpots {
		if s.Act {
			low++
		}
	}
	for _, s := range w.result.HighSpots {
		if s.Act {
			high++
		}
	}
	w.say(scan.Notef("spots", "%s deeper than %.1f mm to fill, %s more than %.1f mm proud. A low spot 100 mm wide and less than %s mm deep cannot be told from the scan's noise: where none is shown, the skin is not proven good beyond that.",
		count(low, "low spot"), w.opt.ActAbove, count(high, "high spot"), w.opt.SandLimit, roundedUp(w.result.DetectionLimit, 2)))
	for _, s := range w.result.LowSpots {
		if lo, _ := corners(s.Outline); s.Act && lo.Y < 1 {
			w.say(scan.Notef("low-spot-at-rib", "A low spot on the %s surface %.0f mm aft of the leading edge reaches the tip rib. The template bridges it: fill it before you fit the tip to the wing.", s.Surface, s.X))
		}
	}
	for _, s := range w.result.LowSpots {
		if s.Act && w.onAileron(s.Arc) {
			w.say(scan.Cautionf("filler-on-aileron", "A low spot lies on the aileron. Filler there changes its balance: do not fill it without balancing the aileron again to the designer's figure."))
			break
		}
	}
}

func (w *work) onAileron(arc float64) bool { return arc < w.panel.hinge[0] || arc > w.panel.hinge[1] }

func count(n int, what string) string {
	switch n {
	case 0:
		return "no " + what
	case 1:
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (w *work) tellThing(b box) {
	w.say(scan.Cautionf("on-the-skin", "Something %.1f mm high with steep edges, %.0f x %.0f mm, lies on the %s surface %.0f mm aft of the leading edge and %.0f mm inboard of the tip rib: a strip, tape, a clamp or a stand, not the skin. Nothing is known of the skin under it; take it off and scan again.",
		b.height, b.hi.X-b.lo.X, b.hi.Y-b.lo.Y, w.surfaceOf(b), w.middle(b), (b.lo.Y+b.hi.Y)/2))
}

// middle returns how far aft of the leading edge the middle of a box lies, mm.
func (w *work) middle(b box) float64 {
	return w.contour.x(&w.survey.Loft, (b.lo.X+b.hi.X)/2/w.panel.length, 0)
}

func (w *work) tellHidden(b box) {
	w.say(scan.Cautionf("on-the-skin", "Something about %.0f x %.0f mm, such as a narrow board or a hand, seems to lie on the %s surface %.0f mm aft of the leading edge and %.0f mm inboard of the tip rib: the skin is hidden there, and what is seen stands off it. Nothing is known of the skin under it; take it off and scan again.",
		b.hi.X-b.lo.X, b.hi.Y-b.lo.Y, w.surfaceOf(b), w.middle(b), (b.lo.Y+b.hi.Y)/2))
}

// tellMarks counts the marks in the band that are no spots.
func (w *work) tellMarks() {
	if w.marks > 0 {
		w.say(scan.Notef("narrow-marks", "%s on the skin within the filler band, less than %.0f mm wide and steep: a seam, an edge or strays of the scan, not a spot. The map shows them as unseen; look there.", count(w.marks, "narrow mark"), narrowest))
	}
}

// tellFar counts the spots that lie farther inboard than the band, and those to be acted on that reach over
// its end.
func (w *work) tellFar(beyond, overhang int) {
	if beyond > 0 {
		w.say(scan.Notef("spots-inboard", "%s farther inboard than the filler band of %.0f mm: not listed.", count(beyond, "more spot"), w.opt.Band))
	}
	if overhang > 0 {
		w.say(scan.Notef("spots-over-band", "%s to be acted on reach farther inboard than the filler band of %.0f mm; their size and volume are those of the whole spot.", count(overhang, "spot"), w.opt.Band))
	}
}

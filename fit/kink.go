package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// An aileron that does not stand at neutral, and that the wing sheet does not name, turns both skins together about its
// hinge line. That bends no way a skin bends: one skin then seems low and the other high along the whole span. Such a
// pair of strips starts a search for the line at which a form that may kink on both skins fits best.
const (
	kinkSpan  = 0.6                 // of the rows that the strips of each skin must reach over
	kinkAft   = 0.5                 // of the chord: strips lie aft of that
	kinkFirst = 0.60                // of the chord: foremost hinge line tried,
	kinkLast  = 0.90                // and the last,
	kinkStep  = 0.02                // apart
	kinkLeast = 0.5 * math.Pi / 180 // rad that an aileron must be turned by to be told
	kinkAlike = 0.5                 // the skin that turns less turns by at least so much of the other
)

// kink is a line about which both skins turn together.
type kink struct {
	hinge float64 // of the chord
	turn  float64 // rad, trailing edge down positive
}

// kink returns the line about which both skins turn together where no hinge is known, if there is one.
func (w *work) kink() (best kink, ok bool) {
	if w.survey.StandIn || w.parted.form.turn.lever > 0 || !w.opposedStrips() {
		return best, false
	}
	least := math.Inf(1)
	for i := range int(math.Round((kinkLast-kinkFirst)/kinkStep)) + 1 {
		h := kinkFirst + kinkStep*float64(i)
		if cost, up, low, solved := w.kinkAt(h); solved && cost < least {
			least, best = cost, kink{h, turnOf(up, low) / ((1 - h) * w.panel.chord)}
		}
	}
	return best, math.Abs(best.turn) > kinkLeast
}

// opposedStrips reports whether low and high strips run along the span on opposite skins aft of the middle. A strip may
// be broken by spots.
func (w *work) opposedStrips() bool {
	type strip struct {
		surface Surface
		high    bool
	}
	p := w.panel
	reach := map[strip]float64{} // mm of span in all
	for i := range w.parted.found.regions {
		g := &w.parted.found.regions[i]
		lo, hi := p.box(g.cells)
		middle := (lo.X + hi.X) / 2 / p.length
		if at, _ := w.contour.at(middle); at.X > kinkAft {
			reach[strip{w.contour.surface(middle), g.sign > 0}] += hi.Y - lo.Y
		}
	}
	down := math.Min(reach[strip{Upper, true}], reach[strip{Lower, false}])
	up := math.Min(reach[strip{Upper, false}], reach[strip{Lower, true}])
	return math.Max(down, up) > kinkSpan*p.span()
}

// kinkAt fits a form that may step and kink on both skins at a share of the chord. It returns how badly it fits and how
// far each skin's tail is turned outward, mm.
func (w *work) kinkAt(h float64) (cost, up, low float64, ok bool) {
	p := w.panel
	f := newForm(p, formCut*p.chord)
	f.hinge, f.breaks = w.arcsAt(h), [2]bool{true, true}
	out := &parted{form: f}
	if !out.start(p, formCut*p.chord) {
		return 0, 0, 0, false
	}
	for k, weight := range p.w {
		if weight > 0 {
			z := math.Abs(out.residual[k]) / p.se[k]
			cost += math.Min(z*z, 2*z-1) // Huber's, bent at one standard error like the fit's weights
		}
	}
	at := f.basis.size()
	return cost, f.coef[(at+1)*f.orders], f.coef[(at+3)*f.orders], true
}

// turnOf returns how far the tail sinks, mm, where the tails of the two skins are turned outward by up and low: nothing
// unless they turn together.
func turnOf(up, low float64) float64 {
	if up*low >= 0 || math.Min(math.Abs(up), math.Abs(low)) < kinkAlike*math.Max(math.Abs(up), math.Abs(low)) {
		return 0
	}
	return (low - up) / 2
}

// arcsAt returns the arcs of the upper and the lower skin at a share of the chord, mm.
func (w *work) arcsAt(h float64) [2]float64 {
	c := w.contour
	fore := func(q r2.Vec) bool { return q.X < h }
	first := slices.IndexFunc(c.points, fore)
	last := len(c.points) - 1
	for last > first && !fore(c.points[last]) {
		last--
	}
	return [2]float64{c.share[first] * w.panel.length, c.share[last] * w.panel.length}
}

// bentU returns by how much the target may be off, mm, so far aft of the leading edge, because an aileron that the wing
// sheet does not name is not turned back to neutral.
func (w *work) bentU(x float64) float64 {
	if w.bent == nil {
		return 0
	}
	return math.Abs(w.bent.turn) * math.Max(x-w.bent.hinge*w.panel.chord, 0)
}

// tellKink says that an aileron seems to be there that the wing sheet does not name.
func (w *work) tellKink() {
	k := w.bent
	if k == nil {
		return
	}
	way := "down"
	if k.turn < 0 {
		way = "up"
	}
	w.say(scan.Cautionf("aileron-not-in-sheet", "Both skins turn together about a straight line some %.0f mm aft of the leading edge, by about %.1f degrees trailing edge %s: so an aileron looks that does not stand at neutral, and the wing sheet names none. If it is one, the spots and the template aft of that line are wrong: add [aileron] with hinge = %.2f, or what you measure, to the wing sheet.",
		k.hinge*w.panel.chord, degrees(math.Abs(k.turn)), way, k.hinge))
}

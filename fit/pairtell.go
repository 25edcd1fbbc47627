package fit

import (
	"fmt"
	"math"
	"strings"

	"tipwright/scan"
	"tipwright/section"
)

const leastNeed = 2000.0 // mm³: less filler than that is not worth a line

// needs lists, by surface and side, the stretches of the band in which one wing lies below the other by
// more than the uncertainty, with the outlines in their own frames shifted and turned onto each other.
func (p *PairResult) needs(l, r *work) {
	if l == nil || r == nil {
		return
	}
	for _, surface := range []Surface{Upper, Lower} {
		for _, side := range []section.Side{section.Left, section.Right} {
			p.stretches(l, r, surface, side)
		}
	}
}

// stretches finds runs of columns in which one side is low and adds up what they need. The wings' own
// difference in pose, which no filler mends, is taken off as station 0 showed it.
func (p *PairResult) stretches(l, r *work, surface Surface, side section.Side) {
	sign := -1.0 // left less right is negative where the left is low
	if side == section.Right {
		sign = 1
	}
	var need *Need
	finish := func() {
		if need != nil && need.Volume.Value > leastNeed {
			p.Needs = append(p.Needs, *need)
		}
		need = nil
	}
	for j, arc := range l.panel.arc {
		share := arc / l.panel.length
		if l.contour.surface(share) != surface {
			continue
		}
		v, u, deepest := p.column(l, r, j, sign)
		if v == 0 {
			finish()
			continue
		}
		x := l.contour.x(&l.survey.Loft, share, 0)
		if need == nil {
			need = &Need{Side: side, Surface: surface, From: x, To: x}
		}
		need.From, need.To = math.Min(need.From, x), math.Max(need.To, x)
		need.Depth = math.Max(need.Depth, deepest)
		need.Volume.Value += v
		need.Volume.U += u
	}
	finish()
}

// column returns what one column of the band needs on the side that is low by sign.
func (p *PairResult) column(l, r *work, j int, sign float64) (v, u, deepest float64) {
	arc := l.panel.arc[j]
	share := arc / l.panel.length
	other := share * r.panel.length
	k := min(int(share*float64(r.panel.columns())), r.panel.columns()-1)
	rigid := p.Traces[j].Shape - (l.skin(arc, 0) - r.skin(other, 0)) // chord, shift and turn, from station 0
	reach := r.nodes.station[len(r.nodes.station)-1]
	for i, st := range l.nodes.station {
		if i == 0 || st > reach {
			continue
		}
		o := r.nodes.near(st)*r.panel.columns() + k
		here := i*l.panel.columns() + j
		if !l.nodes.seen[here] || !r.nodes.seen[o] {
			continue
		}
		d := sign * (l.skin(arc, st) - r.skin(other, st) + rigid)
		noise := 2 * math.Hypot(l.nodes.se[here], r.nodes.se[o])
		if d > math.Max(noise, p.Tolerance/2) {
			a := l.panel.area(l.nodes.rowOf(i))
			v, u = v+a*d, u+a*noise
			deepest = math.Max(deepest, d)
		}
	}
	return v, u, deepest
}

// near returns the row of nodes nearest to a station.
func (n *nodes) near(station float64) int {
	best := 0
	for i, st := range n.station {
		if math.Abs(st-station) < math.Abs(n.station[best]-station) {
			best = i
		}
	}
	return best
}

func (p *PairResult) say(m scan.Message) { p.Messages = append(p.Messages, m) }

// tell names the differences that are larger than their uncertainty, and what follows.
func (p *PairResult) tell(standIns bool) {
	p.tellDifferences()
	apart, alike := fmt.Sprintf(" and are turned against each other by %.2f degrees", degrees(math.Abs(p.Turn.Value))), " and 0.1 degree"
	if standIns {
		apart, alike = "", ""
		p.say(scan.Cautionf("pair-turn-unknown", "Without an airfoil in the wing sheet it cannot be told how the two tips are turned against each other. "+
			"Write the airfoil into the sheet, or sight along both tails before you glass."))
	}
	if p.Same {
		p.say(scan.Notef("pair-same", "The two tips agree: their outlines differ by %.2f mm rms and %.2f mm at worst (± %s mm), within the %.1f mm that may differ.",
			p.ShapeRMS, math.Abs(p.ShapeWorst), roundedUp(p.U, 2), p.Tolerance))
	} else {
		p.say(scan.Cautionf("pair-differs", "The two tips do not agree within %.1f mm%s: their outlines differ by %.2f mm rms and %.2f mm at worst (± %s mm)%s.",
			p.Tolerance, alike, p.ShapeRMS, math.Abs(p.ShapeWorst), roundedUp(p.U, 2), apart))
	}
	if p.OneTemplatePair {
		p.say(scan.Notef("one-template-pair", "One pair of templates may serve both wings: the two finished outlines differ by %.2f mm at worst. Turn the boards over for the other side.", math.Abs(p.TargetWorst)))
	} else {
		p.say(scan.Cautionf("two-template-pairs", "Each wing needs its own pair of templates: the two finished outlines differ by %.2f mm at worst%s; %.1f mm%s may be.",
			math.Abs(p.TargetWorst), apart, p.Tolerance, alike))
	}
	for _, n := range p.Needs {
		p.say(scan.Notef("pair-filler", "To meet the other, the %s wing needs roughly %.0f ml of filler on its %s surface from %.0f to %.0f mm aft of the leading edge, up to %.1f mm deep.",
			n.Side, n.Volume.Value/1000, n.Surface, n.From, n.To, n.Depth))
	}
	for _, m := range p.Messages {
		p.Verdict = max(p.Verdict, m.Level)
	}
}

func (p *PairResult) tellDifferences() {
	var parts []string
	note := func(c Contrast, what, unit string, scale float64, digits int) {
		if !c.Differ {
			return
		}
		more := "left"
		if c.Difference.Value < 0 {
			more = "right"
		}
		parts = append(parts, fmt.Sprintf("the %s wing's %s by %.*f ± %s %s", more, what, digits,
			math.Abs(c.Difference.Value)*scale, roundedUp(c.Difference.U*scale, digits), unit))
	}
	note(p.Chord, "chord is longer", "mm", 1, 1)
	note(p.Thickness, "section is thicker", "mm", 1, 1)
	note(p.Twist, "incidence grows more towards the root,", "degrees per metre", degrees(1000), 2)
	if p.Aileron != nil {
		note(*p.Aileron, "aileron stood lower", "degrees", degrees(1), 1)
	}
	if len(parts) > 0 {
		p.say(scan.Notef("pair-differences", "The two sides differ: %s.", strings.Join(parts, "; ")))
	}
}

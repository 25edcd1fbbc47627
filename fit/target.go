package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

// fairReach is how far, mm, a rise of the target runs out on each side of the high spot that makes it
// necessary: long against what a batten or a sanding board bridges (common practice, no source).
const fairReach = 90.0

// target is the finished surface as a departure from the nominal.
//
// With the wing's own form it is the form, raised where a high spot stands more than sand_limit proud of it:
// there it lies nowhere more than sand_limit below the skin, and it comes down to the form smoothly within
// fairReach. With the nominal it is one constant, the least for which no more than sand_limit has to come
// off anywhere in the band.
type target struct {
	form   *form
	nodes  *nodes
	level  float64 // mm, the constant; used where form is nil
	length float64 // mm of arc
}

// newTarget raises the nodes' target over the regions that are high; covered cells are no skin.
func newTarget(out *parted, n *nodes, opt *Options, covered []bool) *target {
	t := &target{form: out.form, nodes: n, length: n.p.length}
	nc := n.p.columns()
	over := make([]float64, len(n.spread))
	worst := math.Inf(-1)
	if !slices.Contains(n.seen, true) {
		worst = 0 // nothing to go by in the band
	}
	for i, st := range n.station {
		row, along := n.rowOf(i), out.form.along(st)
		for j, arc := range n.p.arc {
			k, c := i*nc+j, row*nc+j
			if !n.seen[k] {
				continue
			}
			worst = math.Max(worst, out.form.atStrip(&out.form.column[j], &along, arc, st)+n.spread[k])
			o := out.found.owner[c] - 1
			if o >= 0 && out.found.regions[o].sign > 0 && !covered[c] {
				over[k] = math.Max(0, n.spread[k]-opt.SandLimit)
			}
		}
	}
	if opt.TargetNominal {
		t.form = nil
		t.level = worst - opt.SandLimit
		return t
	}
	n.bump = n.cover(over, fairReach)
	return t
}

// at returns the target's departure at a share of the arc and a station, mm.
func (t *target) at(share, station float64) float64 {
	if t.form == nil {
		return t.level
	}
	a, s := t.form.across(share*t.length), t.form.along(station)
	return t.atStrip(&a, &s, share, station)
}

// atStrip is at for known functions of the arc and the station.
func (t *target) atStrip(a *strip, s *[mostOrders]float64, share, station float64) float64 {
	if t.form == nil {
		return t.level
	}
	arc := share * t.length
	return t.form.neutralStrip(a, s, arc, station) + math.Max(0, t.nodes.at(t.nodes.bump, arc, station))
}

// outline returns the finished surface at a station with the aileron at the designer's neutral. The strips are the form's
// at the points of the contour's outlines.
func (t *target) outline(c *contour, l *section.Loft, strips []strip, droop, station float64) []r2.Vec {
	neutral := *l
	neutral.Deflection = droop
	var s [mostOrders]float64
	if t.form != nil {
		s = t.form.along(station)
	}
	return c.outline(&neutral, station, func(i int, share float64) float64 { return t.atStrip(&strips[i], &s, share, station) })
}

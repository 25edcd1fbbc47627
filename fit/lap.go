package fit

import (
	"fmt"
	"math"
	"slices"

	"tipwright/scan"
)

// Where one sheet laps another, or a joint was not faired, the skin steps by a sheet's thickness along a straight line.
// A smooth form cannot follow that: it would run through the middle of the step and leave a low strip on one side of it
// and a high one on the other, which are no spots. So steps that run along a line of constant chord share over the whole
// span, or along a rib over the whole chord of a surface, are looked for before the form is fitted, and belong to it.
const (
	lapReach  = 55.0  // mm either side of a line that tell of a step there
	lapEdge   = 8.0   // mm about the line that are left out: it need not lie between two cells
	lapLeast  = 0.25  // mm: smaller steps are left to the form
	lapMost   = 1.6   // mm: what steps by more is no lap of sheets (common practice, no source)
	lapSigma  = 8.0   // standard errors that make a step
	lapSharp  = 0.45  // of the squares that a smooth curve leaves, which a step must leave no more than
	lapNose   = 0.08  // chords of arc about the leading edge, where no step is looked for
	lapEnds   = 20.0  // mm from the hinge line, the tail and the ends of the panel, likewise
	lapShare  = 0.6   // of the lines across that must tell
	lapApart  = 220.0 // mm: two steps nearer to each other than that which cancel are the edges of a strip
	lapCancel = 0.4   // of the larger: what two steps that cancel leave at most
	lapSteps  = 12    // either way of a line that its place is settled by, a cell in all
	lapTurns  = 4     // steps that are looked for one after the other in each direction
)

// lap is a step of the skin along a line.
type lap struct {
	along  bool    // the line runs along the span, else along a rib
	whole  bool    // one along a rib reaches to the leading edge at full height
	side   int     // 0 upper, 1 lower
	at     float64 // mm: its arc, or its station
	height float64 // mm by which the skin behind the line, aft or inboard, stands higher
	u      float64 // mm, standard uncertainty of the height
	over   float64 // mm across the line over which a cell that it cuts shows it rise
}

// laps are the steps and ripples of a panel's skin.
type laps struct {
	ripples    []ripple
	column     float64 // mm
	nose, fade float64 // mm of arc: a step along a rib grows from the leading edge over fade
	all        []lap
}

// stands returns by how much the steps and ripples raise the skin at an arc and a station, mm.
func (l *laps) stands(arc, station float64) (sum float64) {
	for i := range l.ripples {
		sum += l.ripples[i].at(arc, l.column)
	}
	for i := range l.all {
		if s := &l.all[i]; s.share(l, arc, station) > 0 {
			sum += s.height * s.share(l, arc, station)
		}
	}
	return sum
}

// share returns how much of a step there is at an arc and a station.
func (s *lap) share(l *laps, arc, station float64) float64 {
	if (arc > l.nose) != (s.side == 1) {
		return 0
	}
	if s.along {
		behind := arc - s.at
		if s.side == 0 {
			behind = s.at - arc
		}
		return ramp(behind, s.over)
	}
	rise := ramp(station-s.at, s.over)
	if t := math.Abs(arc-l.nose) / l.fade; t < 1 && !s.whole {
		rise *= t * t * (3 - 2*t)
	}
	return rise
}

// ramp rises from 0 to 1 about 0 over a length.
func ramp(x, length float64) float64 { return math.Min(math.Max(x/length+0.5, 0), 1) }

// takeLaps looks for steps and takes them from the departures; the form gives them back. Those of one surface have nothing
// to do with those of the other.
func (p *panel) takeLaps() {
	var sides [2]laps
	scan.OnAllProcessors(len(sides), func(side int) {
		l := &sides[side]
		*l = laps{column: p.dArc, nose: p.nose, fade: ribFade * p.chord}
		for _, along := range []bool{true, false} {
			for range lapTurns {
				s, ok := p.lap(side, along, l)
				if !ok {
					break
				}
				l.all = append(l.all, s)
				p.lower(l, &s, -1)
			}
		}
		for _, s := range l.strips() {
			p.lower(l, &s, +1)
		}
	})
	p.laps = &sides[0]
	p.laps.all = append(p.laps.all, sides[1].all...)
}

// lower takes a step from the departures, or with sign +1 gives it back.
func (p *panel) lower(l *laps, s *lap, sign float64) {
	nc := p.columns()
	for k := range p.y {
		if p.w[k] == 0 {
			continue
		}
		if share := s.share(l, p.arc[k%nc], p.station[k/nc]); share != 0 {
			p.y[k] += sign * s.height * share
		}
	}
}

// strips removes the pairs of steps that are the two edges of one strip, and returns them.
func (l *laps) strips() (gone []lap) {
	for i := 0; i < len(l.all); i++ {
		for j := i + 1; j < len(l.all); j++ {
			a, b := l.all[i], l.all[j]
			if a.side == b.side && a.along == b.along && math.Abs(a.at-b.at) < lapApart &&
				math.Abs(a.height+b.height) < lapCancel*math.Max(math.Abs(a.height), math.Abs(b.height)) {
				gone = append(gone, a, b)
				l.all = slices.Delete(slices.Delete(l.all, j, j+1), i, i+1)
				i--
				break
			}
		}
	}
	return gone
}

// lap returns the surest step of a surface along the span or along a rib that is not known yet.
func (p *panel) lap(side int, along bool, known *laps) (best lap, ok bool) {
	cells, places := p.lanes(side, along)
	if len(cells) == 0 {
		return best, false
	}
	surest, room := lapSigma, make([]float64, 0, len(cells))
	for m := 1; m < len(places); m++ {
		at := (places[m-1] + places[m]) / 2
		if !p.mayStep(side, along, at, places) || slices.ContainsFunc(known.all, func(s lap) bool {
			return s.side == side && s.along == along && math.Abs(s.at-at) < lapReach/2
		}) {
			continue
		}
		sides := besides(places, at)
		all, may := p.laneSteps(room, cells, &sides)
		if !may {
			continue
		}
		height, u, clear := stepOf(all, len(cells))
		if clear && math.Abs(height) > lapLeast && math.Abs(height) < lapMost && math.Abs(height)/u > surest &&
			p.isSharp(cells, places, slices.Concat(sides[0].cells, sides[1].cells), at) {
			surest, ok = math.Abs(height)/u, true
			best = lap{along: along, side: side, at: at, height: height, u: u, over: places[m] - places[m-1]}
		}
	}
	if !ok {
		return best, false
	}
	best.at = p.sharpest(cells, places, best.at, best.over)
	switch {
	case !along:
		best.whole = p.wholeStep(&best)
	case side == 0: // arcs grow from the tail forward on the upper surface
		best.height = -best.height
	}
	return best, true
}

// wholeStep reports whether a step along a rib is there at the leading edge too.
func (p *panel) wholeStep(s *lap) bool {
	var cells [][]int
	for j, arc := range p.arc {
		if off := math.Abs(arc - p.nose); (arc > p.nose) == (s.side == 1) && off < lapNose*p.chord {
			cells = append(cells, p.column(j))
		}
	}
	sides := besides(p.station, s.at)
	var all []float64
	for _, lane := range cells {
		if h, ok := p.laneStep(lane, &sides); ok {
			all = append(all, h)
		}
	}
	height, _, _ := stepOf(all, len(cells))
	return math.Abs(height-s.height) < lapCancel*math.Abs(s.height)
}

// column returns the cells of a column, rising in station.
func (p *panel) column(j int) []int {
	out := make([]int, p.rows())
	for i := range out {
		out[i] = i*p.columns() + j
	}
	return out
}

// sharpest returns the place near another at which a ramp as long as a cell fits the middle lane best.
func (p *panel) sharpest(cells [][]int, places []float64, about, over float64) (at float64) {
	var near []int
	for m, x := range places {
		if math.Abs(x-about) < lapReach {
			near = append(near, m)
		}
	}
	x, y := p.middleLane(cells, places, near, about)
	least := math.Inf(1)
	for k := -lapSteps; k <= lapSteps; k++ {
		off := float64(k) / lapSteps * over
		left := leftBy(x, y, func(x float64) []float64 {
			return []float64{1, x, x * x, ramp(x*lapReach-off, over)}
		})
		if left < least {
			least, at = left, about+off
		}
	}
	return at
}

// lanes returns the cells of a surface as lines across a step, with the places of their cells along the line: rows of
// rising arc for a step along the span, columns of rising station for one along a rib.
func (p *panel) lanes(side int, along bool) (cells [][]int, places []float64) {
	nc := p.columns()
	var columns []int
	for j, arc := range p.arc {
		if (arc > p.nose) == (side == 1) && math.Abs(arc-p.nose) > lapNose*p.chord {
			columns = append(columns, j)
		}
	}
	if !along {
		for _, j := range columns {
			cells = append(cells, p.column(j))
		}
		return cells, p.station
	}
	for _, j := range columns {
		places = append(places, p.arc[j])
	}
	for i := range p.rows() {
		lane := make([]int, len(columns))
		for k, j := range columns {
			lane[k] = i*nc + j
		}
		cells = append(cells, lane)
	}
	return cells, places
}

// mayStep reports whether a step is looked for at a place.
func (p *panel) mayStep(side int, along bool, at float64, places []float64) bool {
	if at-places[0] < lapEnds || places[len(places)-1]-at < lapEnds {
		return false
	}
	return !along || !(math.Abs(at-p.hinge[side]) < lapEnds) && math.Min(at, p.length-at) > lapEnds
}

// tellLaps tells each step with its height and its line, one along a rib on both skins once.
func (w *work) tellLaps() {
	all := w.panel.laps.all
	for i, s := range all {
		same := func(o lap) bool {
			return !s.along && !o.along && s.side != o.side && math.Abs(s.at-o.at) < lapReach/2 && math.Abs(s.height-o.height) < lapCancel*math.Abs(s.height)
		}
		if slices.ContainsFunc(all[:i], same) {
			continue
		}
		skin, way := fmt.Sprintf("%s skin", [...]Surface{Upper, Lower}[s.side]), "lower"
		if slices.ContainsFunc(all[i:], same) {
			skin = "skin, above and below,"
		}
		if s.height > 0 {
			way = "higher"
		}
		where := fmt.Sprintf("inboard of a line along the chord, %.0f mm inboard of the tip rib", s.at)
		if s.along {
			where = fmt.Sprintf("aft of a line along the span, %.0f mm aft of the leading edge", w.contour.x(&w.survey.Loft, s.at/w.panel.length, 0))
		}
		w.say(scan.Cautionf("skin-steps", "The %s lies %.1f ± %s mm %s %s: a lap or a joint of two sheets, or an edge of filler. It is taken for the wing's form, not for a low or a high spot, and the template follows it. Fair it before you cut if it shall not show.",
			skin, math.Abs(s.height), roundedUp(math.Max(2*s.u, 0.05), 1), way, where))
	}
}

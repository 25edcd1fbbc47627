package fit

import (
	"math"
	"slices"

	"tipwright/scan"
	"tipwright/section"
)

// work is one fit under way.
type work struct {
	survey   *section.Survey
	opt      Options
	contour  *contour
	panel    *panel
	parted   *parted
	surveyor *surveyor
	covered  []bool    // by cell: something lies on the skin there
	bent     *kink     // an aileron that the wing sheet does not name; nil without one
	toFill   []*region // the low spots to be acted on
	marks    int       // in the band, too narrow and too steep for spots
	high     []*region // the high spots, as in the result
	nodes    *nodes
	target   *target
	strips   []strip // of the form at the points that outlines are drawn through
	result   *Result
}

// Fit turns the survey of one side into form, spots, filler, target and templates. The survey is kept in
// the result and not changed. An error is a *scan.RefusalError, in a builder's words.
func Fit(s *section.Survey, opt Options) (*Result, error) {
	if s == nil || s.Loft.Airfoil == nil || !(s.Loft.Chord > 0) {
		return nil, scan.Refusef("no-survey", "Scan the outboard wing again.", "There is no measured wing to fit.")
	}
	p, err := newPanel(s, opt.Band)
	if err != nil {
		return nil, err
	}
	p.takeLaps()
	p.takeRipples()
	w := &work{survey: s, opt: opt, panel: p, contour: p.contour, result: &Result{Survey: s}}
	if w.parted, err = part(p, formCut*s.Loft.Chord); err != nil {
		return nil, err
	}
	w.spots()
	if k, ok := w.kink(); ok {
		w.bent = &k
	}
	w.nodes = newNodes(p, opt.Band)
	w.nodes.smoothSkin(w.parted, s.Loft.Airfoil.NoseRadius()*s.Loft.Chord, w.covered)
	if err := w.checkShown(); err != nil {
		return nil, err
	}
	w.target = newTarget(w.parted, w.nodes, &w.opt, w.covered)
	w.aboveTarget()
	w.outlines()
	if err := w.templates(); err != nil {
		return nil, err
	}
	w.result.Map = w.fillerMap()
	w.result.Filler = w.filler()
	w.tell()
	w.panel.letGo()
	w.parted.form.room, w.parted.fitRoom = nil, fitRoom{}
	w.result.work = w
	return w.result, nil
}

// spots measures the regions that the form was parted from.
func (w *work) spots() {
	s := newSurveyor(w.parted, w.panel, w.contour, &w.survey.Loft)
	s.limit = s.detectionLimit(w.opt.Band)
	s.split()
	w.surveyor = s
	w.covered = make([]bool, len(w.panel.w))
	s.covered = w.covered
	r := w.result
	r.DetectionLimit = s.limit
	if d := w.survey.Deflection; d != nil {
		turn := w.parted.form.turned()
		r.Deflection = &section.Measured{Value: d.Value + turn.Value, U: turn.U}
	}
	w.hidden()
	w.things()
	doubtful := w.doubtful()
	far, overhang := 0, 0
	for i := range w.parted.found.regions {
		g := &w.parted.found.regions[i]
		if marked(g, w.covered) > coveredMost || marked(g, doubtful) > doubtfulMost && s.isFringe(g) {
			w.cover(g) // what shows about a thing's edges
			continue
		}
		if !w.panel.inBand(g, w.opt.Band) {
			far++
			continue
		}
		if w.keep(g) && w.panel.station[g.cells[len(g.cells)-1]/w.panel.columns()] > w.opt.Band {
			overhang++
		}
	}
	rank(r.LowSpots)
	w.tellFar(far, overhang)
}

// keep measures a region within the band and puts it where it belongs; it reports whether it is a spot to be
// acted on.
func (w *work) keep(g *region) (act bool) {
	spot, r := w.surveyor.spot(g), w.result
	switch {
	case !(spot.Depth.Value > spot.leastSure()*spot.Depth.U):
		w.cover(g) // a few stray points: nothing is known there
		return false
	case spot.narrow():
		w.cover(g)
		w.marks++
		return false
	case g.sign < 0:
		if spot.Act = spot.Depth.Value > w.opt.ActAbove; spot.Act {
			w.toFill = append(w.toFill, g)
		}
		r.LowSpots = append(r.LowSpots, spot)
	default:
		spot.Act = spot.Depth.Value > w.opt.SandLimit
		r.HighSpots = append(r.HighSpots, spot)
		w.high = append(w.high, g)
	}
	return spot.Act
}

// aboveTarget puts the high spots' volumes right: what counts is the material above the target, which is
// raised over them. The depths of one spot err together.
func (w *work) aboveTarget() {
	nc := w.panel.columns()
	for i, g := range w.high {
		var v section.Measured
		for _, c := range slices.Concat(g.cells, g.rim) {
			k := c/nc + 1 - w.nodes.rowOf(1) // row of the nodes
			if k >= len(w.nodes.station) {
				continue // inboard of the band
			}
			arc, st := w.panel.arc[c%nc], w.panel.station[c/nc]
			if proud := w.skin(arc, st) - w.target.at(arc/w.panel.length, st); proud > 0 {
				v.Value += w.panel.area(c/nc) * proud
				v.U += w.panel.area(c/nc) * 2 * w.nodes.se[k*nc+c%nc]
			}
		}
		w.result.HighSpots[i].Volume = v
	}
	rank(w.result.HighSpots)
}

// outlines draws nominal, skin and target at station 0 and the departures along them.
func (w *work) outlines() {
	r, l := w.result, &w.survey.Loft
	neutral := *l
	neutral.Deflection = 0
	w.strips = w.parted.form.strips(w.contour, w.panel.length)
	along := w.parted.form.along(0)
	scan.OnAllProcessors(3, func(k int) {
		switch {
		case k == 0 && !w.survey.StandIn:
			r.Nominal = w.contour.outline(&neutral, 0, func(int, float64) float64 { return 0 })
		case k == 1:
			r.AsBuilt = w.contour.outline(l, 0, func(i int, share float64) float64 {
				arc := share * w.panel.length
				return w.parted.form.atStrip(&w.strips[i], &along, arc, 0) + w.nodes.at(w.nodes.spread, arc, 0)
			})
		case k == 2:
			r.Target = w.target.outline(w.contour, l, w.strips, w.opt.Droop, 0)
		}
	})
	w.traces()
}

// traces notes the departures along the outline at station 0 and what they come to.
func (w *work) traces() {
	r, n := w.result, w.nodes
	var sum, sum2, count float64
	var us, targetUs []float64
	rigid, f := w.rigid(), w.parted.form
	scale := w.scaleU(rigid)
	rows := f.rowsAt(w.panel, 0)
	form := f.outlineSE(w.panel, 0, rigid, rows)
	neutral := f.outlineSE(w.panel, 0, rigid, f.withoutTurn(rows))
	for j, arc := range w.panel.arc {
		share := arc / w.panel.length
		q, _ := w.contour.at(share)
		place := w.survey.Loft.Place(q, 0)
		t := Trace{
			Arc: arc, X: place.X, Z: place.Y, Seen: n.seen[j],
			Form:   w.parted.form.at(arc, 0),
			Target: w.target.at(share, 0), Turn: w.parted.form.turnAt(arc),
		}
		skin := w.skinSE(j, form)
		t.Departure = section.Measured{Value: w.skin(arc, 0), U: math.Hypot(2*skin, scale[j])}
		t.TargetU = math.Hypot(math.Hypot(2*w.targetSE(j, neutral, skin), scale[j]), math.Hypot(w.bentU(place.X), w.parted.form.belowRibs(arc)))
		targetUs = append(targetUs, t.TargetU)
		if t.Seen {
			sum2 += square(t.Departure.Value)
			count++
			r.WorstLow = math.Min(r.WorstLow, t.Departure.Value)
			r.WorstHigh = math.Max(r.WorstHigh, t.Departure.Value)
		}
		us = append(us, t.Departure.U)
		sum += t.Form
		r.Sections = append(r.Sections, t)
	}
	r.OutlineU, r.TargetU = most(us), most(targetUs)
	if w.survey.StandIn {
		r.WorstLow, r.WorstHigh = 0, 0 // nothing is known of the drawing
		return
	}
	r.OffsetMean = sum / float64(len(r.Sections))
	r.NominalRMS = math.Sqrt(sum2 / math.Max(count, 1))
}

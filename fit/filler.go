package fit

import (
	"slices"

	"tipwright/scan"
	"tipwright/section"
)

// fillerMap tells over the band what is missing to the target.
func (w *work) fillerMap() FillerMap {
	n, p := w.nodes, w.panel
	nc := p.columns()
	m := FillerMap{Arc: p.arc, Station: n.station[1:], Length: p.length, NoseArc: p.nose, HingeArc: p.hinge}
	for _, arc := range p.arc {
		m.X = append(m.X, w.contour.x(&w.survey.Loft, arc/p.length, 0))
	}
	cells := len(m.Station) * nc
	m.Depth, m.U, m.Seen, m.Form = make([]float64, cells), make([]float64, cells), slices.Clone(n.seen[nc:]), make([]float64, cells)
	f := w.parted.form
	targets := make([]strip, nc) // the target's arcs are its shares times the length
	for j, arc := range p.arc {
		targets[j] = f.across(arc / p.length * p.length)
	}
	scan.OnAllProcessors(len(m.Station), func(i int) {
		st := m.Station[i]
		along := f.along(st)
		for j, arc := range p.arc {
			k := i*nc + j
			m.Form[k] = f.atStrip(&f.column[j], &along, arc, st)
			if m.Seen[k] {
				m.Depth[k] = w.target.atStrip(&targets[j], &along, arc/p.length, st) - (m.Form[k] + n.at(n.spread, arc, st))
				m.U[k] = 2 * n.se[nc+k]
			}
		}
	})
	return m
}

// skin returns the departure of the smoothed skin at an arc and a station, mm.
func (w *work) skin(arc, station float64) float64 {
	return w.parted.form.at(arc, station) + w.nodes.at(w.nodes.spread, arc, station)
}

// filler adds up what has to be filled. With the wing's own form that is the low spots to be acted on, each
// whole; with the nominal for target it is everything in the band that lies deeper than act_above.
func (w *work) filler() Filler {
	var v, u, depth float64
	if w.opt.TargetNominal {
		v, u = w.fillToNominal()
	} else if len(w.toFill) > 0 {
		// All spots as one: their noise adds up at random, the form's uncertainty does not.
		whole := region{sign: -1}
		for _, g := range w.toFill {
			whole.cells, whole.rim = append(whole.cells, g.cells...), append(whole.rim, g.rim...)
			depth += g.depth * float64(len(g.cells))
		}
		_, volume := w.surveyor.amount(&whole, usualWidth, usualWidth, depth/float64(len(whole.cells)))
		v, u = volume.Value, volume.U
	}
	const litres = 1e-6 // mm³ to litres; kg/m³ is g/l
	return Filler{
		Volume: section.Measured{Value: v, U: u},
		Mass:   v * litres * w.opt.Density,
	}
}

// fillToNominal returns the volume between skin and target and its uncertainty (k = 2). The depths of one
// scan err together, so their uncertainties add up as they are.
func (w *work) fillToNominal() (v, u float64) {
	m := &w.result.Map
	nc := len(m.Arc)
	for k, d := range m.Depth {
		if m.Seen[k] && d > w.opt.ActAbove {
			a := w.panel.area(w.nodes.rowOf(k/nc + 1))
			v += a * d
			u += a * m.U[k]
		}
	}
	return v, u
}

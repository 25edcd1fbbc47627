package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"

	"tipwright/scan"
)

const (
	mostTurns    = 20   // of taking out and fitting again
	nextFloor    = 0.6  // by which the floor above which regions are taken out sinks with each turn
	robustStarts = 8    // turns of the first fit, which knows no regions yet
	breakChi2    = 40.0 // chi-squared of step and kink that makes a break at the hinge line
	breakLeast   = 0.1  // mm, a smaller step is not drawn
	breakSure    = 0.08 // mm, a step that is smaller in the first trial is none
	breakNear    = 80.0 // mm from the hinge line: a region nearer than that may be the work of a step
)

// parted is a panel parted into form and regions.
type parted struct {
	form     *form
	residual []float64 // departure less form, mm
	uForm    []float64 // standard uncertainty of the form at each cell, mm
	found    *seeker
	drift    drift // noise that neighbours share
	fitRoom
}

// fitRoom is what start and refit work in, and whoever needs room by cell when nothing is fitted any more: then it holds
// no weights.
type fitRoom struct {
	weights []float64 // of the last fit, until others work in it
	off     []float64 // residuals in standard errors; see measureOff
	some    []float64 // of some cells
}

// trial returns a separation to try a form with, from where this one stands.
func (out *parted) trial(f *form) *parted {
	return &parted{form: f, residual: slices.Clone(out.residual), found: out.found}
}

// part separates the form from what stands out of it.
func part(p *panel, cut float64) (*parted, error) {
	f := newForm(p, cut)
	out, ok := partWith(p, f, cut)
	if ok && out.findSags(p) {
		out, ok = partWith(p, f, cut)
	}
	if ok {
		out, ok = out.withBreaks(p, cut)
	}
	if ok {
		out.measureDrift(p, cut)
		ok = out.readTurn(p, cut)
	}
	if !ok {
		return nil, scan.Refusef("too-little-skin", "Scan the outboard wing again, from all round.",
			"The scan shows too little of the skin to tell the wing's form.")
	}
	return out, nil
}

// withBreaks returns the separation with step and kink at the hinge line, where there are any that are more than
// noise; else the one without.
func (out *parted) withBreaks(p *panel, cut float64) (*parted, bool) {
	f := *out.form
	if !f.hingeBreaks(p) {
		return out, true
	}
	f.column, f.room = nil, nil // the copy's own
	if out.surelyWhole(p, f, cut) {
		return out, true
	}
	broken, ok := partWith(p, &f, cut)
	if !ok || !f.weakBreaks() {
		return broken, ok
	}
	if !f.breaks[0] && !f.breaks[1] {
		return out, true
	}
	return partWith(p, &f, cut)
}

// surelyWhole reports whether the skin runs on across the hinge line beyond doubt, without a separation of its
// own: a fit that may break there hardly does, though regions near it, which may be the work of a step, are
// left in.
func (out *parted) surelyWhole(p *panel, f form, cut float64) bool {
	skip := out.taken(p)
	for k, s := range skip {
		arc := p.arc[k%p.columns()]
		if s == skipped && math.Min(math.Abs(arc-f.hinge[0]), math.Abs(arc-f.hinge[1])) < breakNear {
			skip[k] = spared
		}
	}
	trial := out.trial(&f)
	trial.fitRoom = out.fitRoom
	if _, ok := trial.refit(p, cut, skip); !ok {
		return false
	}
	at := f.basis.size() * f.orders
	return math.Abs(f.coef[at]) < breakSure && math.Abs(f.coef[at+2*f.orders]) < breakSure
}

// partWith separates with the form's present breaks.
func partWith(p *panel, f *form, cut float64) (*parted, bool) {
	out := &parted{form: f}
	if !out.start(p, cut) {
		return nil, false
	}
	var last, before []state
	// Regions are taken out from the highest downward: a form that is still wrong raises ghosts beside the true
	// ones, which sink with every turn.
	floor := out.highest(p)
	for range mostTurns {
		floor = math.Max(floor*nextFloor, seedFloor)
		final := floor*nextFloor <= seedFloor
		share := 1.0
		if floor == seedFloor {
			share = triedShare
		}
		out.found = seek(p, out.residual, out.uForm, floor, share, windows(final), out.found)
		skip := out.taken(p)
		if floor == seedFloor && (same(skip, last) || same(skip, before)) {
			break
		}
		before, last = last, skip
		weights, ok := out.refit(p, cut, skip)
		if !ok {
			return nil, false
		}
		if final {
			out.finishWith(p, weights, out.form.envelope())
		}
	}
	out.measureDrift(p, cut)
	if out.found.prune(out.widening) {
		weights, ok := out.refit(p, cut, out.taken(p))
		if !ok {
			return nil, false
		}
		out.finishWith(p, weights, out.form.envelope())
	}
	return out, true
}

// highest returns the most that stands out under a window of middle size.
func (out *parted) highest(p *panel) (most float64) {
	for _, m := range p.smoothInto(p.spare(), out.residual, p.w, kernel{20, 20}).mean {
		most = math.Max(most, math.Abs(m))
	}
	return most
}

func same(a, b []state) bool {
	if b == nil {
		return false
	}
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return true
}

// start makes the first fit, in which each cell pulls with a force that stops growing at one standard error,
// so that regions of any depth pull little.
func (out *parted) start(p *panel, cut float64) bool {
	weights := out.roomFor(p).weights
	copy(weights, p.w)
	weigh := func(c column) {
		if out.residual == nil {
			return // the first time all pull as they are
		}
		for k := c.first; k < len(p.w); k += c.step {
			if w := p.w[k]; w > 0 {
				weights[k] = w / math.Max(1, math.Abs(out.off[k]))
			}
		}
	}
	for range robustStarts {
		if out.residual != nil {
			out.measureOff(p)
		}
		if !out.form.solveWith(p, weights, cut, weigh) {
			return false
		}
		out.settle(p)
	}
	return true
}

// refit fits the form to what is not taken out. The weights hold until the next call.
func (out *parted) refit(p *panel, cut float64, skip []state) (weights []float64, ok bool) {
	out.roomFor(p)
	for range 3 {
		out.measureOff(p)
		z := out.some[:0]
		for k := 0; k < len(p.w); k += 3 { // neighbours say nearly the same
			if p.w[k] > 0 && skip[k] == stays {
				z = append(z, math.Abs(out.off[k]))
			}
		}
		out.some = z
		if len(z) < leastCells/8 {
			return nil, false
		}
		limit := biweight * math.Max(madScale*median(z), 1)
		if !out.form.solveWith(p, out.weights, cut, func(c column) { out.weigh(p, skip, limit, c) }) {
			return nil, false
		}
		out.settle(p)
	}
	return out.weights, true
}

// roomFor makes the room that fits of a panel need.
func (r *fitRoom) roomFor(p *panel) *fitRoom {
	if n := len(p.w); len(r.weights) != n {
		*r = fitRoom{make([]float64, n), make([]float64, n), make([]float64, 0, n/3+1)}
	}
	return r
}

// measureOff works out by how many standard errors the cells stand off the form.
func (out *parted) measureOff(p *panel) { floats.DivTo(out.off, out.residual, p.se) }

// weigh gives the cells of a column the weights with which they pull at the form: less beyond the limit of standard
// errors, nothing where they are taken out.
func (out *parted) weigh(p *panel, skip []state, limit float64, c column) {
	for k := c.first; k < len(p.w); k += c.step {
		w := p.w[k]
		out.weights[k] = 0
		if !(w > 0) {
			continue
		}
		switch skip[k] {
		case stays:
			t := out.off[k] / limit
			if t *= t; t < 1 {
				out.weights[k] = w * (1 - t) * (1 - t)
			}
		case spared:
			out.weights[k] = w / math.Max(1, math.Abs(out.off[k]))
		}
	}
}

// settle works out the residual.
func (out *parted) settle(p *panel) {
	if out.residual == nil {
		out.residual = make([]float64, len(p.y))
		out.uForm = make([]float64, len(p.y))
	}
	nc, f := p.columns(), out.form
	r := f.ownRoom()
	if len(r.poly) != nc {
		r.poly = make([][mostOrders]float64, nc)
	}
	poly := r.poly // of the station, at each column
	for j := range poly {
		poly[j] = f.combine(&f.column[j])
	}
	sag := f.sagRows(p)
	for i := range p.station {
		out.settleRow(p, i, poly)
		if sag == nil {
			continue
		}
		for j, arc := range p.arc {
			if p.w[i*nc+j] > 0 {
				out.residual[i*nc+j] -= f.fade(arc) * sag[i][f.side(arc)]
			}
		}
	}
}

// settleRow works out the residual of a row, sags left out.
func (out *parted) settleRow(p *panel, row int, poly [][mostOrders]float64) {
	nc, s := p.columns(), &out.form.rows[row]
	y, w, left := p.y[row*nc:(row+1)*nc], p.w[row*nc:(row+1)*nc], out.residual[row*nc:(row+1)*nc]
	for j := range left {
		if w[j] > 0 {
			c := &poly[j]
			left[j] = y[j] - (s[0]*c[0] + s[1]*c[1] + s[2]*c[2] + s[3]*c[3] + s[4]*c[4])
		}
	}
}

// combine returns the form as a combination of the polynomials of the station where the functions of the arc
// have the given values.
func (f *form) combine(across *strip) (sum [mostOrders]float64) {
	for a := range across.n {
		c := f.coef[across.index[a]*f.orders:]
		for b := range f.orders {
			sum[b] += across.value[a] * c[b]
		}
	}
	return sum
}

// hingeBreaks allows step and kink where a hinge is; it reports whether there is one.
func (f *form) hingeBreaks(p *panel) bool {
	for i, a := range f.hinge {
		f.breaks[i] = a > p.dArc && a < p.length-p.dArc
	}
	return f.breaks[0] || f.breaks[1]
}

// weakBreaks takes back the breaks that are no more than noise; it reports whether it took one.
func (f *form) weakBreaks() (took bool) {
	for i := range 2 {
		if !f.breaks[i] {
			continue
		}
		at := (f.basis.size() + 2*i) * f.orders
		a, b := f.coef[at], f.coef[at+f.orders]
		c := f.cov
		aa, ab, bb := c.At(at, at), c.At(at, at+f.orders), c.At(at+f.orders, at+f.orders)
		det := aa*bb - ab*ab
		chi2 := (a*a*bb - 2*a*b*ab + b*b*aa) / det
		if !(chi2 > breakChi2) || math.Abs(a) < breakLeast {
			f.breaks[i] = false
			took = true
		}
	}
	return took
}

package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

const (
	mostTurns    = 20   // of taking out and fitting again
	nextFloor    = 0.6  // by which the floor above which regions are taken out sinks with each turn
	robustStarts = 8    // turns of the first fit, which knows no regions yet
	breakChi2    = 40.0 // chi-squared of step and kink that makes a break at the hinge line
	breakLeast   = 0.1  // mm, a smaller step is not drawn
	blockArc     = 60.0 // mm: cells nearer than that are taken to err together in the form's covariance
	blockStation = 60.0
)

// parted is a panel parted into form and regions.
type parted struct {
	form     *form
	residual []float64 // departure less form, mm
	uForm    []float64 // standard uncertainty of the form at each cell, mm
	found    *seeker
}

// part separates the form from what stands out of it.
func part(p *panel, cut float64) (*parted, error) {
	f := newForm(p, cut)
	out, ok := partWith(p, f, cut)
	if ok && out.findSags(p) {
		out, ok = partWith(p, f, cut)
	}
	if ok && f.hingeBreaks(p) {
		out, ok = partWith(p, f, cut)
		if ok && f.weakBreaks() {
			out, ok = partWith(p, f, cut)
		}
	}
	if ok && f.usualTurn() {
		f.turn.usual = true
		var weights []float64
		if weights, ok = out.refit(p, cut, out.taken(p)); ok {
			out.finish(p, weights)
		}
	}
	if !ok {
		return nil, scan.Refusef("too-little-skin", "Scan the outboard wing again, from all round.",
			"The scan shows too little of the skin to tell the wing's form.")
	}
	return out, nil
}

// partWith separates with the form's present breaks.
func partWith(p *panel, f *form, cut float64) (*parted, bool) {
	out := &parted{form: f}
	if !out.start(p, cut) {
		return nil, false
	}
	var last, before []int
	// Regions are taken out from the highest downward: a form that is still wrong raises ghosts beside the true
	// ones, which sink with every turn.
	floor := out.highest(p)
	for range mostTurns {
		floor = math.Max(floor*nextFloor, seedFloor)
		final := floor*nextFloor <= seedFloor
		out.found = seek(p, out.residual, out.uForm, floor, windows(final))
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
			out.finish(p, weights)
		}
	}
	return out, true
}

// highest returns the most that stands out under a window of middle size.
func (out *parted) highest(p *panel) (most float64) {
	for _, m := range p.smooth(out.residual, p.w, kernel{20, 20}).mean {
		most = math.Max(most, math.Abs(m))
	}
	return most
}

func same(a, b []int) bool {
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
	weights := append([]float64(nil), p.w...)
	for range robustStarts {
		if !out.form.solve(p, weights, p.w, cut) {
			return false
		}
		out.settle(p)
		for k, w := range p.w {
			if w > 0 {
				weights[k] = w / math.Max(1, math.Abs(out.residual[k])/p.se[k])
			}
		}
	}
	return true
}

// refit fits the form to what is not taken out.
func (out *parted) refit(p *panel, cut float64, skip []int) (weights []float64, ok bool) {
	weights = make([]float64, len(p.w))
	for range 3 {
		var z []float64
		for k := 0; k < len(p.w); k += 3 { // neighbours say nearly the same
			if p.w[k] > 0 && skip[k] == stays {
				z = append(z, math.Abs(out.residual[k])/p.se[k])
			}
		}
		if len(z) < leastCells/8 {
			return nil, false
		}
		limit := biweight * math.Max(madScale*median(z), 1)
		for k, w := range p.w {
			weights[k] = 0
			if w > 0 && skip[k] == stays {
				t := out.residual[k] / p.se[k] / limit
				if t *= t; t < 1 {
					weights[k] = w * (1 - t) * (1 - t)
				}
			}
			if w > 0 && skip[k] == spared {
				weights[k] = w / math.Max(1, math.Abs(out.residual[k])/p.se[k])
			}
		}
		if !out.form.solve(p, weights, p.w, cut) {
			return nil, false
		}
		out.settle(p)
	}
	return weights, true
}

// settle works out the residual.
func (out *parted) settle(p *panel) {
	if out.residual == nil {
		out.residual = make([]float64, len(p.y))
		out.uForm = make([]float64, len(p.y))
	}
	nc := p.columns()
	for i, st := range p.station {
		s := out.form.along(st)
		for j := range p.arc {
			if k := i*nc + j; p.w[k] > 0 {
				out.residual[k] = p.y[k] - out.form.combine(&out.form.column[j], &s) - out.form.sag(p.arc[j], st)
			}
		}
	}
}

// combine returns the form where its functions of the arc and of the station have the given values.
func (f *form) combine(across *entries, along *[mostOrders]float64) (sum float64) {
	for a := range across.n {
		c := f.coef[across.index[a]*f.orders:]
		v := 0.0
		for b := range f.orders {
			v += along[b] * c[b]
		}
		sum += across.value[a] * v
	}
	return sum
}

// finish works out the form's uncertainty: from every fourth row, since along the station it is smooth.
func (out *parted) finish(p *panel, weights []float64) {
	f := out.form
	f.cluster(p, weights, out.residual, square(out.shared()))
	f.measureGaps(p, weights)
	const step = 4
	nc := p.columns()
	for i := range p.rows() {
		for j := range nc {
			k, from := i*nc+j, i/step*step*nc+j
			if k == from {
				out.uForm[k] = f.u(p.arc[j], p.station[i])
			} else {
				out.uForm[k] = out.uForm[from]
			}
		}
	}
}

// shared returns how much wider than independent cells the means of the widest window scatter, which the
// form's own averages do too.
func (out *parted) shared() float64 {
	if out.found == nil {
		return 1
	}
	return out.found.widen[len(out.found.widen)-1]
}

// cluster widens the covariance for what errs together: noise that neighbouring cells share and edges of
// spots too shallow to be found. Scores are summed over blocks before they are squared (the sandwich
// covariance of Liang & Zeger, Biometrika 73 (1986) 13, from memory). That counts on blocks
// larger than what errs together, so what independent cells would leave, times the shared variance that the
// widest window shows, is added.
func (f *form) cluster(p *panel, weights, residual []float64, shared float64) {
	n := len(f.coef)
	f.cov = mat.NewSymDense(n, nil)
	// The error only says that the equations are badly conditioned, as they are across a gap.
	_ = f.chol.InverseTo(f.cov)
	nba := int(p.length/blockArc) + 1
	blocks := make(map[int][]float64)
	var order []int
	for i, st := range p.station {
		for j, arc := range p.arc {
			k := i*p.columns() + j
			if weights[k] == 0 {
				continue
			}
			b := int(st/blockStation)*nba + int(arc/blockArc)
			g, ok := blocks[b]
			if !ok {
				g = make([]float64, n)
				blocks[b] = g
				order = append(order, b)
			}
			e := f.row(arc, st)
			for a := range e.n {
				g[e.index[a]] += weights[k] * residual[k] * e.value[a]
			}
		}
	}
	scores := mat.NewDense(max(len(order), 1), n, nil)
	for r, b := range order {
		scores.SetRow(r, blocks[b])
	}
	var half mat.Dense
	half.Mul(scores, f.cov)
	var cov mat.SymDense
	cov.SymOuterK(1, half.T())
	for i := range n {
		for j := i; j < n; j++ {
			f.cov.SetSym(i, j, shared*f.cov.At(i, j)+cov.At(i, j))
		}
	}
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

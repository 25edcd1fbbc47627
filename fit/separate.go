package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

const (
	mostTurns    = 14   // of taking out and fitting again
	robustStarts = 10   // turns of the first fit, which knows no regions yet
	formRim      = 12.0 // mm beyond a region's own rim that the form keeps away from
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
	if ok && f.hingeBreaks(p) {
		out, ok = partWith(p, f, cut)
		if ok && f.weakBreaks() {
			out, ok = partWith(p, f, cut)
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
	for range mostTurns {
		out.found = seek(p, out.residual, out.uForm)
		skip := out.taken(p)
		if same(skip, last) || same(skip, before) {
			break
		}
		before, last = last, skip
		if !out.refit(p, cut, skip) {
			return nil, false
		}
	}
	return out, true
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
	out.finish(p, weights)
	return true
}

// refit fits the form to what is not taken out.
func (out *parted) refit(p *panel, cut float64, skip []int) bool {
	weights := make([]float64, len(p.w))
	for range 3 {
		var z []float64
		for k, w := range p.w {
			if w > 0 && skip[k] == 0 {
				z = append(z, math.Abs(out.residual[k])/p.se[k])
			}
		}
		if len(z) < leastCells/2 {
			return false
		}
		limit := biweight * math.Max(madScale*median(z), 1)
		for k, w := range p.w {
			weights[k] = 0
			if w > 0 && skip[k] == 0 {
				t := out.residual[k] / p.se[k] / limit
				if t *= t; t < 1 {
					weights[k] = w * (1 - t) * (1 - t)
				}
			}
		}
		if !out.form.solve(p, weights, p.w, cut) {
			return false
		}
		out.settle(p)
	}
	out.finish(p, weights)
	return true
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
		for j, arc := range p.arc {
			if k := i*nc + j; p.w[k] > 0 {
				e := out.form.across(arc)
				v := 0.0
				for a := range e.n {
					for b := range out.form.orders {
						v += e.value[a] * s[b] * out.form.coef[e.index[a]*out.form.orders+b]
					}
				}
				out.residual[k] = p.y[k] - v
			}
		}
	}
}

// finish works out the form's uncertainty: from every fourth column and row, since it is smooth.
func (out *parted) finish(p *panel, weights []float64) {
	f := out.form
	f.cluster(p, weights, out.residual)
	f.measureGaps(p, weights)
	const step = 4
	nc := p.columns()
	for i := range p.rows() {
		for j := range nc {
			k, from := i*nc+j, i/step*step*nc+j/step*step
			if k == from {
				out.uForm[k] = f.u(p.arc[j], p.station[i])
			} else {
				out.uForm[k] = out.uForm[from]
			}
		}
	}
}

// cluster widens the covariance for what errs together: noise that neighbouring cells share and edges of
// spots too shallow to be found. Scores are summed over blocks before they are squared (the sandwich
// covariance of Liang & Zeger, Biometrika 73 (1986) 13, from memory). It never falls below what independent
// cells leave.
func (f *form) cluster(p *panel, weights, residual []float64) {
	n := len(f.coef)
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
			f.cov.SetSym(i, j, f.cov.At(i, j)+cov.At(i, j))
		}
	}
}

// taken marks the cells of all regions with their rims and a little more.
func (out *parted) taken(p *panel) []int {
	skip := make([]int, len(p.w))
	for _, r := range out.found.regions {
		all := append(append([]int(nil), r.cells...), r.rim...)
		for _, k := range all {
			skip[k] = 1
		}
		for _, k := range p.dilate(all, formRim) {
			skip[k] = 1
		}
	}
	return skip
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

package fit

import (
	"math"
	"slices"

	"tipwright/scan"
)

// solve fits the form to the departures with the given weights; usual are the weights of all cells before
// any were taken out, which set the penalty. It reports false where the equations cannot be solved.
func (f *form) solve(p *panel, weights, usual []float64, cut float64) bool {
	f.tabulate(p)
	bare, rhs := newEnvelope(f.envelope()), make([]float64, f.size())
	f.gather(p, weights, bare, rhs)
	if f.sags {
		f.gatherSags(p, weights, bare, rhs)
	}
	f.hold(bare, rhs)
	chol := bare.clone()
	f.penalise(p, usual, cut, chol)
	if !chol.factor() {
		return false
	}
	f.coef, f.chol = twiced(chol, bare, rhs), chol
	f.follow(chol, bare)
	return !slices.ContainsFunc(f.coef, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// twiced solves the penalised equations, whose factor is chol, by twicing (Tukey, Exploratory Data Analysis, 1977):
// what the fit has left of the bare ones is fitted once more.
func twiced(chol, bare *envelope, rhs []float64) []float64 {
	x := chol.solve(rhs)
	left := bare.mul(x)
	for i, v := range rhs {
		left[i] = v - left[i]
	}
	for i, v := range chol.solve(left) {
		x[i] += v
	}
	return x
}

// envelope returns the first column of each row of the normal equations that may differ from zero: splines and
// their penalties reach over five functions, all else reaches everywhere.
func (f *form) envelope() []int {
	const reach = 4
	first := make([]int, f.size())
	for i := range f.basis.size() * f.orders {
		first[i] = max(i/f.orders-reach, 0) * f.orders
	}
	return first
}

// tabulate works out the functions of the arc at each column and those of the station at each row, unless
// they are known from before.
func (f *form) tabulate(p *panel) {
	if f.column == nil || f.tabulated != f.breaks {
		f.column = f.column[:0]
		for _, arc := range p.arc {
			f.column = append(f.column, f.across(arc))
		}
		f.tabulated = f.breaks
	}
	if f.rows == nil {
		for _, st := range p.station {
			f.rows = append(f.rows, f.along(st))
		}
	}
}

// moments are weighted sums of a column: of the products of two polynomials of the station, and of each with the
// departure.
type moments struct {
	pair [mostOrders][mostOrders]float64 // b <= a only
	y    [mostOrders]float64
}

// moments returns those of the columns from one on and before another. It goes through them row by row, as the cells lie.
func (f *form) moments(p *panel, weights []float64, from, to int) []moments {
	nc, all := p.columns(), make([]moments, to-from)
	for i := range p.station {
		s := &f.rows[i]
		w, y := weights[i*nc+from:i*nc+to], p.y[i*nc+from:i*nc+to]
		for j, w := range w {
			if w == 0 {
				continue
			}
			m := &all[j]
			for a, v := range s[:f.orders] {
				v *= w
				m.y[a] += v * y[j]
				pair := &m.pair[a]
				for b, v2 := range s[:a+1] {
					pair[b] += v * v2
				}
			}
		}
	}
	return all
}

// columnsAtOnce is how many columns' moments one processor takes at a time.
const columnsAtOnce = 32

// gather adds up the normal equations column by column, since the polynomials of the station are the same
// for all columns.
func (f *form) gather(p *panel, weights []float64, lhs *envelope, rhs []float64) {
	parts := make([][]moments, (p.columns()+columnsAtOnce-1)/columnsAtOnce)
	scan.OnAllProcessors(len(parts), func(k int) {
		parts[k] = f.moments(p, weights, k*columnsAtOnce, min((k+1)*columnsAtOnce, p.columns()))
	})
	for j := range p.arc {
		m := &parts[j/columnsAtOnce][j%columnsAtOnce]
		for a := range f.orders {
			for b := range a {
				m.pair[b][a] = m.pair[a][b]
			}
		}
		e := &f.column[j]
		for u := range e.n {
			for a := range f.orders {
				i := e.index[u]*f.orders + a
				rhs[i] += e.value[u] * m.y[a]
				row, first := lhs.row[i], lhs.first[i]
				for v := range u + 1 { // the indices rise
					at, uv := e.index[v]*f.orders-first, e.value[u]*e.value[v]
					for b := range min(f.orders, len(row)-at) {
						row[at+b] += uv * m.pair[a][b]
					}
				}
			}
		}
	}
}

// penalise adds the penalties that part the wavelengths, and what is expected before looking.
func (f *form) penalise(p *panel, usual []float64, cut float64, lhs *envelope) {
	density := f.density(p, usual)
	for k := range f.orders {
		add := func(i, j int, v float64) {
			lhs.add(i*f.orders+k, j*f.orders+k, v)
		}
		part := density[k] * math.Pow(cut*f.stretch(k)/(2*math.Pi), 8)
		ease := f.ease
		if k > 0 {
			ease = f.easeEnds
		}
		f.basis.roughness(4, ease, func(i, j int, v float64) { add(i, j, part*v) })
		level := density[k] * math.Pow(levelCut/(2*math.Pi), 2)
		f.basis.roughness(1, ease, func(i, j int, v float64) { add(i, j, level*v) })
		size := math.Inf(1)
		if k > 0 {
			size = alongSize * (f.hi - f.lo) / p.chord / float64(k)
		}
		for i := range f.basis.size() {
			add(i, i, 1/(size*size)+1e-9)
		}
		for i := f.basis.size(); i < f.shifts(); i++ {
			add(i, i, 1/square(math.Min(size, breakSize)))
		}
		for i := f.shifts(); i < f.shifts()+2; i++ {
			add(i, i, 1/square(math.Min(size, shiftSize)))
		}
		if k > 0 || !f.turn.held {
			add(f.turnIndex(), f.turnIndex(), 1/square(f.turn.size(k)))
		}
	}
	if f.sags {
		f.penaliseSags(p, usual, lhs)
	}
}

// density returns the weight per mm of arc that bears on each order along the station.
func (f *form) density(p *panel, usual []float64) (density [mostOrders]float64) {
	for i := range p.station {
		s := &f.rows[i]
		sum := 0.0
		for _, w := range usual[i*p.columns() : (i+1)*p.columns()] {
			sum += w
		}
		for k := range f.orders {
			density[k] += sum * s[k] * s[k] / p.length
		}
	}
	return density
}

// ease returns what share of the penalty counts at an arc. Round the nose it is as if the cut were a good
// deal shorter, and it grows to its full length gradually: where a penalty ends abruptly, the stiff part
// beside it bends too little. Only the part that is the same along the station may bend there.
func (f *form) ease(arc float64) float64 {
	return math.Pow(f.cutShare(arc), 8) * f.easeEnds(arc)
}

// cutShare returns the cut that holds at an arc as a share of the cut far from the nose.
func (f *form) cutShare(arc float64) float64 {
	far := (math.Abs(arc-f.nose)/f.chord - noseCore) / (noseEase - noseCore)
	return noseCut + (1-noseCut)*math.Min(math.Max(far, 0), 1)
}

// easeEnds returns a tenth near the tail, as if the cut were a quarter shorter, and 1 elsewhere: a penalised
// spline bends too little at its ends, where the penalty asks for derivatives of nought.
func (f *form) easeEnds(arc float64) float64 {
	const ends, knots = 0.1, 4.5
	if math.Min(arc, f.basis.length-arc) < knots*f.basis.spacing() {
		return ends
	}
	return 1
}

// stretch returns the cut of the slopes and curvatures along the station, as a multiple of the cut of the
// constant part: from one end of a short panel to the other, only long waves change much.
func (f *form) stretch(order int) float64 {
	if order == 0 {
		return 1
	}
	return alongCut
}

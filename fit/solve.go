package fit

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// solve fits the form to the departures with the given weights; usual are the weights of all cells before
// any were taken out, which set the penalty. It reports false where the equations cannot be solved.
func (f *form) solve(p *panel, weights, usual []float64, cut float64) bool {
	n := f.size()
	f.column = f.column[:0]
	for _, arc := range p.arc {
		f.column = append(f.column, f.across(arc))
	}
	lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	f.gather(p, weights, lhs, rhs)
	if f.sags {
		f.gatherSags(p, weights, lhs, rhs)
	}
	bare := mat.NewSymDense(n, nil)
	bare.CopySym(lhs)
	f.penalise(p, usual, cut, lhs)
	var chol mat.Cholesky
	var x mat.VecDense
	if !chol.Factorize(lhs) || !solved(chol.SolveVecTo(&x, rhs)) {
		return false
	}
	// Twicing (Tukey, Exploratory Data Analysis, 1977): what the fit has left is fitted once more.
	var left, more mat.VecDense
	left.MulVec(bare, &x)
	left.SubVec(rhs, &left)
	if !solved(chol.SolveVecTo(&more, &left)) {
		return false
	}
	x.AddVec(&x, &more)
	f.coef = x.RawVector().Data
	f.chol = &chol
	return true
}

// solved reports whether equations were solved: a warning of poor condition, as a gap gives, is no failure.
func solved(err error) bool {
	var c mat.Condition
	return err == nil || errors.As(err, &c) && !math.IsInf(float64(c), 1)
}

// gather adds up the normal equations column by column, since the polynomials of the station are the same
// for all columns.
func (f *form) gather(p *panel, weights []float64, lhs *mat.SymDense, rhs *mat.VecDense) {
	along := make([][mostOrders]float64, p.rows())
	for i, st := range p.station {
		along[i] = f.along(st)
	}
	for j := range p.arc {
		var s [mostOrders][mostOrders]float64
		var t [mostOrders]float64
		for i := range p.station {
			k := i*p.columns() + j
			w := weights[k]
			if w == 0 {
				continue
			}
			for a := range f.orders {
				t[a] += w * along[i][a] * p.y[k]
				for b := range f.orders {
					s[a][b] += w * along[i][a] * along[i][b]
				}
			}
		}
		e := &f.column[j]
		for u := range e.n {
			for a := range f.orders {
				row := e.index[u]*f.orders + a
				rhs.SetVec(row, rhs.AtVec(row)+e.value[u]*t[a])
				for v := range e.n {
					for b := range f.orders {
						if col := e.index[v]*f.orders + b; col >= row {
							lhs.SetSym(row, col, lhs.At(row, col)+e.value[u]*e.value[v]*s[a][b])
						}
					}
				}
			}
		}
	}
}

// penalise adds the penalties that part the wavelengths, and what is expected before looking.
func (f *form) penalise(p *panel, usual []float64, cut float64, lhs *mat.SymDense) {
	density := f.density(p, usual)
	for k := range f.orders {
		add := func(i, j int, v float64) {
			lhs.SetSym(i*f.orders+k, j*f.orders+k, lhs.At(i*f.orders+k, j*f.orders+k)+v)
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
		add(f.turnIndex(), f.turnIndex(), 1/square(f.turn.size(k)))
	}
	if f.sags {
		f.penaliseSags(p, usual, lhs)
	}
}

// density returns the weight per mm of arc that bears on each order along the station.
func (f *form) density(p *panel, usual []float64) (density [mostOrders]float64) {
	for i, st := range p.station {
		s := f.along(st)
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

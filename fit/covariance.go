package fit

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

const (
	blockArc     = 60.0 // mm: cells nearer than that are taken to err together in the form's covariance
	blockStation = 60.0
)

// finish works out the form's uncertainty.
func (out *parted) finish(p *panel, weights []float64) { out.finishWith(p, weights, nil) }

// finishWith is finish with no more of the covariance than cluster is asked for. The uncertainty by cell is worked out
// from every fourth row, since along the station it is smooth.
func (out *parted) finishWith(p *panel, weights []float64, first []int) {
	f := out.form
	f.cluster(p, weights, out.residual, square(out.shared()), first)
	f.measureGaps(p, weights)
	const step = 4
	nc := p.columns()
	sags := f.ribRows(p)
	scan.OnAllProcessors((nc+columnsAtOnce-1)/columnsAtOnce, func(chunk int) {
		for j := chunk * columnsAtOnce; j < min((chunk+1)*columnsAtOnce, nc); j++ {
			v := f.columnVariance(p.arc[j], &f.column[j])
			gap := square(f.gaps.u(p.arc[j]))
			for from := 0; from < p.rows(); from += step {
				u := math.Sqrt(math.Max(v.at(&f.rows[from], &sags[from]), 0) + gap + square(f.untold(p.station[from])))
				for i := from; i < min(from+step, p.rows()); i++ {
					out.uForm[i*nc+j] = u
				}
			}
		}
	})
}

// columnVariance is the form's variance at one arc as a function of the station.
type columnVariance struct {
	pair  [mostOrders][mostOrders]float64 // of the polynomials
	fade  float64
	cross [][mostOrders]float64 // of the functions of the sag with the polynomials
	cov   *mat.SymDense
	base  int // index of the sag's first coefficient
}

func (f *form) columnVariance(arc float64, e *strip) (v columnVariance) {
	n := f.cov.SymmetricDim()
	data := f.cov.RawSymmetric().Data
	for u := range e.n {
		for w := range u + 1 { // the indices rise
			vw := e.value[u] * e.value[w]
			for a := range f.orders {
				for b := range f.orders {
					// The blocks on the diagonal are kept in their upper half only.
					i, j := e.index[w]*f.orders+b, e.index[u]*f.orders+a
					c := vw * data[min(i, j)*n+max(i, j)]
					v.pair[a][b] += c
					if u != w {
						v.pair[b][a] += c
					}
				}
			}
		}
	}
	if !f.sags {
		return v
	}
	v.fade, v.cov, v.base = f.fade(arc), f.cov, f.ribBase(arc)
	v.cross = make([][mostOrders]float64, f.ribs.size())
	for r := range v.cross {
		for u := range e.n {
			for a := range f.orders {
				v.cross[r][a] += e.value[u] * data[(e.index[u]*f.orders+a)*n+v.base+r]
			}
		}
	}
	return v
}

// at returns the variance where the polynomials of the station and the functions of the sag have the given values.
func (v *columnVariance) at(s *[mostOrders]float64, sag *ribRow) (sum float64) {
	for a := range s {
		for b := range s {
			sum += s[a] * s[b] * v.pair[a][b]
		}
	}
	if v.cross == nil {
		return sum
	}
	for i, x := range sag.value {
		x *= v.fade
		for a := range s {
			sum += 2 * x * s[a] * v.cross[sag.first+i][a]
		}
		for j, y := range sag.value {
			sum += x * y * v.fade * v.cov.At(v.base+sag.first+i, v.base+sag.first+j)
		}
	}
	return sum
}

// cluster widens the covariance for what errs together: noise that neighbouring cells share and edges of
// spots too shallow to be found. Scores are summed over blocks before they are squared (the sandwich
// covariance of Liang & Zeger, Biometrika 73 (1986) 13, from memory). That counts on blocks
// larger than what errs together, so what independent cells would leave, times the shared variance that the
// widest window shows, is added. Of each column of the covariance it works out what lies from the row first on, so that
// the entries of functions that meet at no place can be left out; without first it works out all.
func (f *form) cluster(p *panel, weights, residual []float64, shared float64, first []int) {
	n := len(f.coef)
	f.shared = shared
	r := f.ownRoom()
	r.bread = f.chol.inverse(r.bread)
	bread := r.bread
	scores := f.scores(p, weights, residual)
	moves := r.movesOf(scores, bread, n)
	line := func(i int) blas64.Vector {
		return blas64.Vector{N: len(scores), Inc: 1, Data: moves[i*len(scores) : (i+1)*len(scores)]}
	}
	r.cov = cleared(r.cov, n*n)
	f.cov = mat.NewSymDense(n, r.cov)
	data := r.cov
	scan.OnAllProcessors(n, func(i int) {
		for j := i; j < n; j++ {
			if first != nil && i < first[j] {
				continue
			}
			v := blas64.Dot(line(i), line(j)) + shared*bread[i*n+j]
			if f.turn.held {
				v += square(f.turn.sd) * f.turn.pull[i] * f.turn.pull[j]
			}
			data[i*n+j] = v
		}
	})
}

// movesOf returns what each block's scores move each of n coefficients by, a row for each coefficient. It holds until the
// next call.
func (r *formRoom) movesOf(scores []score, bread []float64, n int) []float64 {
	r.moves = cleared(r.moves, n*len(scores))
	scan.OnAllProcessors((len(scores)+scoresAtOnce-1)/scoresAtOnce, func(chunk int) {
		moved := make([]float64, n)
		for b := chunk * scoresAtOnce; b < min((chunk+1)*scoresAtOnce, len(scores)); b++ {
			clear(moved)
			scores[b].each(func(k int, v float64) {
				blas64.Axpy(v, blas64.Vector{N: n, Inc: 1, Data: bread[k*n : (k+1)*n]}, blas64.Vector{N: n, Inc: 1, Data: moved})
			})
			for i, v := range moved {
				r.moves[i*len(scores)+b] = v
			}
		}
	})
	return r.moves
}

// varianceOf returns the entry on the diagonal that cluster would give one coefficient of a form that is not held to a turn.
func (f *form) varianceOf(at int, p *panel, weights, residual []float64, shared float64) float64 {
	row := make([]float64, len(f.coef))
	row[at] = 1
	row = f.chol.solve(row)
	sum := shared * row[at]
	for _, g := range f.scores(p, weights, residual) {
		sum += square(g.dot(row))
	}
	return math.Max(sum, 0)
}

// outlineSE returns the form's standard uncertainty at each column as an outline at a station, mm: what a shift or a
// turn of the whole, the columns of rigid, takes off does not count. rows are what the form there depends on.
//
// The covariance counts the noise twice, as it scatters between blocks and as independent cells leave it times what
// neighbours share, so that whether something is a spot is decided with caution. An outline is known as well as the second
// says: where neighbours share nothing that is half of the sum, and the more they share the more of it.
func (f *form) outlineSE(p *panel, station float64, rigid *mat.Dense, rows []entries) []float64 {
	moved := mat.NewDense(3, len(f.coef), nil) // the least-squares shift and turn that each coefficient makes
	var normal, inverse mat.Dense
	normal.Mul(rigid.T(), rigid)
	laid := inverse.Inverse(&normal) == nil
	for j := range rows {
		e := &rows[j]
		for i := range e.n {
			for k := range 3 {
				moved.Set(k, e.index[i], moved.At(k, e.index[i])+e.value[i]*rigid.At(j, k))
			}
		}
	}
	if laid {
		moved.Mul(&inverse, moved)
	} else {
		moved.Zero()
	}
	var with, own mat.Dense // covariance of the coefficients with the shift and turn, and of these
	with.Mul(f.cov, moved.T())
	own.Mul(moved, &with)
	var pulls [3]float64 // by which the turn that the form is held to moves the shift and turn of the whole
	if f.turn.held {
		pull := mat.NewVecDense(len(f.coef), f.turn.pull)
		for k := range pulls {
			pulls[k] = mat.Dot(moved.RowView(k), pull)
		}
	}
	out := make([]float64, len(p.arc))
	for j, arc := range p.arc {
		e, r := &rows[j], rigid.RawRowView(j)
		sum, turned := f.variance(e), f.pulled(e)
		for k, v := range r {
			for i := range e.n {
				sum -= 2 * v * e.value[i] * with.At(e.index[i], k)
			}
			for l, v2 := range r {
				sum += v * v2 * own.At(k, l)
			}
			if f.turn.held {
				turned -= v * pulls[k]
			}
		}
		held := square(f.turn.sd * turned)
		out[j] = math.Sqrt(math.Max(sum-held, 0)*f.shared/(1+f.shared) + held + square(f.gaps.u(arc)) + square(f.untold(station)))
	}
	return out
}

// rowsAt returns what the form depends on at each column at a station.
func (f *form) rowsAt(p *panel, station float64) []entries {
	rows := make([]entries, len(p.arc))
	for j, arc := range p.arc {
		rows[j] = f.row(arc, station)
	}
	return rows
}

// withoutTurn takes the aileron's turn from what the form depends on at some places.
func (f *form) withoutTurn(rows []entries) []entries {
	for j := range rows {
		e := &rows[j]
		for i := range e.n {
			if e.index[i] == f.turnIndex()*f.orders {
				e.value[i] = 0
			}
		}
	}
	return rows
}

// pulled returns by how much the form at a place changes with the turn that it is held to.
func (f *form) pulled(e *entries) (sum float64) {
	if f.turn.held {
		for i := range e.n {
			sum += e.value[i] * f.turn.pull[e.index[i]]
		}
	}
	return sum
}

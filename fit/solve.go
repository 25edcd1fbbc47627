package fit

import (
	"math"
	"slices"

	"tipwright/scan"
)

// solve fits the form to the departures with the given weights; those of all cells before any were taken out set
// the penalty. It reports false where the equations cannot be solved.
func (f *form) solve(p *panel, weights []float64, cut float64) bool {
	return f.solveWith(p, weights, cut, func(column) {})
}

// solveWith is solve with weights that weigh gives column by column.
func (f *form) solveWith(p *panel, weights []float64, cut float64, weigh func(c column)) bool {
	f.tabulate(p)
	r, first := f.ownRoom(), f.envelope()
	r.bare, r.chol = r.bare.emptied(first), r.chol.emptied(first)
	bare, chol, rhs := r.bare, r.chol, make([]float64, f.size())
	f.gather(p, weights, bare, rhs, weigh)
	if f.sags {
		f.gatherSags(p, weights, bare, rhs)
	}
	f.hold(bare, rhs)
	copy(chol.all, bare.all)
	f.penalise(p, cut, chol)
	if !chol.factor() {
		return false
	}
	f.coef, f.chol = twiced(chol, bare, rhs), chol
	f.follow(chol, bare)
	return !slices.ContainsFunc(f.coef, func(v float64) bool { return math.IsNaN(v) || math.IsInf(v, 0) })
}

// formRoom is what a form works in, from one fit to the next.
type formRoom struct {
	bare, chol *envelope
	moments    []moments
	poly       [][mostOrders]float64 // see settle
	scores     []float64
	bread, cov []float64 // see cluster
	moves      []float64 // see movesOf
}

// ownRoom returns the form's room. A copy that is fitted at the same time as the form must be made to have its own.
func (f *form) ownRoom() *formRoom {
	if f.room == nil {
		f.room = &formRoom{}
	}
	return f.room
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
// their penalties reach over five functions, a function that no column has stands alone, all else reaches everywhere.
func (f *form) envelope() []int {
	const reach = 4
	first := make([]int, f.size())
	border := f.basis.size() * f.orders
	for i := range border {
		first[i] = max(i/f.orders-reach, 0) * f.orders
	}
	used := f.used()
	for i := border; i < f.functions()*f.orders; i++ {
		if !used[i/f.orders] {
			first[i] = i
		}
	}
	return first
}

// used reports of each function of the arc whether some column has it.
func (f *form) used() []bool {
	used := make([]bool, f.functions())
	for j := range f.column {
		e := &f.column[j]
		for _, i := range e.index[:e.n] {
			used[i] = true
		}
	}
	return used
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

// column is one column of a panel: its first cell, and by how many the others are apart.
type column struct{ first, step int }

// moments returns those of a column; the first polynomial is 1.
func (f *form) moments(c column, w, y []float64) (m moments) {
	m.low(f.rows, w[c.first:], y[c.first:], c.step)
	for a := 3; a < f.orders; a++ {
		m.high(f.rows, w[c.first:], y[c.first:], c.step, a)
	}
	return m
}

// low adds up what the first three polynomials are in.
func (m *moments) low(rows [][mostOrders]float64, w, y []float64, step int) {
	var y0, y1, y2, m00, m10, m11, m20, m21, m22 float64
	for i, k := 0, 0; i < len(rows); i, k = i+1, k+step {
		s, w, y := &rows[i], w[k], y[k]
		y0 += w * y
		m00 += w
		v := w * s[1]
		y1 += v * y
		m10 += v
		m11 += v * s[1]
		v = w * s[2]
		y2 += v * y
		m20 += v
		m21 += v * s[1]
		m22 += v * s[2]
	}
	m.y[0], m.y[1], m.y[2] = y0, y1, y2
	m.pair[0][0] = m00
	m.pair[1][0], m.pair[1][1] = m10, m11
	m.pair[2][0], m.pair[2][1], m.pair[2][2] = m20, m21, m22
}

// high adds up what a higher one is in.
func (m *moments) high(rows [][mostOrders]float64, w, y []float64, step, a int) {
	var ya, m0, m1, m2, m3, m4 float64
	for i, k := 0, 0; i < len(rows); i, k = i+1, k+step {
		s := &rows[i]
		v := w[k] * s[a]
		ya += v * y[k]
		m0 += v
		m1 += v * s[1]
		m2 += v * s[2]
		m3 += v * s[3]
		m4 += v * s[4]
	}
	m.y[a] = ya
	m.pair[a] = [mostOrders]float64{m0, m1, m2, m3, m4}
}

// columnsAtOnce is how many columns' moments one processor takes at a time.
const columnsAtOnce = 16

// gather adds up the normal equations column by column, since the polynomials of the station are the same
// for all columns.
func (f *form) gather(p *panel, weights []float64, lhs *envelope, rhs []float64, weigh func(c column)) {
	r := f.ownRoom()
	if len(r.moments) != p.columns() {
		r.moments = make([]moments, p.columns())
	}
	all := r.moments
	scan.OnAllProcessors((len(all)+columnsAtOnce-1)/columnsAtOnce, func(k int) {
		for j := k * columnsAtOnce; j < min((k+1)*columnsAtOnce, len(all)); j++ {
			c := column{j, len(all)}
			weigh(c)
			all[j] = f.moments(c, weights, p.y)
		}
	})
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && f.column[to].alike(&f.column[from]) {
			to++
		}
		f.gatherAlike(f.column[from:to], all[from:to], lhs, rhs)
		from = to
	}
}

// alike reports whether two places depend on the same numbers.
func (e *strip) alike(o *strip) bool {
	return e.n == o.n && slices.Equal(e.index[:e.n], o.index[:o.n])
}

// gatherAlike is gather for columns that have the same functions. Products of two polynomials of the station do not
// depend on which of them is which function's, so that the block of two functions is symmetric.
func (f *form) gatherAlike(columns []strip, all []moments, lhs *envelope, rhs []float64) {
	index, n := columns[0].index[:columns[0].n], f.orders
	product := make([]float64, len(columns))
	for u, iu := range index {
		for a := range n {
			sum := rhs[iu*n+a]
			for j := range columns {
				sum += columns[j].value[u] * all[j].y[a]
			}
			rhs[iu*n+a] = sum
		}
		for v, iv := range index[:u+1] { // the indices rise
			for j := range columns {
				product[j] = columns[j].value[u] * columns[j].value[v]
			}
			var sum block5
			for a := range n {
				row := lhs.row[iu*n+a][iv*n-lhs.first[iu*n+a]:]
				for b := range a + 1 {
					sum[a][b] = row[b]
				}
			}
			sum.add(product, all, n)
			for a := range n {
				row := lhs.row[iu*n+a][iv*n-lhs.first[iu*n+a]:]
				for b := range min(n, len(row)) {
					row[b] = sum[max(a, b)][min(a, b)]
				}
			}
		}
	}
}

// block5 is the lower half of a symmetric block.
type block5 [mostOrders][mostOrders]float64

// add adds the columns' moments, each times the column's product.
func (s *block5) add(product []float64, all []moments, orders int) {
	all = all[:len(product)]
	s00, s10, s11, s20, s21, s22 := s[0][0], s[1][0], s[1][1], s[2][0], s[2][1], s[2][2]
	for j, uv := range product {
		m := &all[j].pair
		s00 += uv * m[0][0]
		s10 += uv * m[1][0]
		s11 += uv * m[1][1]
		s20 += uv * m[2][0]
		s21 += uv * m[2][1]
		s22 += uv * m[2][2]
	}
	s[0][0], s[1][0], s[1][1], s[2][0], s[2][1], s[2][2] = s00, s10, s11, s20, s21, s22
	for a := 3; a < orders; a++ {
		s0, s1, s2, s3, s4 := s[a][0], s[a][1], s[a][2], s[a][3], s[a][4]
		for j, uv := range product {
			m := &all[j].pair[a]
			s0 += uv * m[0]
			s1 += uv * m[1]
			s2 += uv * m[2]
			s3 += uv * m[3]
			s4 += uv * m[4]
		}
		s[a] = [mostOrders]float64{s0, s1, s2, s3, s4}
	}
}

// penalise adds the penalties that part the wavelengths, and what is expected before looking.
func (f *form) penalise(p *panel, cut float64, lhs *envelope) {
	density := f.density(p)
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
		f.penaliseSags(p, lhs)
	}
}

// density returns the weight per mm of arc that bears on each order along the station.
func (f *form) density(p *panel) (density [mostOrders]float64) {
	for i, sum := range p.rowWeight {
		s := &f.rows[i]
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

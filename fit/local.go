package fit

import "math"

// quadratic is a local polynomial of order 2 about a place.
type quadratic struct {
	c  vector6 // value, slopes and curvatures per kernel width: 1, s, t, s², st, t²
	se float64 // standard error of the value
}

// local fits a polynomial of order 2 to the residual round a place. What is expected of its size and slopes
// before looking, a standard deviation of size mm, keeps a one-sided fit from running away. Cells for which
// skip reports true are left out; skip may be nil.
func (p *panel) local(residual []float64, arc, station float64, k kernel, size float64, skip func(int) bool) quadratic {
	return p.newLocals(residual, arc, k, skip).at(station, size)
}

// locals are the local fits round the places at one arc. What a row of cells has in them does not hang on the place's
// station, and is added up once.
type locals struct {
	p        *panel
	residual []float64
	k        kernel
	skip     func(int) bool
	from, to int       // columns within reach, from the first to the one after the last
	s, bell  []float64 // their places in kernel widths and their weights; nil before they are asked for
	arc      float64
	rows     []*rowSums // nil before they are asked for
}

// rowSums are a row's weights times powers of s, the weights squared likewise, and weights and residuals.
type rowSums struct {
	lhs, noise [5]float64
	rhs        [3]float64
}

func (p *panel) newLocals(residual []float64, arc float64, k kernel, skip func(int) bool) *locals {
	return &locals{p: p, residual: residual, arc: arc, k: k, skip: skip}
}

// begin notes the columns within reach.
func (l *locals) begin() {
	p := l.p
	column := min(max(int(l.arc/p.dArc), 0), p.columns()-1)
	reach := int(3*l.k.arc/p.dArc) + 1
	run := p.runAt(column)
	l.from, l.to = max(column-reach, run[0]), min(column+reach+1, run[1])
	for _, arc := range p.arc[l.from:l.to] {
		l.s = append(l.s, (arc-l.arc)/l.k.arc)
		l.bell = append(l.bell, math.Exp(-square((arc-l.arc)/l.k.arc)/2))
	}
	l.rows = make([]*rowSums, p.rows())
}

// at returns the fit at a station.
func (l *locals) at(station, size float64) quadratic {
	if l.s == nil {
		l.begin()
	}
	n := l.gather(station)
	sa, st := l.k.arc*2*math.Pi/usualWidth, l.k.station*2*math.Pi/usualWidth
	for a, s := range (vector6{1, sa, st, sa * sa / 2, sa * st, st * st / 2}) {
		q := 1 / (s * s * size * size)
		n.lhs[a][a] += q
		n.noise[a][a] += q
	}
	if !n.lhs.factor() {
		return quadratic{se: size}
	}
	x, c := n.lhs.solve(&vector6{1}), n.lhs.solve(&n.rhs)
	return quadratic{c, math.Sqrt(math.Max(n.noise.form(&x), 0))}
}

// normal6 are the normal equations of a local fit and the covariance of their right-hand side.
type normal6 struct {
	lhs, noise matrix6
	rhs        vector6
}

// exponents are those of the six terms of a quadratic.
var exponents = [6]struct{ s, t int }{{}, {s: 1}, {t: 1}, {s: 2}, {s: 1, t: 1}, {t: 2}}

// gather puts the sums along each row, of the powers of s, together with the powers of t.
func (l *locals) gather(station float64) (n normal6) {
	var lhs, noise [5][5]float64 // by the powers of s and of t
	var rhs [3][3]float64
	for i, st := range l.p.station {
		t := (st - station) / l.k.station
		if math.Abs(t) > 3 {
			continue
		}
		if l.rows[i] == nil {
			l.rows[i] = l.sums(i)
		}
		r, row := l.rows[i], math.Exp(-t*t/2)
		powers := [5]float64{1, t, t * t, t * t * t, t * t * t * t}
		for a := range powers {
			v, v2 := row*r.lhs[a], row*row*r.noise[a]
			for b, p := range powers[:5-a] {
				lhs[a][b] += v * p
				noise[a][b] += v2 * p
			}
		}
		for a := range rhs {
			for b, p := range powers[:3-a] {
				rhs[a][b] += row * r.rhs[a] * p
			}
		}
	}
	for a, p := range exponents {
		n.rhs[a] = rhs[p.s][p.t]
		for b, q := range exponents {
			n.lhs[a][b], n.noise[a][b] = lhs[p.s+q.s][p.t+q.t], noise[p.s+q.s][p.t+q.t]
		}
	}
	return n
}

// sums adds up a row.
func (l *locals) sums(row int) *rowSums {
	r := &rowSums{}
	first := row*l.p.columns() + l.from
	for j, s := range l.s {
		c := first + j
		w := l.p.w[c]
		if w == 0 || l.skip != nil && l.skip(c) {
			continue
		}
		g := l.bell[j]
		v, v2 := g*w, g*g*w
		left := v * l.residual[c]
		r.rhs[0] += left
		r.rhs[1] += left * s
		r.rhs[2] += left * s * s
		for a := range r.lhs {
			r.lhs[a] += v
			r.noise[a] += v2
			v, v2 = v*s, v2*s
		}
	}
	return r
}

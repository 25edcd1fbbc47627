package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// spread is what a window makes of a panel's weights: their sums, and the standard errors of means for independent cells,
// infinite where too little was seen. The windows that look again and again ask for weights that differ from the last by
// the cells of a few regions, and only as far from these as the window reaches is anything worked out again.
type spread struct {
	weight, se []float64
	gone       []int // cells whose weight is left out, rising
}

// spreadOf returns what the window makes of weights: those of the panel, of which some may be left out. It must not be
// changed, and holds until the window's is asked for again with others.
func (p *panel) spreadOf(w []float64, k kernel) *spread {
	if p.spreads == nil {
		p.spreads = map[kernel]*spread{}
	}
	b, again := p.bell(k), slices.Contains(windows(true), k)
	s, whole := p.spreads[k], &w[0] == &p.w[0]
	switch {
	case s == nil || !again && !whole: // the windows that do not look again keep that of the panel
		s = p.newSpread(w, b)
		if again || whole {
			p.spreads[k] = s
		}
	case again:
		s.follow(p, w, b)
	}
	return s
}

func (p *panel) newSpread(w []float64, b bell) *spread {
	s := &spread{weight: make([]float64, len(w)), se: make([]float64, len(w)), gone: p.leftOut(w)}
	s.fill(p, w, b)
	return s
}

// fill works all out.
func (s *spread) fill(p *panel, w []float64, b bell) {
	p.room.sized(p, b)
	b2, nc := b.squared(), p.columns()
	p.bySwath(func(columns *swath) {
		columns.convolve(p, s.weight, values{v: w}, b, &p.room)
		columns.convolve(p, s.se, values{v: w}, b2, &p.room)
		for i := range p.rows() {
			s.errors(p, i*nc+columns.columns[0], i*nc+columns.columns[1])
		}
	})
}

// leftOut returns the cells of the panel that weights leave out.
func (p *panel) leftOut(w []float64) (gone []int) {
	if &w[0] == &p.w[0] {
		return nil
	}
	n := 0
	for c, v := range p.w {
		if w[c] != v {
			n++
		}
	}
	gone = make([]int, 0, n)
	for c, v := range p.w {
		if w[c] != v {
			gone = append(gone, c)
		}
	}
	return gone
}

// errors makes standard errors of variances, from one cell on and before another.
func (s *spread) errors(p *panel, from, to int) {
	limit := thinnest * p.usualSE()
	weight, se := s.weight[from:to], s.se[from:to]
	for i, v := range se {
		se[i] = math.Inf(1)
		if weight[i] > 0 {
			if e := math.Sqrt(v) / weight[i]; e < limit {
				se[i] = e
			}
		}
	}
}

// divide makes means of sums, from one cell on and before another.
func (s *spread) divide(sum []float64, from, to int) {
	sum = sum[from:to]
	floats.Div(sum, s.weight[from:to])
	for i, se := range s.se[from:to] {
		if se > math.MaxFloat64 {
			sum[i] = 0
		}
	}
}

// follow makes the spread that of other weights.
func (s *spread) follow(p *panel, w []float64, b bell) {
	const most = 0.1 // of the cells: with more that differ nearly all is to be worked out again
	gone := p.leftOut(w)
	cells := differing(s.gone, gone)
	s.gone = gone
	if len(cells) == 0 {
		return
	}
	if float64(len(cells)) > most*float64(len(w)) {
		s.fill(p, w, b)
		return
	}
	changed := p.around(cells, len(b.arc)-1)
	nc, reach, b2 := p.columns(), len(b.station)-1, b.squared()
	p.room.sized(p, b)
	p.room2.sized(p, b)
	room := make([]float64, nc+2*len(b.arc))
	changed.within(2*reach, nc, func(row, from, to int) {
		for from < to {
			run := p.runAt(from)
			end := min(to, run[1])
			p.room.alongArc(values{v: w}, row, from, end, run, b.arc, room)
			p.room2.alongArc(values{v: w}, row, from, end, run, b2.arc, room)
			from = end
		}
	})
	changed.within(reach, nc, func(row, from, to int) {
		p.room.alongStation(s.weight[row*nc+from:row*nc+to], row, from, b.station)
		p.room2.alongStation(s.se[row*nc+from:row*nc+to], row, from, b2.station)
		s.errors(p, row*nc+from, row*nc+to)
	})
}

// differing returns what is in one of two rising lists alone.
func differing(a, b []int) (out []int) {
	for len(a) > 0 && len(b) > 0 {
		switch {
		case a[0] == b[0]:
			a, b = a[1:], b[1:]
		case a[0] < b[0]:
			out, a = append(out, a[0]), a[1:]
		default:
			out, b = append(out, b[0]), b[1:]
		}
	}
	return append(append(out, a...), b...)
}

// ranges are parts of a panel's rows, each from a column on and before another.
type ranges [][][2]int

// around returns the columns within a reach of cells, which rise, in their rows and pieces of the wing.
func (p *panel) around(cells []int, reach int) (out ranges) {
	out = make(ranges, p.rows())
	nc := p.columns()
	for _, c := range cells {
		j, row := c%nc, &out[c/nc]
		run := p.runAt(j)
		from, to := max(j-reach, run[0]), min(j+reach+1, run[1])
		if last := len(*row) - 1; last >= 0 && (*row)[last][1] >= from && (*row)[last][1] > run[0] {
			(*row)[last][1] = to
		} else {
			*row = append(*row, [2]int{from, to})
		}
	}
	return out
}

// within calls visit with the parts of each row that the ranges of rows within a reach cover.
func (r ranges) within(reach, columns int, visit func(row, from, to int)) {
	more := make([]int, columns+1) // by how many more ranges a column is covered than the one before it
	count := func(row, by int) {
		if row >= 0 && row < len(r) {
			for _, c := range r[row] {
				more[c[0]] += by
				more[c[1]] -= by
			}
		}
	}
	for i := range reach {
		count(i, 1)
	}
	for i := range r {
		count(i+reach, 1)
		count(i-reach-1, -1)
		covered, from := 0, 0
		for j, by := range more {
			if covered == 0 {
				from = j
			}
			before := covered
			if covered += by; before > 0 && covered == 0 {
				visit(i, from, j)
			}
		}
	}
}

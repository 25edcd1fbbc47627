package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// spread is what a window makes of a panel's weights: their sums, and the standard errors of means for independent cells,
// infinite where too little was seen.
type spread struct {
	weight, se []float64
	// What it was worked out from is kept for the windows that look again and again: the weights that they ask for
	// next differ from the last by the cells of a few regions, and only as far from these as the window reaches is
	// anything to be worked out again.
	of          []float64 // the weights
	sum, square layer     // sums of the weights along the arc, and with the window squared
}

// spreadOf returns what the window makes of weights. It must not be changed, and holds until the window's is asked for
// again with others.
func (p *panel) spreadOf(w []float64, k kernel) *spread {
	if p.spreads == nil {
		p.spreads = map[kernel]*spread{}
	}
	b, again := p.bell(k), slices.Contains(windows(true), k)
	s, whole := p.spreads[k], &w[0] == &p.w[0]
	switch {
	case s == nil || !again && !whole:
		s = p.newSpread(w, b, again)
		if again || whole {
			p.spreads[k] = s
		}
	case again:
		s.follow(p, w, b)
	}
	return s
}

// newSpread makes a spread, which keeps what follow needs if it will be asked for again.
func (p *panel) newSpread(w []float64, b bell, again bool) *spread {
	n := len(w)
	s := &spread{weight: make([]float64, n), se: make([]float64, n)}
	sum, square := &p.room, &p.room
	if again {
		s.of, sum, square = slices.Clone(w), &s.sum, &s.square
	}
	sum.sized(p, b)
	square.sized(p, b)
	b2, nc := b.squared(), p.columns()
	p.bySwath(func(columns *swath) {
		columns.convolve(p, s.weight, values{v: w}, b, sum)
		columns.convolve(p, s.se, values{v: w}, b2, square)
		for i := range p.rows() {
			s.errors(p, i*nc+columns.columns[0], i*nc+columns.columns[1])
		}
	})
	return s
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
	nc, nr := p.columns(), p.rows()
	b2 := b.squared()
	room := make([]float64, nc+2*len(b.arc))
	changed := make([][][2]int, nr) // by row: from which column on and before which the sums along the arc did
	any := false
	for i := range nr {
		changed[i] = s.changes(p, w[i*nc:(i+1)*nc], i, len(b.arc)-1)
		for _, c := range changed[i] {
			any = true
			copy(s.of[i*nc+c[0]:i*nc+c[1]], w[i*nc+c[0]:])
		}
	}
	if !any {
		return
	}
	for i := range nr {
		for _, c := range changed[i] {
			run := p.runAt(c[0])
			s.sum.alongArc(values{v: w}, i, c[0], c[1], run, b.arc, room)
			s.square.alongArc(values{v: w}, i, c[0], c[1], run, b2.arc, room)
		}
	}
	// How many more than in the column before of the rows within the window's reach have changed in a column.
	more := make([]int, nc+1)
	count := func(row, by int) {
		if row >= 0 && row < nr {
			for _, c := range changed[row] {
				more[c[0]] += by
				more[c[1]] -= by
			}
		}
	}
	reach := len(b.station) - 1
	for i := range reach {
		count(i, 1)
	}
	for i := range nr {
		count(i+reach, 1)
		count(i-reach-1, -1)
		for j, n := 0, 0; j < nc; {
			if n += more[j]; n == 0 {
				j++
				continue
			}
			from := j
			for j++; j < nc; j++ {
				if n += more[j]; n == 0 {
					break
				}
			}
			s.sum.alongStation(s.weight[i*nc+from:i*nc+j], i, from, b.station)
			s.square.alongStation(s.se[i*nc+from:i*nc+j], i, from, b2.station)
			s.errors(p, i*nc+from, i*nc+j)
			if j < nc {
				j++ // its count is in n, which is nought
			}
		}
	}
}

// changes returns where a row's weights differ from those that the spread is of, widened by a reach within the piece.
func (s *spread) changes(p *panel, w []float64, row, reach int) (out [][2]int) {
	nc := len(w)
	of := s.of[row*nc:][:nc]
	for j := range w {
		if w[j] == of[j] {
			continue
		}
		run := p.runAt(j)
		from, to := max(j-reach, run[0]), min(j+reach+1, run[1])
		if last := len(out) - 1; last >= 0 && out[last][1] >= from && out[last][1] > run[0] {
			out[last][1] = to
		} else {
			out = append(out, [2]int{from, to})
		}
	}
	return out
}

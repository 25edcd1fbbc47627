package fit

import "tipwright/scan"

// bell is a Gaussian window by its halves along arc and station, in cells, each from its middle outward.
type bell struct{ arc, station []float64 }

func (b bell) squared() bell { return bell{squared(b.arc), squared(b.station)} }

// layer holds the sums of a panel's values along the arc alone, which are still to be summed along the station. Above and
// below it has rows of nought, as many as half a window reaches over, so that no cell needs to ask where the panel ends.
type layer struct {
	columns, pad int
	v            []float64
}

// sized makes room for a panel's sums and for what a window reaches beyond.
func (l *layer) sized(p *panel, b bell) {
	rows, columns, pad := p.rows(), p.columns(), len(b.station)
	n := (rows + 2*pad) * columns
	if cap(l.v) < n {
		widest := windows(true)
		most := max(pad, len(p.bell(widest[len(widest)-1]).station))
		l.v = make([]float64, (rows+2*most)*columns)
	}
	l.v = l.v[:n]
	l.columns, l.pad = columns, pad
	clear(l.v[:pad*columns])
	clear(l.v[(pad+rows)*columns:])
}

// start returns the index of a row's first value.
func (l *layer) start(row int) int { return (row + l.pad) * l.columns }

// values are numbers by cell, each to be taken as often as its weight says; without weights once.
type values struct{ v, weight []float64 }

// put fills out with the values from one cell on.
func (a values) put(out []float64, from int) {
	v := a.v[from : from+len(out)]
	if a.weight == nil {
		copy(out, v)
		return
	}
	w := a.weight[from : from+len(out)]
	for i, w := range w {
		out[i] = 0
		if w > 0 {
			out[i] = w * v[i]
		}
	}
}

// alongArc fills a layer's columns from one on and before another of a row, all of them of one piece of the wing, which
// runs as run says. room is to work in, as long as the columns and two windows.
func (l *layer) alongArc(a values, row, from, to int, run [2]int, half, room []float64) {
	reach := min(len(half), run[1]-run[0])
	lo, hi := max(from-reach, run[0]), min(to+reach, run[1])
	before, after := lo-(from-reach), to+reach-hi
	room = room[:to-from+2*reach]
	clear(room[:before])
	a.put(room[before:len(room)-after], row*l.columns+lo)
	clear(room[len(room)-after:])
	at := l.start(row)
	bellSums(l.v[at+from:at+to], room, reach, 1, half[:reach])
}

// alongStation fills out with the window's sums from a column of a row on.
func (l *layer) alongStation(out []float64, row, from int, half []float64) {
	bellSums(out, l.v, l.start(row)+from, l.columns, half)
}

// bellSums fills out with the sums of v from an index on under a symmetric window given by its half; the values that a
// window takes together lie stride apart.
func bellSums(out, v []float64, at, stride int, half []float64) {
	const block = 8
	if len(out) < block {
		for i := range out {
			out[i] = bellSum(v, at+i, stride, half)
		}
		return
	}
	for i := 0; i < len(out); i += block {
		i = min(i, len(out)-block) // what the last block shares with the one before comes out the same
		eightSums((*[block]float64)(out[i:]), v, at+i, stride, half)
	}
}

// bellSum is bellSums for one value.
func bellSum(v []float64, at, stride int, half []float64) float64 {
	lo, hi := at, at
	sum := half[0] * v[at]
	for half = half[1:]; len(half) > 1; half = half[2:] {
		near := half[0] * (v[lo-stride] + v[hi+stride])
		lo, hi = lo-2*stride, hi+2*stride
		sum += near + half[1]*(v[lo]+v[hi])
	}
	if len(half) > 0 {
		sum += half[0] * (v[lo-stride] + v[hi+stride])
	}
	return sum
}

// eightSums is bellSums for eight values, whose sums are not put down before they are whole.
func eightSums(out *[8]float64, v []float64, at, stride int, half []float64) {
	c, g := v[at:at+8:at+8], half[0]
	s0, s1, s2, s3, s4, s5, s6, s7 := g*c[0], g*c[1], g*c[2], g*c[3], g*c[4], g*c[5], g*c[6], g*c[7]
	lo, hi, k := at, at, 1
	for ; k+1 < len(half); k += 2 {
		g, h := half[k], half[k+1]
		lo, hi = lo-stride, hi+stride
		a, b := v[lo:lo+8:lo+8], v[hi:hi+8:hi+8]
		lo, hi = lo-stride, hi+stride
		c, d := v[lo:lo+8:lo+8], v[hi:hi+8:hi+8]
		s0 += g*(a[0]+b[0]) + h*(c[0]+d[0])
		s1 += g*(a[1]+b[1]) + h*(c[1]+d[1])
		s2 += g*(a[2]+b[2]) + h*(c[2]+d[2])
		s3 += g*(a[3]+b[3]) + h*(c[3]+d[3])
		s4 += g*(a[4]+b[4]) + h*(c[4]+d[4])
		s5 += g*(a[5]+b[5]) + h*(c[5]+d[5])
		s6 += g*(a[6]+b[6]) + h*(c[6]+d[6])
		s7 += g*(a[7]+b[7]) + h*(c[7]+d[7])
	}
	if k < len(half) {
		g := half[k]
		lo, hi = lo-stride, hi+stride
		a, b := v[lo:lo+8:lo+8], v[hi:hi+8:hi+8]
		s0 += g * (a[0] + b[0])
		s1 += g * (a[1] + b[1])
		s2 += g * (a[2] + b[2])
		s3 += g * (a[3] + b[3])
		s4 += g * (a[4] + b[4])
		s5 += g * (a[5] + b[5])
		s6 += g * (a[6] + b[6])
		s7 += g * (a[7] + b[7])
	}
	*out = [8]float64{s0, s1, s2, s3, s4, s5, s6, s7}
}

// swathWidth is how many columns one processor takes at a time: so few that what a window takes together stays at hand.
const swathWidth = 64

// swath is a range of a panel's columns, from the first to the one after the last, all of one piece.
type swath struct {
	columns, run [2]int
	room         []float64
}

// swaths parts the pieces of the wing into ranges of columns.
func swaths(runs [][2]int) (out []swath) {
	for _, run := range runs {
		for from := run[0]; from < run[1]; from += swathWidth {
			out = append(out, swath{columns: [2]int{from, min(from+swathWidth, run[1])}, run: run})
		}
	}
	return out
}

// bySwath calls work with each swath, on all processors.
func (p *panel) bySwath(work func(s *swath)) {
	scan.OnAllProcessors(len(p.swaths), func(k int) { work(&p.swaths[k]) })
}

// convolve fills a swath's columns of out with the sums of values under the product window, along the arc within its piece
// and along the station. It works in the same columns of a layer, which must be of the panel's size.
func (s *swath) convolve(p *panel, out []float64, a values, b bell, l *layer) {
	from, to, nc := s.columns[0], s.columns[1], p.columns()
	if n := to - from + 2*len(b.arc); len(s.room) < n {
		s.room = make([]float64, n)
	}
	for i := range p.rows() {
		l.alongArc(a, i, from, to, s.run, b.arc, s.room)
	}
	for i := range p.rows() {
		l.alongStation(out[i*nc+from:i*nc+to], i, from, b.station)
	}
}

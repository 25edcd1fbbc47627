package fit

import (
	"tipwright/scan"
)

// bell is a Gaussian window by its halves along arc and station, in cells, each from its middle outward.
type bell struct{ arc, station []float64 }

func (b bell) squared() bell { return bell{squared(b.arc), squared(b.station)} }

// layer holds the sums of a panel's values along the arc alone, which are still to be summed along the station. Above and
// below it has rows of nought, as many as half a window reaches over, so that no cell needs to ask where the panel ends.
type layer struct {
	columns, pad int
	v            []float64
}

// sized makes room for a panel's sums, with rows of nought beyond both ends.
func (l *layer) sized(rows, columns, pad int) {
	if n := (rows + 2*pad) * columns; cap(l.v) < n {
		l.v = make([]float64, n)
	} else {
		l.v = l.v[:n]
	}
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
// runs as run says. room is to work in, as long as the row and two windows.
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
// window takes together lie stride apart. It goes in blocks of four, whose sums need not be put down between.
func bellSums(out, v []float64, at, stride int, half []float64) {
	n := 0
	for ; n+4 <= len(out); n += 4 {
		lo, hi := at+n, at+n
		c := (*[4]float64)(v[lo:])
		g := half[0]
		s0, s1, s2, s3 := g*c[0], g*c[1], g*c[2], g*c[3]
		rest := half[1:]
		for ; len(rest) > 1; rest = rest[2:] {
			g, h := rest[0], rest[1]
			lo, hi = lo-stride, hi+stride
			a, b := (*[4]float64)(v[lo:]), (*[4]float64)(v[hi:])
			lo, hi = lo-stride, hi+stride
			c, d := (*[4]float64)(v[lo:]), (*[4]float64)(v[hi:])
			s0 += g*(a[0]+b[0]) + h*(c[0]+d[0])
			s1 += g*(a[1]+b[1]) + h*(c[1]+d[1])
			s2 += g*(a[2]+b[2]) + h*(c[2]+d[2])
			s3 += g*(a[3]+b[3]) + h*(c[3]+d[3])
		}
		if len(rest) > 0 {
			g := rest[0]
			a, b := (*[4]float64)(v[lo-stride:]), (*[4]float64)(v[hi+stride:])
			s0 += g * (a[0] + b[0])
			s1 += g * (a[1] + b[1])
			s2 += g * (a[2] + b[2])
			s3 += g * (a[3] + b[3])
		}
		o := (*[4]float64)(out[n:])
		o[0], o[1], o[2], o[3] = s0, s1, s2, s3
	}
	for ; n < len(out); n++ {
		lo, hi := at+n, at+n
		sum := half[0] * v[lo]
		rest := half[1:]
		for ; len(rest) > 1; rest = rest[2:] {
			near := rest[0] * (v[lo-stride] + v[hi+stride])
			lo, hi = lo-2*stride, hi+2*stride
			sum += near + rest[1]*(v[lo]+v[hi])
		}
		if len(rest) > 0 {
			sum += rest[0] * (v[lo-stride] + v[hi+stride])
		}
		out[n] = sum
	}
}

const (
	rowsAtOnce   = 8  // rows that one processor takes at a time,
	columnsAside = 64 // and columns of them, so that what a window takes together stays at hand
)

// convolve fills out with the sums of values under the product window, along the arc within each piece and along the
// station. It works in the given layer.
func (p *panel) convolve(out []float64, a values, b bell, l *layer) {
	nc, nr := p.columns(), p.rows()
	l.sized(nr, nc, len(b.station))
	parts := (nr + rowsAtOnce - 1) / rowsAtOnce
	scan.OnAllProcessors(parts, func(part int) {
		room := make([]float64, nc+2*len(b.arc))
		for i := part * rowsAtOnce; i < min((part+1)*rowsAtOnce, nr); i++ {
			for _, run := range p.runs {
				l.alongArc(a, i, run[0], run[1], run, b.arc, room)
			}
		}
	})
	scan.OnAllProcessors(parts, func(part int) {
		for from := 0; from < nc; from += columnsAside {
			to := min(from+columnsAside, nc)
			for i := part * rowsAtOnce; i < min((part+1)*rowsAtOnce, nr); i++ {
				l.alongStation(out[i*nc+from:i*nc+to], i, from, b.station)
			}
		}
	})
}

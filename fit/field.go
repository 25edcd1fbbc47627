package fit

import (
	"math"
)

// kernel is the width of a Gaussian window, as its standard deviation in mm along arc and station.
type kernel struct{ arc, station float64 }

// field is a smoothed copy of a panel's values: the weighted mean under a Gaussian window and its standard
// error for independent cells. Where too little was seen, mean is 0 and se infinite.
type field struct{ mean, se []float64 }

const thinnest = 0.7 // of a cell's usual standard error: a mean less certain than that rests on hardly a cell

// smooth averages v with weights w under the kernel, never across the hinge line. The standard errors hold until the same
// kernel serves other weights.
func (p *panel) smooth(v, w []float64, k kernel) field {
	return p.smoothInto(make([]float64, len(v)), v, w, k)
}

// smoothInto is smooth with room for the means.
func (p *panel) smoothInto(mean, v, w []float64, k kernel) field {
	b, s, nc := p.bell(k), p.spreadOf(w, k), p.columns()
	p.room.sized(p, b)
	p.bySwath(func(columns *swath) {
		columns.convolve(p, mean, values{v, w}, b, &p.room)
		for i := range p.rows() {
			s.divide(mean, i*nc+columns.columns[0], i*nc+columns.columns[1])
		}
	})
	return field{mean, s.se}
}

// smoothBox is smoothInto with the weights of the whole panel, for no more than the cells within some rows and columns.
func (p *panel) smoothBox(mean, v []float64, k kernel, rows, columns [2]int) field {
	b, nc := p.bell(k), p.columns()
	s, l := p.spreadOf(p.w, k), &p.room
	l.sized(p, b)
	room := make([]float64, nc+2*len(b.arc))
	reach := len(b.station) - 1
	for i := max(rows[0]-reach, 0); i < min(rows[1]+reach, p.rows()); i++ {
		for _, run := range p.runs {
			if from, to := max(columns[0], run[0]), min(columns[1], run[1]); from < to {
				l.alongArc(values{v, p.w}, i, from, to, run, b.arc, room)
			}
		}
	}
	for i := rows[0]; i < rows[1]; i++ {
		from, to := i*nc+columns[0], i*nc+columns[1]
		l.alongStation(mean[from:to], i, columns[0], b.station)
		s.divide(mean, from, to)
	}
	return field{mean, s.se}
}

// spare returns room for means that nobody keeps; it holds until the next call.
func (p *panel) spare() []float64 {
	if p.scratch == nil {
		p.scratch = make([]float64, len(p.w))
	}
	return p.scratch
}

// letGo frees what only served to be quick.
func (p *panel) letGo() {
	p.spreads, p.room, p.room2, p.scratch = nil, layer{}, layer{}, nil
}

func (p *panel) meanHeight() float64 { return p.span() / float64(p.rows()) }

// usualSE returns the median standard error of the seen cells. It is asked for first when the panel is made, before its
// room is taken up.
func (p *panel) usualSE() float64 {
	if p.usual == 0 {
		all := p.spare()[:0]
		for k, w := range p.w {
			if w > 0 {
				all = append(all, p.se[k])
			}
		}
		p.usual = median(all)
	}
	return p.usual
}

// bell returns a window's halves in cells.
func (p *panel) bell(k kernel) bell {
	return bell{gaussian(k.arc / p.dArc), gaussian(k.station / p.meanHeight())}
}

// gaussian returns the half of a Gaussian window, from its middle out to 2.6 standard deviations.
func gaussian(sigma float64) []float64 {
	g := make([]float64, int(2.6*sigma+1.5))
	for i := range g {
		t := float64(i) / sigma
		g[i] = math.Exp(-t * t / 2)
	}
	return g
}

func squared(g []float64) []float64 {
	s := make([]float64, len(g))
	for i, v := range g {
		s[i] = v * v
	}
	return s
}

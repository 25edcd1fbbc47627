package fit

import (
	"math"
	"slices"

	"tipwright/scan"
)

// kernel is the width of a Gaussian window, as its standard deviation in mm along arc and station.
type kernel struct{ arc, station float64 }

// field is a smoothed copy of a panel's values: the weighted mean under a Gaussian window and its standard
// error for independent cells. Where too little was seen, mean is 0 and se infinite.
type field struct{ mean, se []float64 }

const thinnest = 0.7 // of a cell's usual standard error: a mean less certain than that rests on hardly a cell

// smooth averages v with weights w under the kernel, never across the hinge line.
func (p *panel) smooth(v, w []float64, k kernel) field {
	arc, station := p.gaussians(k)
	f := field{mean: make([]float64, len(v))}
	for i := range v {
		if w[i] > 0 {
			f.mean[i] = w[i] * v[i]
		}
	}
	p.convolve(f.mean, arc, station)
	weight, se := p.spreadWeights(w, k, arc, station)
	for i, s := range se {
		if math.IsInf(s, 1) {
			f.mean[i] = 0
		} else {
			f.mean[i] /= weight[i]
		}
	}
	f.se = se
	return f
}

// spread is what a window makes of a panel's weights: their sums, and the standard errors of means.
type spread struct{ weight, se []float64 }

// spreadWeights returns what the window makes of weights. Those of the whole panel are asked for again and again
// and kept; they must not be changed.
func (p *panel) spreadWeights(w []float64, k kernel, arc, station []float64) (weight, se []float64) {
	whole := &w[0] == &p.w[0]
	if kept, ok := p.spreads[k]; ok && whole {
		return kept.weight, kept.se
	}
	weight, se = slices.Clone(w), slices.Clone(w)
	p.convolve(weight, arc, station)
	p.convolve(se, squared(arc), squared(station))
	limit := thinnest * p.usualSE()
	for i, v := range se {
		se[i] = math.Inf(1)
		if weight[i] > 0 {
			if s := math.Sqrt(v) / weight[i]; s < limit {
				se[i] = s
			}
		}
	}
	if whole {
		if p.spreads == nil {
			p.spreads = map[kernel]spread{}
		}
		p.spreads[k] = spread{weight, se}
	}
	return weight, se
}

func (p *panel) meanHeight() float64 { return p.span() / float64(p.rows()) }

// usualSE returns the median standard error of the seen cells.
func (p *panel) usualSE() float64 {
	if p.usual == 0 {
		var all []float64
		for k, w := range p.w {
			if w > 0 {
				all = append(all, p.se[k])
			}
		}
		p.usual = median(all)
	}
	return p.usual
}

// gaussians returns the halves of a window along arc and station, in cells.
func (p *panel) gaussians(k kernel) (arc, station []float64) {
	return gaussian(k.arc / p.dArc), gaussian(k.station / p.meanHeight())
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

// convolve replaces a by its sums under the product window, along the arc within each piece and along the
// station. It works in the panel's room: one at a time.
func (p *panel) convolve(a, arc, station []float64) {
	nc, nr := p.columns(), p.rows()
	if len(p.room) != len(a) {
		p.room = make([]float64, len(a))
	}
	out := p.room
	parts := (nr + rowsAtOnce - 1) / rowsAtOnce
	scan.OnAllProcessors(parts, func(part int) {
		padded := make([]float64, nc+2*len(arc))
		for i := part * rowsAtOnce; i < min((part+1)*rowsAtOnce, nr); i++ {
			for from := 0; from < nc; {
				to := from
				for to < nc && p.piece[to] == p.piece[from] {
					to++
				}
				spreadLine(out[i*nc+from:i*nc+to], a[i*nc+from:i*nc+to], arc, padded)
				from = to
			}
		}
	})
	nought := make([]float64, nc)
	line := func(i int) []float64 {
		if i < 0 || i >= nr {
			return nought
		}
		return out[i*nc : (i+1)*nc]
	}
	scan.OnAllProcessors(parts, func(part int) {
		for i := part * rowsAtOnce; i < min((part+1)*rowsAtOnce, nr); i++ {
			sum := a[i*nc : (i+1)*nc]
			scaled(sum, line(i), station[0])
			for d := 1; d < len(station) && (i >= d || i+d < nr); d += 2 {
				g := 0.0
				if d+1 < len(station) {
					g = station[d+1]
				}
				addPairs(sum, line(i-d), line(i+d), station[d], line(i-d-1), line(i+d+1), g)
			}
		}
	})
}

// rowsAtOnce is how many rows one processor takes at a time.
const rowsAtOnce = 8

// spreadLine fills out with the sums of v under a symmetric window given by its half. padded is room to work in.
func spreadLine(out, v, window, padded []float64) {
	r, n := len(window), len(v)
	clear(padded[:r])
	copy(padded[r:], v)
	clear(padded[r+n : n+2*r])
	scaled(out, v, window[0])
	for d := 1; d < r && d < n; d += 2 {
		g := 0.0
		if d+1 < r {
			g = window[d+1]
		}
		addPairs(out, padded[r-d:], padded[r+d:], window[d], padded[r-d-1:], padded[r+d+1:], g)
	}
}

// scaled fills out with g·v.
func scaled(out, v []float64, g float64) {
	v = v[:len(out)]
	for i := range out {
		out[i] = g * v[i]
	}
}

// addPairs adds g·(a+b) + h·(c+d) to out.
func addPairs(out, a, b []float64, g float64, c, d []float64, h float64) {
	a, b, c, d = a[:len(out)], b[:len(out)], c[:len(out)], d[:len(out)]
	for i := range out {
		out[i] += g*(a[i]+b[i]) + h*(c[i]+d[i])
	}
}

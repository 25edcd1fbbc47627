package fit

import "math"

// kernel is the width of a Gaussian window, as its standard deviation in mm along arc and station.
type kernel struct{ arc, station float64 }

// field is a smoothed copy of a panel's values: the weighted mean under a Gaussian window and its standard
// error for independent cells. Where too little was seen, mean is 0 and se infinite.
type field struct{ mean, se []float64 }

const thinnest = 0.7 // of a cell's usual standard error: a mean less certain than that rests on hardly a cell

// smooth averages v with weights w under the kernel, never across the hinge line.
func (p *panel) smooth(v, w []float64, k kernel) field {
	n := len(v)
	wv, ww := make([]float64, n), make([]float64, n)
	for i := range v {
		if w[i] > 0 {
			wv[i] = w[i] * v[i]
		}
	}
	copy(ww, w)
	w2 := append([]float64(nil), w...)
	arc, station := gaussian(k.arc/p.dArc), gaussian(k.station/p.meanHeight())
	for _, a := range [][]float64{wv, ww} {
		p.convolve(a, arc, station)
	}
	p.convolve(w2, squared(arc), squared(station))
	f := field{wv, make([]float64, n)}
	limit := thinnest * p.usualSE()
	for i := range n {
		f.se[i] = math.Inf(1)
		if ww[i] > 0 {
			f.se[i] = math.Sqrt(w2[i]) / ww[i]
			f.mean[i] = wv[i] / ww[i]
		}
		if !(f.se[i] < limit) {
			f.mean[i], f.se[i] = 0, math.Inf(1)
		}
	}
	return f
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
// station.
func (p *panel) convolve(a, arc, station []float64) {
	nc, nr := p.columns(), p.rows()
	out := make([]float64, len(a))
	for i := range nr {
		for from := 0; from < nc; {
			to := from
			for to < nc && p.piece[to] == p.piece[from] {
				to++
			}
			spreadLine(out[i*nc+from:i*nc+to], a[i*nc+from:i*nc+to], arc)
			from = to
		}
	}
	clear(a)
	for i := range nr {
		for l := max(i-len(station)+1, 0); l <= min(i+len(station)-1, nr-1); l++ {
			addScaled(a[i*nc:(i+1)*nc], out[l*nc:(l+1)*nc], station[max(i-l, l-i)])
		}
	}
}

// spreadLine adds to out the sums of v under a symmetric window given by its half.
func spreadLine(out, v, window []float64) {
	addScaled(out, v, window[0])
	for d := 1; d < len(window) && d < len(v); d++ {
		addScaled(out[d:], v[:len(v)-d], window[d])
		addScaled(out[:len(v)-d], v[d:], window[d])
	}
}

// addScaled adds g·v to out.
func addScaled(out, v []float64, g float64) {
	out = out[:len(v)]
	for i, x := range v {
		out[i] += g * x
	}
}

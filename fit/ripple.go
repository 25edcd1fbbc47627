package fit

import (
	"math"

	"tipwright/scan"
)

// A skin may ripple along the chord, its crests running along the span: sheet over close stringers, or a mould's. Each
// crest and hollow would be a spot as long as the span. A wave that is alike at all stations and comes back several times
// is taken for the wing's form, as a sag between ribs is; the long waves are left to the form's spline.
const (
	rippleWindow = 60.0 // mm, standard deviation of the Gaussian that long waves are parted with, applied twice
	rippleLeast  = 0.10 // mm rms that make a ripple
	rippleAlike  = 0.7  // correlation of the three bands of stations with each other, at least
	rippleTurns  = 6    // times that it goes from crest to hollow or back ...
	rippleEven   = 0.4  // ... of the highest, by at least so much either way
	rippleBands  = 3
	rippleNose   = 0.02 // chords of arc from the leading edge from which on a ripple grows to its height
	unevenShare  = 0.45 // of a surface within the band, and
	unevenFew    = 3    // low and as many high ones: regions that take up more are an uneven skin
	rippleFew    = 20   // columns that tell
)

// ripple is a wave of a surface along the chord, the same at all stations.
type ripple struct {
	side   int
	first  int       // column of the panel
	height []float64 // mm at each column from there on
	rms    float64   // mm
	length float64   // mm from crest to crest
}

// takeRipples looks for ripples and takes them from the departures; the form gives them back.
func (p *panel) takeRipples() {
	nc := p.columns()
	var sides [2]ripple
	var ok [2]bool
	scan.OnAllProcessors(len(sides), func(side int) { sides[side], ok[side] = p.ripple(side) })
	for side := range sides {
		if !ok[side] {
			continue
		}
		r := sides[side]
		for k := range p.y {
			if j := k%nc - r.first; p.w[k] > 0 && j >= 0 && j < len(r.height) {
				p.y[k] -= r.height[j]
			}
		}
		p.laps.ripples = append(p.laps.ripples, r)
	}
}

// at returns how high a ripple stands at an arc, mm, on columns of the given width.
func (r *ripple) at(arc, column float64) float64 {
	x := arc/column - 0.5 - float64(r.first)
	j := int(math.Floor(x))
	if j < 0 || j+1 >= len(r.height) {
		return 0
	}
	return r.height[j] + (x-float64(j))*(r.height[j+1]-r.height[j])
}

// ripple returns a surface's ripple, if it has one.
func (p *panel) ripple(side int) (r ripple, ok bool) {
	first, last := p.columnsFrom(side, lapNose)
	if last-first < rippleFew {
		return r, false
	}
	var bands [rippleBands][]float64
	for b := range bands {
		if bands[b], ok = p.shortWaves(first, last, b*p.rows()/rippleBands, (b+1)*p.rows()/rippleBands); !ok {
			return r, false
		}
		for before := range b {
			if alike(bands[before], bands[b]) < rippleAlike {
				return r, false
			}
		}
	}
	r = ripple{side: side, first: first}
	r.height, _ = p.shortWaves(first, last, 0, p.rows())
	turns, before, most := 0, 0.0, 0.0
	for _, h := range r.height {
		r.rms += h * h / float64(len(r.height))
		most = math.Max(most, math.Abs(h))
	}
	r.rms = math.Sqrt(r.rms)
	for _, h := range r.height {
		if math.Abs(h) > rippleEven*most { // one hollow has weak crests beside it
			if h*before < 0 {
				turns++
			}
			before = h
		}
	}
	r.length = 2 * float64(len(r.height)) * p.dArc / float64(max(turns, 1))
	ok = r.rms > rippleLeast && turns >= rippleTurns
	r.first, last = p.columnsFrom(side, rippleNose)
	r.height, _ = p.shortWaves(r.first, last, 0, p.rows())
	for j := range r.height {
		off := math.Abs(p.arc[r.first+j]-p.nose) / p.chord
		r.height[j] *= math.Min((off-rippleNose)/(lapNose-rippleNose), 1)
	}
	return r, ok
}

// columnsFrom returns the first and the last column of a surface that lie so many chords of arc from the leading edge, and
// off the tail.
func (p *panel) columnsFrom(side int, nose float64) (first, last int) {
	first, last = -1, -1
	for j, arc := range p.arc {
		if (arc > p.nose) == (side == 1) && math.Abs(arc-p.nose) > nose*p.chord && math.Min(arc, p.length-arc) > lapEnds {
			if first < 0 {
				first = j
			}
			last = j
		}
	}
	return first, last
}

// shortWaves returns the middle of some rows at each of some columns, without its long waves, mm; it reports false where
// too little was seen.
func (p *panel) shortWaves(first, last, from, to int) ([]float64, bool) {
	middle, weight := make([]float64, last-first+1), make([]float64, last-first+1)
	seen := 0
	column := make([]float64, 0, to-from)
	for j := range middle {
		all := column[:0]
		for i := from; i < to; i++ {
			if k := i*p.columns() + first + j; p.w[k] > 0 {
				all = append(all, p.y[k])
			}
		}
		if len(all) > 0 {
			middle[j], weight[j] = median(all), 1
			seen++
		}
	}
	n := len(middle)
	bell := make([]float64, 2*n-1) // of places apart, from 1-n to n-1
	for k := range n {
		bell[n-1+k] = math.Exp(-square(float64(k)*p.dArc/rippleWindow) / 2)
		bell[n-1-k] = bell[n-1+k]
	}
	long := make([]float64, n)
	for range 2 {
		longWaves(long, middle, weight, bell)
		for j := range middle {
			middle[j] = weight[j] * (middle[j] - long[j])
		}
	}
	return middle, float64(seen) > lapShare*float64(len(middle))
}

// longWaves fills long with the means of v under a bell about each place, two places at a time.
func longWaves(long, v, weight, bell []float64) {
	n := len(v)
	weight = weight[:n]
	for j := 0; j < n; j += 2 {
		at, beside := bell[n-1-j:], bell[max(n-2-j, 0):]
		at, beside = at[:n], beside[:n]
		var sum, all, sum2, all2 float64
		for k, x := range v {
			g, g2 := weight[k]*at[k], weight[k]*beside[k]
			sum, all = sum+g*x, all+g
			sum2, all2 = sum2+g2*x, all2+g2
		}
		long[j] = sum / math.Max(all, math.SmallestNonzeroFloat64)
		if j+1 < n {
			long[j+1] = sum2 / math.Max(all2, math.SmallestNonzeroFloat64)
		}
	}
}

// alike returns the correlation of two rows of values about zero.
func alike(a, b []float64) float64 {
	var aa, ab, bb float64
	for i := range a {
		aa, ab, bb = aa+a[i]*a[i], ab+a[i]*b[i], bb+b[i]*b[i]
	}
	if aa*bb == 0 {
		return 0
	}
	return ab / math.Sqrt(aa*bb)
}

// tellRipples tells each ripple with its height and its length.
func (w *work) tellRipples() {
	for _, r := range w.panel.laps.ripples {
		w.say(scan.Cautionf("skin-rippled", "The %s skin ripples along the chord, alike over the whole span: up and down by about %.1f mm, from crest to crest about %.0f mm. That is taken for the wing's form, not for low and high spots, and the template follows it: see that it fits the crests before you cut.",
			[...]Surface{Upper, Lower}[r.side], 2*math.Sqrt2*r.rms, r.length))
	}
}

// tellUneven says of each surface whether so much of it stands off that the skin is uneven rather than good with spots.
func (w *work) tellUneven() {
	var low, high [2]int
	var taken, seen [2]float64
	p := w.panel
	lowest, highest := [2]float64{}, [2]float64{}
	for k, weight := range p.w {
		if weight > 0 && p.station[k/p.columns()] <= w.opt.Band {
			seen[w.parted.form.side(p.arc[k%p.columns()])]++
		}
	}
	for i := range w.parted.found.regions {
		g := &w.parted.found.regions[i]
		if !p.inBand(g, w.opt.Band) || marked(g, w.covered) > coveredMost {
			continue
		}
		side := w.parted.form.side(p.arc[g.cells[0]%p.columns()])
		for _, c := range g.cells {
			if p.w[c] > 0 && p.station[c/p.columns()] <= w.opt.Band {
				taken[side]++
			}
		}
		if g.sign < 0 {
			low[side]++
			lowest[side] = math.Max(lowest[side], g.depth)
		} else {
			high[side]++
			highest[side] = math.Max(highest[side], g.depth)
		}
	}
	for side, surface := range [...]Surface{Upper, Lower} {
		if min(low[side], high[side]) >= unevenFew && taken[side] > unevenShare*seen[side] {
			w.say(scan.Cautionf("skin-uneven", "Over %.0f %% of the %s skin within the filler band %s and %s lie side by side, down to %.1f mm and up to %.1f mm: the skin ripples as a whole. The single spots, and the form between them, then mean little; look at the map, and fair the skin before you scan it again for a template.",
				100*taken[side]/seen[side], surface, count(low[side], "low place"), count(high[side], "high place"), lowest[side], highest[side]))
		}
	}
}

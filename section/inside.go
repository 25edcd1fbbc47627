package section

import (
	"fmt"
	"math"
	"slices"

	"tipwright/scan"
)

// The inside of the skin. Through the open end of a panel a scanner sees the inside of the skin too, a skin's thickness
// below the outside, and the more of it the nearer to the rim. Where that is little more than the noise, the points do
// not part into two: they scatter wider and to one side. What they would scatter without it is seen farther in, so that
// near the rim the two can be told apart as a mixture of two such scatters, a gap apart. Noise that is merely larger
// there is told from it by its form.

const (
	insideRows      = 2    // of the map in a ring of skin that is looked at together
	insideReach     = 300  // mm from the end within which the inside may be seen ...
	insideReference = 250  // ... and mm beyond that show how points scatter on the outside
	insideBands     = 8    // of the arc in each ring
	insideRim       = 4    // rings at the rim that tell whether the inside is seen
	insideWider     = 1.05 // times the scatter farther in that points at the rim must have
	insideOdds      = 20.0 // by which the logarithm of the likelihood must be larger for it than for larger noise ...
	insideMaybe     = 5.0  // ... and from which on it may be either
	insideParted    = 1.3  // times the scatter farther in from which on the two are looked for one apart from the other
	leastParted     = 20   // cells of which the inside was left out
	insidePoints    = 2000 // that the rim, and twice as many that the reference must have
	leastRing       = 150  // points of a part of a ring that tell by themselves
	leastInside     = 0.08 // mm by which the outside must lie farther out than was measured
	thinnestSkin    = 0.3  // mm
	thickestSkin    = 4.0  // mm
	insideBin       = 0.2  // standard deviations of the noise in a bin ...
	leastInsideBin  = 0.02 // ... and mm, at least
	mostInside      = 0.85 // share of the points that may lie on the inside
	insideDoubt     = 0.15 // share of what is added that it may be wrong by, at one standard deviation (judged from simulated skins of 0.6 to 1.5 mm)
)

// inside is what a map shows of the inside of the skin.
type inside struct {
	gap    float64 // mm below the outside; 0: it is not seen
	reach  float64 // mm from the end within which it is seen
	most   float64 // mm by which the outside lies farther out than the mean of all points, in the ring where it is most
	u      float64 // mm, the standard uncertainty of that
	maybe  bool    // it may be larger noise
	parted bool    // it lies so deep that its points could be left out
}

// scatter counts points by their distance from the block's median.
type scatter struct {
	width float64 // of a bin, mm
	count []float64
	n     float64
}

func newScatter(width float64) *scatter {
	return &scatter{width: width, count: make([]float64, 2*int(math.Ceil((thickestSkin+0.5)/width)+30)+1)}
}

func (s *scatter) add(d float64) {
	if k := int(math.Round(d/s.width)) + len(s.count)/2; k >= 0 && k < len(s.count) {
		s.count[k]++
		s.n++
	}
}

// gather adds the points of some cells.
func (s *scatter) gather(m *Map, some rowsOf, middle []float64, top, bottom, left, right int) {
	for i := top; i < min(bottom, len(m.Station)); i++ {
		for j := left; j < right; j++ {
			if k := i*len(m.Arc) + j; !math.IsNaN(middle[k]) {
				for _, d := range some.columns(i, j, j) {
					s.add(float64(d) - middle[k])
				}
			}
		}
	}
}

// within returns half the width of the interval about the middle that holds half of the points, mm.
func (s *scatter) within() float64 {
	at := func(share float64) float64 {
		sum := 0.0
		for k, n := range s.count {
			if sum+n >= share*s.n && n > 0 {
				return (float64(k) + (share*s.n-sum)/n) * s.width
			}
			sum += n
		}
		return math.Inf(1)
	}
	return (at(0.75) - at(0.25)) / 2
}

// density returns the share of points in each bin, smoothed, and no bin without any.
func (s *scatter) density() *scatter {
	d := &scatter{s.width, make([]float64, len(s.count)), 1}
	for k := range d.count {
		sum := 0.0
		for o, w := range [5]float64{1, 4, 6, 4, 1} {
			if at := k + o - 2; at >= 0 && at < len(s.count) {
				sum += w / 16 * s.count[at]
			}
		}
		d.count[k] = (sum + 0.2) / (s.n + 0.2*float64(len(d.count)))
	}
	return d
}

// at returns the density about bin k of the distribution moved outward by shift mm and widened by times.
func (s *scatter) at(k int, shift, times float64) float64 {
	mid := float64(len(s.count) / 2)
	x := (float64(k)-mid-shift/s.width)/times + mid
	i := int(math.Floor(x))
	if i < 0 || i+1 >= len(s.count) {
		return s.count[0] / times
	}
	t := x - float64(i)
	return (s.count[i]*(1-t) + s.count[i+1]*t) / times
}

// wider returns the logarithm of the likelihood of points that scatter as the reference does, only wider.
func (s *scatter) wider(ref *scatter) float64 {
	best := math.Inf(-1)
	for times := 1.0; times < 2.5; times *= 1.04 {
		for o := -4; o <= 4; o++ {
			sum := 0.0
			for k, n := range s.count {
				if n > 0 {
					sum += n * math.Log(ref.at(k, float64(o)*s.width/2, times))
				}
			}
			best = max(best, sum)
		}
	}
	return best
}

// layers is where the outside lies by a mixture of two scatters.
type layers struct {
	at, u float64 // mm from the block's median
	odds  float64 // logarithm of the likelihood
}

// mixed returns the likeliest mixture of two scatters that are gap mm apart.
func (s *scatter) mixed(ref *scatter, gap float64) layers {
	best := layers{odds: math.Inf(-1)}
	step := s.width / 2
	var odds, places []float64
	for at := -4 * step; at <= gap+4*step; at += step {
		o := s.shared(ref, at, gap)
		odds, places = append(odds, o), append(places, at)
		if o > best.odds {
			best.at, best.odds = at, o
		}
	}
	// The mean and the spread of the place, weighed by its likelihood.
	var sw, sx, sxx float64
	for i, o := range odds {
		w := math.Exp(o - best.odds)
		sw, sx, sxx = sw+w, sx+w*places[i], sxx+w*places[i]*places[i]
	}
	best.at = sx / sw
	best.u = math.Sqrt(math.Max(sxx/sw-best.at*best.at, step*step/12))
	return best
}

// shared returns the logarithm of the likelihood with the share on the inside that makes it largest.
func (s *scatter) shared(ref *scatter, at, gap float64) float64 {
	outer, inner := make([]float64, 0, len(s.count)), make([]float64, 0, len(s.count))
	counts := make([]float64, 0, len(s.count))
	for k, n := range s.count {
		if n > 0 {
			outer, inner, counts = append(outer, ref.at(k, at, 1)), append(inner, ref.at(k, at-gap, 1)), append(counts, n)
		}
	}
	slope := func(f float64) (sum float64) {
		for i, n := range counts {
			sum += n * (inner[i] - outer[i]) / (outer[i] + f*(inner[i]-outer[i]))
		}
		return sum
	}
	low, high := 0.0, mostInside // the likelihood has one summit
	for range 10 {
		if mid := (low + high) / 2; slope(mid) > 0 {
			low = mid
		} else {
			high = mid
		}
	}
	f, sum := (low+high)/2, 0.0
	if low == 0 {
		f = 0
	}
	for i, n := range counts {
		sum += n * math.Log(outer[i]+f*(inner[i]-outer[i]))
	}
	return sum
}

// skinGap asks the rim whether the inside is seen, and how far below the outside; 0 where it is not. maybe says that
// larger noise would explain the points nearly as well.
func skinGap(rings []*scatter, ref *scatter) (gap float64, maybe bool) {
	null := 0.0
	for _, s := range rings {
		null += s.wider(ref)
	}
	best := null + insideMaybe
	for g := thinnestSkin; g <= thickestSkin; g *= 1.1 {
		sum := 0.0
		for _, s := range rings {
			sum += s.mixed(ref, g).odds
		}
		if sum > best {
			best, gap = sum, g
		}
	}
	return gap, best < null+insideOdds
}

// lookInside looks for the inside of the skin near the end and moves the cells there out to the outside.
func (m *Map) lookInside(some rowsOf, middle []float64, noise float64) {
	*m.inside = inside{}
	rings := int(insideReach / stationStep / insideRows)
	first := rings * insideRows
	width := math.Max(insideBin*noise, leastInsideBin)
	ref := newScatter(width)
	ref.gather(m, some, middle, first, first+int(insideReference/stationStep), 0, len(m.Arc))
	rim := newScatter(width)
	rim.gather(m, some, middle, 0, insideRim*insideRows, 0, len(m.Arc))
	if rim.n < insidePoints || ref.n < 2*insidePoints || rim.within() < insideWider*ref.within() {
		return
	}
	whole := make([]*scatter, rings)
	for r := range whole {
		whole[r] = newScatter(width)
		whole[r].gather(m, some, middle, r*insideRows, (r+1)*insideRows, 0, len(m.Arc))
	}
	kernel := ref.density()
	gap, maybe := skinGap(whole[:insideRim], kernel)
	if gap == 0 {
		if rim.within() > insideParted*ref.within() {
			m.part(some, middle, noise, first)
		}
		return
	}
	m.inside.gap, m.inside.maybe = gap, maybe
	var shift [][insideBands]layers
	for r, s := range whole {
		all, ring := m.ring(some, middle, s, kernel, r)
		if s.n < leastRing || all.at < math.Max(leastInside/4, all.u) {
			break
		}
		if maybe {
			for b := range ring {
				ring[b] = ring[b].halved()
			}
			all = all.halved()
		}
		shift = append(shift, ring)
		if all.at > m.inside.most {
			m.inside.most, m.inside.u = all.at, math.Hypot(all.u, insideDoubt*all.at)
		}
	}
	if m.inside.most < leastInside {
		*m.inside = inside{}
		return
	}
	m.inside.reach = float64(len(shift)*insideRows) * stationStep
	m.moveOut(shift)
}

// ring returns how far the outside lies from the mean of the cells of a ring, whose points are s, and of its parts.
func (m *Map) ring(some rowsOf, middle []float64, s, kernel *scatter, r int) (all layers, parts [insideBands]layers) {
	all = m.outside(s, kernel, m.inside.gap, middle, r, 0, len(m.Arc))
	for b := range parts {
		left, right := b*len(m.Arc)/insideBands, (b+1)*len(m.Arc)/insideBands
		part := newScatter(s.width)
		part.gather(m, some, middle, r*insideRows, (r+1)*insideRows, left, right)
		if parts[b] = all; part.n >= leastRing {
			parts[b] = m.outside(part, kernel, m.inside.gap, middle, r, left, right).near(all)
		}
	}
	return all, parts
}

// outside returns how far the outside lies from the mean of the cells of part of a ring.
func (m *Map) outside(s, kernel *scatter, gap float64, middle []float64, ring, left, right int) layers {
	l := s.mixed(kernel, gap)
	sum, n := 0.0, 0.0
	for i := ring * insideRows; i < min((ring+1)*insideRows, len(m.Station)); i++ {
		for j := left; j < right; j++ {
			if c := m.At(i, j); c.N > 0 {
				sum, n = sum+float64(c.N)*(c.Departure-middle[i*len(m.Arc)+j]), n+float64(c.N)
			}
		}
	}
	l.at -= sum / math.Max(n, 1)
	return l
}

// near draws what part of a ring tells towards what the whole does: an inside is seen much alike all round.
func (l layers) near(all layers) layers {
	const alike = 0.3 // of what the whole ring tells, one standard deviation (judged)
	w, v := 1/(l.u*l.u), 1/(alike*alike*all.at*all.at+all.u*all.u)
	return layers{at: (w*l.at + v*all.at) / (w + v), u: 1 / math.Sqrt(w+v)}
}

// halved lies midway between the outside and what was measured, and is as uncertain as either may be true.
func (l layers) halved() layers { return layers{at: l.at / 2, u: math.Hypot(l.u, l.at/2)} }

// part measures the outside alone in those blocks near the end that show two depths, where enough do.
func (m *Map) part(some rowsOf, middle []float64, noise float64, rows int) {
	var block []float32
	var v, gaps []float64
	upper := map[int]float64{}
	last := 0
	for i := range min(rows, len(m.Station)) {
		for j := range m.Arc {
			block, v = m.block(some, i, j, block[:0]), v[:0]
			for _, d := range block {
				v = append(v, float64(d))
			}
			if len(v) < leastTile {
				continue
			}
			if gap, between, _ := twoDepths(v); gap > 0 {
				from, _ := slices.BinarySearch(v, between)
				upper[i*len(m.Arc)+j], last = v[from+(len(v)-from)/2], i+1
				gaps = append(gaps, gap)
			}
		}
	}
	if len(upper) < leastParted {
		return
	}
	for k, at := range upper {
		i, j := k/len(m.Arc), k%len(m.Arc)
		middle[k], m.Cells[k] = at, biweightMean(some.columns(i, j, j), at, noise, noise)
	}
	*m.inside = inside{gap: median(gaps), reach: float64(last) * stationStep, parted: true}
}

// moveOut moves the cells of the rings outward. The cells of a part of a ring err together in it, which their standard
// errors, taken as independent, only say where they are widened by the root of their number.
func (m *Map) moveOut(shift [][insideBands]layers) {
	columns := float64(len(m.Arc)) / insideBands
	for i := range min(len(shift)*insideRows, len(m.Station)) {
		r, t := share((float64(i)+0.5)/insideRows-0.5, len(shift))
		for j := range m.Arc {
			c := m.At(i, j)
			if c.N == 0 {
				continue
			}
			b, s := share((float64(j)+0.5)/columns-0.5, insideBands)
			out := func(of func(layers) float64) float64 {
				return (1-t)*((1-s)*of(shift[r][b])+s*of(shift[r][min(b+1, insideBands-1)])) +
					t*((1-s)*of(shift[min(r+1, len(shift)-1)][b])+s*of(shift[min(r+1, len(shift)-1)][min(b+1, insideBands-1)]))
			}
			at := out(func(l layers) float64 { return l.at })
			u := math.Hypot(out(func(l layers) float64 { return l.u }), insideDoubt*at)
			c.Departure += at
			c.SE = math.Hypot(c.SE, u*math.Sqrt(insideRows*columns))
		}
	}
}

// share returns the last of n places that lies at or before x, and how far x lies from it towards the next.
func share(x float64, n int) (k int, t float64) {
	x = math.Min(math.Max(x, 0), float64(n-1))
	k = int(x)
	return k, x - float64(k)
}

// checkInside warns of a skin whose inside was seen.
func (w *work) checkInside(s inside) {
	if s.gap == 0 {
		return
	}
	does := "The mean of both lies below the outside; the outline was moved out"
	seen := fmt.Sprintf("Within %.0f mm of the open end the scan shows the inside of the skin too, about %.1f mm below the outside.", s.reach, s.gap)
	switch {
	case s.parted:
		does = "Where the two could be told apart the inside was left out; where it hides in the noise of the outside the outline may still be too small."
	case s.maybe:
		seen = fmt.Sprintf("Within %.0f mm of the open end the points scatter wider than farther in: the scan may show the inside of the skin too, about %.1f mm below the outside, or the noise is larger there.", s.reach, s.gap)
		fallthrough
	default:
		does = fmt.Sprintf("%s, by up to %.2f mm, which is known to about %.2f mm.", does, s.most, 2*s.u)
	}
	w.say(scan.Cautionf("inside-seen", "%s %s Cover the open end and scan again, or delete what was seen of the inside, before you cut.", seen, does))
}

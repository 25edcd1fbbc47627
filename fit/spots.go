package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

const (
	limitWidth   = 100.0 // mm across of the spot that the detection limit is told for
	limitFound   = 1.645 // standard errors above the threshold: a spot that deep is found 19 times in 20
	edgeShare    = 0.1   // of the depth: where a spot's edge is drawn
	peakShare    = 0.13  // of the smaller width: kernel of the fit at the deepest point
	volumeShare  = 0.02  // of a volume: what the choice of its edge leaves in doubt
	bandOverhang = 0.0   // mm
)

// fineKernel draws edges and finds deepest points.
func fineKernel() kernel { return kernel{10, 10} }

// surveyor measures the regions of one panel.
type surveyor struct {
	*parted
	p     *panel
	c     *contour
	loft  *section.Loft
	fine  field
	widen float64 // how much wider the fine window's means scatter than independent cells would
	limit float64 // mm, detection limit
}

func newSurveyor(out *parted, p *panel, c *contour, l *section.Loft) *surveyor {
	s := &surveyor{parted: out, p: p, c: c, loft: l, fine: p.smooth(out.residual, p.w, fineKernel())}
	s.widen = (out.found.widen[0] + out.found.widen[1]) / 2
	return s
}

// detectionLimit returns how deep a spot of the usual width must be to be found 19 times in 20 where the
// skin within the band was seen as well as it usually was.
func (s *surveyor) detectionLimit(band float64) float64 {
	best := math.Inf(1)
	for i, k := range windows() {
		f := s.p.smooth(s.residual, s.p.w, k)
		var se []float64
		for c, v := range f.se {
			if !math.IsInf(v, 1) && s.p.station[c/s.p.columns()] <= math.Max(band, s.p.station[0]) {
				se = append(se, math.Hypot(s.found.widen[i]*v, s.uForm[c]))
			}
		}
		if len(se) == 0 {
			continue
		}
		m := median(se)
		best = math.Min(best, math.Max((seedSigma+limitFound)*m, seedFloor+limitFound*m)/gain(k, limitWidth))
	}
	return best
}

// gain returns what a window makes of the depth of a cosine dent of the given width.
func gain(k kernel, width float64) float64 {
	var sum, all float64
	const steps = 24
	for i := -steps; i <= steps; i++ {
		for j := -steps; j <= steps; j++ {
			a, b := 3*k.arc*float64(i)/steps, 3*k.station*float64(j)/steps
			g := math.Exp(-(a*a/(k.arc*k.arc) + b*b/(k.station*k.station)) / 2)
			all += g
			if r := math.Hypot(a, b); r < width/2 {
				sum += g * (1 + math.Cos(2*math.Pi*r/width)) / 2
			}
		}
	}
	return sum / all
}

// spot measures one region.
func (s *surveyor) spot(r *region) Spot {
	peak := s.deepest(r)
	depth := r.sign * s.fine.mean[peak]
	edge := s.edge(r, math.Max(edgeShare*depth, growSigma*s.widen*s.fine.se[peak]))
	length, width := extent(edge)
	arc, station, v, u := s.peak(r, peak, length, width)
	out := Spot{
		Surface: s.c.surface(arc / s.p.length),
		X:       s.c.x(s.loft, arc/s.p.length, station), Station: station,
		Length: length, Width: width, Depth: section.Measured{Value: v, U: 2 * u},
		Arc: arc, Outline: edge,
	}
	out.Area, out.Volume = s.amount(r)
	return out
}

func (s *surveyor) deepest(r *region) int {
	best := r.cells[0]
	for _, c := range r.cells {
		if r.sign*s.fine.mean[c] > r.sign*s.fine.mean[best] {
			best = c
		}
	}
	return best
}

// peak fits the deepest point by a local quadratic, moved twice to where the last one had its summit.
func (s *surveyor) peak(r *region, cell int, length, width float64) (arc, station, depth, u float64) {
	nc := s.p.columns()
	arc, station = s.p.arc[cell%nc], s.p.station[cell/nc]
	a := math.Min(math.Max(peakShare*math.Min(length, width), narrowLeast), narrowMost)
	k := kernel{a, a}
	var q quadratic
	for turn := range 3 {
		q = s.p.local(s.residual, arc, station, k, r.depth, nil)
		if turn == 2 {
			break
		}
		ds, dt := q.summit(r.sign)
		arc = math.Min(math.Max(arc+ds*k.arc, 0), s.p.length)
		station = math.Min(math.Max(station+dt*k.station, 0), s.p.span())
	}
	depth = r.sign * q.c[0]
	c := cell
	// The kernel flattens a cosine dent by that much and a flat-bottomed one not at all: half is put back.
	flatten := depth * math.Pow(2*math.Pi*a/math.Max(math.Min(length, width)/0.8, 1), 4) / 6
	u = math.Sqrt(square(s.widen*q.se) + square(s.uForm[c]) + square(flatten/2))
	return arc, station, depth + flatten/2, u
}

func square(v float64) float64 { return v * v }

// summit returns where a quadratic is greatest (sign +1) or least, in kernel widths, no farther than one.
func (q *quadratic) summit(sign float64) (s, t float64) {
	hss, hst, htt := 2*q.c[3]*sign, q.c[4]*sign, 2*q.c[5]*sign
	det := hss*htt - hst*hst
	if hss >= 0 || det <= 0 {
		return 0, 0
	}
	gs, gt := q.c[1]*sign, q.c[2]*sign
	s, t = -(htt*gs-hst*gt)/det, -(hss*gt-hst*gs)/det
	return math.Min(math.Max(s, -1), 1), math.Min(math.Max(t, -1), 1)
}

// amount returns the area deeper than the detection limit and the volume over the whole region, its rim
// included: there the cells are added up as they are, so that what lies beyond the edge of the noise is
// counted and noise averages out.
func (s *surveyor) amount(r *region) (area float64, volume section.Measured) {
	nc := s.p.columns()
	var v, noise, whole float64
	var arcs, stations, weights []float64
	for _, cells := range [][]int{r.cells, r.rim} {
		for _, c := range cells {
			a := s.p.area(c / nc)
			d := s.residual[c]
			if s.p.w[c] == 0 {
				d = s.fine.mean[c]
			} else {
				noise += square(a * s.p.se[c])
			}
			v += r.sign * d * a
			whole += a
			arcs, stations, weights = append(arcs, s.p.arc[c%nc]), append(stations, s.p.station[c/nc]), append(weights, a)
			if r.sign*s.fine.mean[c] > s.limit {
				area += a
			}
		}
	}
	for i := range weights {
		weights[i] /= whole
	}
	u := math.Sqrt(square(s.widen)*noise + square(whole*s.form.uMean(arcs, stations, weights)) + square(volumeShare*v))
	return area, section.Measured{Value: v, U: 2 * u}
}

func extent(p []r2.Vec) (length, width float64) {
	if len(p) == 0 {
		return 0, 0
	}
	lo, hi := p[0], p[0]
	for _, q := range p {
		lo = r2.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y)}
		hi = r2.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y)}
	}
	return hi.X - lo.X, hi.Y - lo.Y
}

// inBand reports whether some of a region lies in the filler band.
func (p *panel) inBand(r *region, band float64) bool {
	return slices.ContainsFunc(r.cells, func(c int) bool { return p.station[c/p.columns()] <= band })
}

// rank puts the deepest spots first.
func rank(spots []Spot) {
	slices.SortStableFunc(spots, func(a, b Spot) int { return cmp.Compare(b.Depth.Value, a.Depth.Value) })
}

package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

const (
	limitWidth = 100.0 // mm across of the spot that the detection limit is told for
	limitFound = 1.645 // standard errors above the threshold: a spot that deep is found 19 times in 20
	edgeShare  = 0.1   // of the depth: where a spot's edge is drawn
	peakShare  = 0.13  // of the smaller width: kernel of the fit at the deepest point
	peakLeast  = 6.0   // mm, the narrowest such kernel
	peakSigma  = 2.0   // standard errors by which a place must be deeper than the middle of the top to be the deepest
	topShare   = 0.85  // of the depth: what is nearly as deep
	mostFlat   = 0.1   // of the depth: what a kernel flattens or overshoots at most
	fineWidth  = 10.0  // mm, standard deviation of the window that draws edges and finds deepest points
	hidden     = 0.25  // of the depth: a summit less certain than that lies in a hole
	narrowest  = 16.0  // mm: a mark narrower than that, and steeper than skinSteepest, is no spot
)

func fineKernel() kernel { return kernel{fineWidth, fineWidth} }

// surveyor measures the regions of one panel.
type surveyor struct {
	*parted
	p         *panel
	c         *contour
	loft      *section.Loft
	fine      field
	limit     float64 // mm, detection limit
	covered   []bool  // by cell: something lies on the skin there
	fewPoints []bool  // see poor
}

func newSurveyor(out *parted, p *panel, c *contour, l *section.Loft) *surveyor {
	return &surveyor{parted: out, p: p, c: c, loft: l, fine: p.smooth(out.residual, p.w, fineKernel())}
}

// detectionLimit returns how deep a spot of the usual width must be to be found 19 times in 20 where the
// skin within the band was seen as well as it usually was.
func (s *surveyor) detectionLimit(band float64) float64 {
	best := math.Inf(1)
	for i, k := range windows(true) {
		se, all, nc := s.p.spare()[:0], s.p.spreadOf(s.p.w, k).se, s.p.columns()
		for row, st := range s.p.station {
			if st > math.Max(band, s.p.station[0]) {
				continue
			}
			for c := row * nc; c < (row+1)*nc; c++ {
				if all[c] <= math.MaxFloat64 {
					se = append(se, math.Hypot(s.found.widen[i]*all[c], s.uForm[c]))
				}
			}
		}
		if len(se) == 0 {
			continue
		}
		m := median(se)
		best = math.Min(best, math.Max((s.p.sure(k)+limitFound)*m, seedFloor+limitFound*m)/gain(k, limitWidth))
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
	deepest := s.deepest(r)
	depth := r.sign * s.fine.mean[deepest]
	level := growSigma * s.found.widening(fineWidth) * s.fine.se[deepest]
	edge := s.edge(r, math.Max(edgeShare*depth, math.Min(level, depth/2)))
	length, width := extent(edge)
	length, width = unblurred(length), unblurred(width)
	arc, station, v, u := s.peak(r, deepest, math.Min(length*s.cut(r, true), width*s.cut(r, false)))
	u = math.Hypot(u, leakDepth*s.likeForm(length, width)*v)
	if !(u >= 0) || math.IsInf(u, 0) {
		u = depth // the cells about it say nothing of their errors: nothing is known of its depth either
	}
	out := Spot{
		Surface: s.c.surface(arc / s.p.length),
		X:       s.c.x(s.loft, arc/s.p.length, station), Station: station,
		Length: length, Width: width, Depth: section.Measured{Value: v, U: 2 * u},
		Arc: arc, Outline: edge,
	}
	out.Area, out.Volume = s.amount(r, length, width, v)
	return out
}

// leastSure returns how many times its uncertainty a spot must be deep to be told. A narrow one has few cells, and there
// are many places where it could be: it must be surer.
func (s *Spot) leastSure() float64 {
	if math.Min(s.Length, s.Width) < narrowest {
		return 2
	}
	return 1
}

// narrow reports whether a region is too narrow and too steep for a spot of the skin: the edge of something, a
// seam, the corner of the tail or of the skin's end.
func (s *Spot) narrow() bool {
	across := math.Min(s.Length, s.Width)
	return across < narrowest && s.Depth.Value > skinSteepest*across
}

// unblurred takes from the extent of an edge what the fine window has added to it. The standard deviation
// of a cosine dent along one line is 0.181 of its width, that of a blurred one is the root of the sum of
// squares with the window's, and the edge is drawn at 0.8 of the width.
func unblurred(extent float64) float64 {
	const spread, drawn = 0.181, 0.8
	return drawn * math.Sqrt(math.Max(square(extent/drawn)-square(fineWidth/spread), square(extent)/4))
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

// peak fits the deepest point by a local quadratic, in the middle of what is nearly as deep: the deepest of many places is
// as deep as their noise. It is moved to where the quadratic has its summit only where that surely lies deeper. size is
// the spot's smaller width.
func (s *surveyor) peak(r *region, cell int, size float64) (arc, station, depth, u float64) {
	a := math.Min(math.Max(peakShare*size, peakLeast), narrowMost)
	k := kernel{a, a}
	arc, station = s.top(r, cell, size/2)
	q := s.p.local(s.residual, arc, station, k, r.depth, nil)
	lo, hi := s.p.box(r.cells)
	for range 2 {
		ds, dt := q.summit(r.sign)
		there := r2.Vec{X: math.Min(math.Max(arc+ds*k.arc, lo.X), hi.X), Y: math.Min(math.Max(station+dt*k.station, lo.Y), hi.Y)}
		moved := s.p.local(s.residual, there.X, there.Y, k, r.depth, nil)
		if !(r.sign*(moved.c[0]-q.c[0]) > peakSigma*s.parted.widening(a)*q.se) {
			break
		}
		arc, station, q = there.X, there.Y, moved
	}
	if q.se > hidden*r.depth {
		// The summit lies in a hole of the scan: what was seen at its rim is all that can be told.
		arc, station, q = s.atRim(r, k)
		u = hidden * r.depth
	}
	depth = r.sign * q.c[0]
	flatten, uFlatten := s.flattened(&q, r, arc, station, a, size)
	u = math.Sqrt(square(u) + square(s.parted.widening(a)*q.se) + square(s.uForm[s.p.cellAt(arc, station)]) + square(uFlatten))
	return arc, station, depth + flatten, u
}

// flattened returns how much the kernel flattens a spot at its deepest point, mm, negative where it makes it deeper: a
// cosine dent of wave number k by (k·a)⁴/6 of its depth, and one with a flat bottom and steep sides is overshot. A kernel
// twice as large in area, by the fourth power of its width four times as wrong, tells which (Richardson's
// extrapolation). A hole at the deepest point acts like a wider kernel; then half of what a cosine dent loses is put back.
func (s *surveyor) flattened(q *quadratic, r *region, arc, station, a, size float64) (by, u float64) {
	depth := r.sign * q.c[0]
	if hole := s.p.toSkin(arc, station, 100); hole > 0 {
		by = depth * math.Min(math.Pow(2*math.Pi*math.Hypot(a, hole)/(size/0.8), 4)/6, 0.3) / 2
		return by, by
	}
	wide := s.p.local(s.residual, arc, station, kernel{math.Sqrt2 * a, math.Sqrt2 * a}, r.depth, nil)
	by = (depth - r.sign*wide.c[0]) / 3
	by = math.Min(math.Max(by, -mostFlat*depth), mostFlat*depth)
	return by, by * 2 / 3
}

// top returns the middle of those cells of a region within reach of the deepest that are nearly as deep.
func (s *surveyor) top(r *region, deepest int, reach float64) (arc, station float64) {
	nc, n := s.p.columns(), 0.0
	least := topShare * r.sign * s.fine.mean[deepest]
	for _, c := range r.cells {
		a, st := s.p.arc[c%nc], s.p.station[c/nc]
		if r.sign*s.fine.mean[c] >= least && math.Hypot(a-s.p.arc[deepest%nc], st-s.p.station[deepest/nc]) <= reach {
			arc, station, n = arc+a, station+st, n+1
		}
	}
	if n == 0 {
		return s.p.arc[deepest%nc], s.p.station[deepest/nc]
	}
	return arc / n, station / n
}

// cellAt returns the cell that holds a place.
func (p *panel) cellAt(arc, station float64) int {
	row := 0
	for row+1 < p.rows() && station > p.station[row]+p.height[row]/2 {
		row++
	}
	return row*p.columns() + min(max(int(arc/p.dArc), 0), p.columns()-1)
}

// atRim fits the deepest point that was seen.
func (s *surveyor) atRim(r *region, k kernel) (arc, station float64, q quadratic) {
	nc, best := s.p.columns(), -1
	for _, c := range r.cells {
		if s.p.w[c] > 0 && (best < 0 || r.sign*s.fine.mean[c] > r.sign*s.fine.mean[best]) {
			best = c
		}
	}
	if best < 0 {
		best = r.cells[0]
	}
	arc, station = s.p.arc[best%nc], s.p.station[best/nc]
	return arc, station, s.p.local(s.residual, arc, station, k, r.depth, nil)
}

// cut returns 2 where a region is cut off by the hinge line or the tail (along the arc), or by the tip rib
// or the end of the scan (along the station), so that about half of the spot is all that is seen; else 1.
func (s *surveyor) cut(r *region, alongArc bool) float64 {
	nc := s.p.columns()
	for _, c := range r.cells {
		i, j := c/nc, c%nc
		if !alongArc && (i == 0 || i == s.p.rows()-1) {
			return 2
		}
		if alongArc && (j == 0 || j == nc-1 || s.p.piece[j-1] != s.p.piece[j] || s.p.piece[j+1] != s.p.piece[j]) {
			return 2
		}
	}
	return 1
}

// toSkin returns how far a place is from the nearest cell that was seen, mm, at most far.
func (p *panel) toSkin(arc, station, far float64) float64 {
	nc := p.columns()
	best := far
	for i, st := range p.station {
		if math.Abs(st-station) > far {
			continue
		}
		for j := max(int((arc-far)/p.dArc), 0); j <= min(int((arc+far)/p.dArc), nc-1); j++ {
			if p.w[i*nc+j] > 0 {
				d := math.Hypot(math.Max(math.Abs(p.arc[j]-arc)-p.dArc/2, 0), math.Max(math.Abs(st-station)-p.height[i]/2, 0))
				best = math.Min(best, d)
			}
		}
	}
	return best
}

// box returns the corners of the smallest box of (arc, station) that holds the cells, mm.
func (p *panel) box(cells []int) (lo, hi r2.Vec) {
	nc := p.columns()
	lo, hi = r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, c := range cells {
		i, j := c/nc, c%nc
		lo.X, hi.X = math.Min(lo.X, p.arc[j]), math.Max(hi.X, p.arc[j])
		lo.Y = math.Min(lo.Y, p.station[i]-p.height[i]/2)
		hi.Y = math.Max(hi.Y, p.station[i]+p.height[i]/2)
	}
	return lo, hi
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

func extent(p []r2.Vec) (length, width float64) {
	if len(p) == 0 {
		return 0, 0
	}
	lo, hi := corners(p)
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

package fit

import (
	"math"
	"slices"
)

// Regions that stand out of the form are found with windows of several sizes, the finest first, so that
// each region is seen at the finest size that tells it from noise and its edge is blurred least. A
// Gaussian window passes for the matched filter of a dent some four to six times as wide.
//
// The form takes a spot too shallow to stand out for its own by a quarter to a half, so that it stands out even less. So
// what nearly stands out is tried: taken out of the form as a region is, and kept as one only if then, with the form's
// uncertainty under it and noise that neighbours share counted in, it stands out surely.
const (
	falseShare = 0.001 // false regions a panel that each window may make on either side, all seven together fewer than one in fifty scans
	triedShare = 0.75  // of the standard errors that make a region: where a place stands off by as many under a window
	triedWidth = 16.0  // mm wider than that, it is tried: of narrower spots the form takes nothing
	growSigma  = 2.0   // standard errors down to which it reaches
	seedFloor  = 0.07  // mm: no window's mean below that makes a region, whatever its standard error
	rimLeast   = 14.0  // mm beyond the edge that still belong to a region
)

// windows returns the windows, all of them or those that serve while the form is still far from settled.
func windows(all bool) []kernel {
	if all {
		return []kernel{{7, 9}, {12, 12}, {20, 20}, {12, 36}, {36, 14}, {34, 34}, {55, 55}}
	}
	return []kernel{{12, 12}, {20, 20}, {34, 34}}
}

// sure returns how many standard errors a window's mean must stand off so that noise alone does so on falseShare of all
// panels: the expected number of peaks of a smooth Gaussian field over the panel's area (Adler, The Geometry of Random
// Fields, 1981; Worsley et al., Human Brain Mapping 4 (1996) 58, both from memory), for the field that a Gaussian
// window makes of white noise. The finer a window, the more places it looks at.
func (p *panel) sure(k kernel) float64 { return p.sureOf(k, falseShare) }

// sureOf is sure for any expected number of false regions a panel on one side.
func (p *panel) sureOf(k kernel, share float64) float64 {
	peaks := p.length * p.span() / (2 * k.arc * k.station) / math.Pow(2*math.Pi, 1.5)
	u := 5.0
	for range 8 {
		u = math.Sqrt(2 * math.Log(math.Max(peaks*u/share, math.E)))
	}
	return u
}

// region is a part of the panel that stands out of the form on one side.
type region struct {
	sign  float64 // -1 low, +1 high
	cells []int   // where it is told from noise, rising
	rim   []int   // where it runs out, rising
	size  kernel  // of the window that found it
	depth float64 // mm, the most that window shows of it
}

// seeker holds what one search for regions works with.
type seeker struct {
	p        *panel
	residual []float64
	uForm    []float64
	floor    float64   // mm
	share    float64   // of the standard errors that make a region, under a window wide enough to try
	owner    []int     // of each cell: 0 nobody, k+1 region k or its rim
	core     []int     // the same without the rims
	left     []float64 // the weights of the cells that nobody owns
	regions  []region
	widen    []float64 // by window: how much wider the means scatter than independent cells would
	usual    []float64 // by window: the middle standard error of its means for independent cells, mm
	room     []float64 // for left
	lists    []float64 // for scatter
}

// seek finds the regions of the residual whose mean under some window reaches the floor; uForm is the
// form's standard uncertainty at each cell. last is the search before, whose lists it takes over, or nil.
func seek(p *panel, residual, uForm []float64, floor, share float64, with []kernel, last *seeker) *seeker {
	s := &seeker{p: p, residual: residual, uForm: uForm, floor: floor, share: share, left: p.w}
	if last == nil {
		s.owner, s.core = make([]int, len(residual)), make([]int, len(residual))
	} else {
		s.owner, s.core, s.room, s.lists = last.owner, last.core, last.room, last.lists
		clear(s.owner)
		clear(s.core)
	}
	for _, k := range with {
		s.window(k)
	}
	s.join()
	return s
}

// widening returns how much wider than independent cells the means scatter under a window about as wide as
// the given standard deviation, mm.
func (s *seeker) widening(size float64) float64 {
	best, out := math.Inf(1), 1.0
	for i, k := range windows(true) {
		if d := math.Abs(math.Log(math.Sqrt(k.arc*k.station) / size)); d < best {
			best, out = d, s.widen[i]
		}
	}
	return out
}

// window looks with one window on what is not taken yet.
func (s *seeker) window(k kernel) {
	f := s.p.smoothInto(s.p.spare(), s.residual, s.left, k)
	widen, usual := s.scatter(f)
	s.widen, s.usual = append(s.widen, widen), append(s.usual, usual)
	w := &view{field: f, uForm: s.uForm, widen: widen, kernel: k}
	least := s.p.sure(k)
	if math.Sqrt(k.arc*k.station) > triedWidth {
		least *= s.share
	}
	first := len(s.regions)
	for i, m := range f.mean {
		if m = math.Abs(m); m > s.floor && s.owner[i] == 0 && m > least*w.sigma(i) {
			s.grow(i, w)
		}
	}
	s.leaveOut(s.regions[first:])
}

// view is what a window shows.
type view struct {
	field
	uForm  []float64
	widen  float64 // how much wider the means scatter than independent cells would
	kernel kernel
}

// sigma returns the standard uncertainty of a cell's mean as a departure from the form.
func (v *view) sigma(c int) float64 {
	return math.Sqrt(square(v.widen*v.se[c]) + square(v.uForm[c])) // Hypot guards against numbers far from 1
}

// leaveOut takes the weight from the cells of regions.
func (s *seeker) leaveOut(regions []region) {
	if len(regions) > 0 && &s.left[0] == &s.p.w[0] {
		s.room = append(s.room[:0], s.left...)
		s.left = s.room
	}
	for i := range regions {
		for _, cells := range [][]int{regions[i].cells, regions[i].rim} {
			for _, c := range cells {
				s.left[c] = 0
			}
		}
	}
}

// scatter returns the robust spread of the means over their standard errors, at least 1: noise that does
// not average away, and waves of the skin too short for the form, both raise what a spot must stand out of. usual is
// the middle one of the standard errors, mm.
func (s *seeker) scatter(f field) (widen, usual float64) {
	const stride = 7 // neighbouring means say nearly the same
	n := len(f.mean)/stride + 1
	if len(s.lists) == 0 {
		s.lists = make([]float64, 2*n)
	}
	z, se := s.lists[:0:n], s.lists[n:n]
	for i := 0; i < len(f.mean); i += stride {
		if s.owner[i] == 0 && !math.IsInf(f.se[i], 1) {
			z, se = append(z, math.Abs(f.mean[i])/f.se[i]), append(se, f.se[i])
		}
	}
	return math.Max(1, madScale*median(z)), median(se)
}

// grow makes a region from a seed.
func (s *seeker) grow(seed int, w *view) {
	mean, k := w.mean, w.kernel
	sign := math.Copysign(1, mean[seed])
	id := len(s.regions) + 1
	r := region{sign: sign, size: k, cells: []int{seed}}
	s.owner[seed] = id
	for head := 0; head < len(r.cells); head++ {
		s.p.neighbours(r.cells[head], func(n int) {
			if s.owner[n] == 0 && sign*mean[n] > s.floor/4 && sign*mean[n] > growSigma*w.sigma(n) {
				s.owner[n] = id
				r.cells = append(r.cells, n)
			}
		})
	}
	slices.Sort(r.cells)
	for _, c := range r.cells {
		r.depth = math.Max(r.depth, sign*mean[c])
		s.core[c] = id
	}
	reach := math.Max(rimLeast, (k.arc+k.station)/3)
	for _, n := range s.p.dilate(r.cells, reach) {
		if s.owner[n] == 0 {
			s.owner[n] = id
			r.rim = append(r.rim, n)
		}
	}
	s.regions = append(s.regions, r)
}

// join makes one region of those of one sign that touch.
func (s *seeker) join() {
	var groups union
	for range s.regions {
		groups.add()
	}
	for k := range s.regions {
		for _, c := range s.regions[k].cells {
			s.p.neighbours(c, func(n int) {
				if o := s.core[n] - 1; o >= 0 && s.regions[o].sign == s.regions[k].sign {
					groups.join(k, o)
				}
			})
		}
	}
	var joined []region
	place := make([]int, len(s.regions))
	for k, r := range s.regions {
		first := groups.find(k)
		if first == k {
			place[k] = len(joined)
			joined = append(joined, r)
			continue
		}
		place[k] = place[first]
		joined[place[k]].take(&r)
	}
	s.regions = joined
	for i, o := range s.owner {
		if o > 0 {
			s.owner[i] = place[o-1] + 1
		}
	}
}

// take adds another region's cells to r.
func (r *region) take(o *region) {
	r.cells, r.rim = append(r.cells, o.cells...), append(r.rim, o.rim...)
	r.depth = math.Max(r.depth, o.depth)
	slices.Sort(r.cells)
	slices.Sort(r.rim)
}

// prune takes back the regions that no window shows to stand out surely, now that the form leaves them out; it reports
// whether there were any.
func (s *seeker) prune(widening func(size float64) float64) bool {
	best := make([]float64, len(s.regions))
	for i, k := range windows(true)[:len(s.widen)] {
		widen, sure := math.Max(s.widen[i], widening(math.Sqrt(k.arc*k.station))), s.p.sure(k)
		few := s.few()
		var f field
		if !few {
			f = s.p.smoothInto(s.p.spare(), s.residual, s.p.w, k)
		}
		for r := range s.regions {
			g := &s.regions[r]
			if few {
				rows, columns := s.p.bounds(g.cells)
				f = s.p.smoothBox(s.p.spare(), s.residual, k, rows, columns)
			}
			for _, c := range g.cells {
				if m := g.sign * f.mean[c]; m > s.floor {
					best[r] = math.Max(best[r], m/math.Hypot(widen*f.se[c], s.uForm[c])/sure)
				}
			}
		}
	}
	var kept []region
	for r, g := range s.regions {
		if best[r] > 1 {
			kept = append(kept, g)
		}
	}
	if len(kept) == len(s.regions) {
		return false
	}
	s.regions = kept
	clear(s.owner)
	clear(s.core)
	for r, g := range kept {
		for _, c := range g.cells {
			s.owner[c], s.core[c] = r+1, r+1
		}
	}
	for r, g := range kept {
		for _, c := range g.rim {
			if s.owner[c] == 0 {
				s.owner[c] = r + 1
			}
		}
	}
	return true
}

// few reports whether the regions' boxes together hold so little of the panel that each is better smoothed by itself.
func (s *seeker) few() bool {
	const most = 0.25 // of the panel
	held := 0
	for r := range s.regions {
		rows, columns := s.p.bounds(s.regions[r].cells)
		held += (rows[1] - rows[0]) * (columns[1] - columns[0])
	}
	return float64(held) < most*float64(len(s.owner))
}

// bounds returns the rows and columns that cells lie in, each from the first to the one after the last.
func (p *panel) bounds(cells []int) (rows, columns [2]int) {
	nc := p.columns()
	rows, columns = [2]int{p.rows(), 0}, [2]int{nc, 0}
	for _, c := range cells {
		i, j := c/nc, c%nc
		rows = [2]int{min(rows[0], i), max(rows[1], i+1)}
		columns = [2]int{min(columns[0], j), max(columns[1], j+1)}
	}
	return rows, columns
}

// neighbours calls visit with the four cells beside one, within its piece of the wing.
func (p *panel) neighbours(k int, visit func(int)) {
	nc := p.columns()
	i, j := k/nc, k%nc
	if j > 0 && p.piece[j-1] == p.piece[j] {
		visit(k - 1)
	}
	if j+1 < nc && p.piece[j+1] == p.piece[j] {
		visit(k + 1)
	}
	if i > 0 {
		visit(k - nc)
	}
	if i+1 < p.rows() {
		visit(k + nc)
	}
}

// dilate returns the cells within reach (mm) of the given ones, those left out, rising.
func (p *panel) dilate(cells []int, reach float64) []int {
	nc := p.columns()
	da := int(reach / p.dArc)
	ds := int(reach / p.meanHeight())
	in := make(map[int]bool, 2*len(cells))
	for _, c := range cells {
		in[c] = true
	}
	var out []int
	for _, c := range cells {
		i, j := c/nc, c%nc
		inner := true
		p.neighbours(c, func(n int) { inner = inner && in[n] })
		if inner {
			continue // only the edge reaches outward
		}
		for a := max(i-ds, 0); a <= min(i+ds, p.rows()-1); a++ {
			for b := max(j-da, 0); b <= min(j+da, nc-1); b++ {
				n := a*nc + b
				da, ds := float64(b-j)*p.dArc, float64(a-i)*p.meanHeight()
				if !in[n] && p.piece[b] == p.piece[j] && da*da+ds*ds <= reach*reach {
					in[n] = true
					out = append(out, n)
				}
			}
		}
	}
	slices.Sort(out)
	return out
}

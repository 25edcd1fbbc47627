package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The map of departures gathers every point of the panel into cells of arc and station. A first pass over
// larger cells finds where the skin lies, so that a deep spot is not taken for clutter; the second averages
// about it with Tukey's biweight, which lets strays fall away.

const (
	arcStep      = 5.5  // mm, columns of the map
	stationStep  = 10.0 // mm, rows of the map
	blockArc     = 4    // columns and rows gathered for the first pass
	blockRows    = 4
	mapReach     = 0.012   // chords: a skin farther than this from the loft is not a skin but clutter
	leastBlock   = 6       // points that a block needs before its median counts
	spreadSample = 100_000 // points that the noise is taken from, about
	cellSample   = 16      // points of each cell of a block that its median is taken from, at most
	mostSlack    = 0.2     // mm: a spot 1 mm deep and 100 mm wide falls as much within a block, however exact the points are
	leastOwn     = 4       // points of a cell that tell that it lies on one skin
	rimSigma     = 5.0     // standard deviations from a closed end within which points may belong to its face
)

// sample is one point as the map sees it.
type sample struct {
	arc, station, distance float64 // mm; distance from the loft, skin offset included
}

// sample compares a point (wing frame, mm) with the loft. It reports false where the point is none of the skin's.
func (f *fitter) sample(p r3.Vec) (s sample, ok bool) {
	ok = f.sampler().look(p, &s)
	return s, ok
}

// sampler compares points with the loft as compare does, and works out no more than a sample needs.
type sampler struct {
	model
	droop turn    // of the aileron
	hinge float64 // chords; beyond all points where there is no aileron
	reach float64 // mm
}

func (f *fitter) sampler() *sampler {
	s := &sampler{f.model, turnBy(f.Deflection), f.Hinge, mapReach * f.Chord}
	if !(s.hinge > 0) {
		s.hinge = math.Inf(1)
	}
	return s
}

// look is sample, which leaves the answer where it is wanted.
func (m *sampler) look(p r3.Vec, s *sample) bool {
	station := p.Y * m.inboard
	chord := m.Chord + m.Taper*station
	if !(chord > 0) {
		return false
	}
	twist, unit := turnBy(m.Twist*station), 1/chord
	q := twist.noseDown(r2.Vec{X: p.X - m.Sweep*station, Y: p.Z - m.Rise*station})
	q.X, q.Y = q.X*unit, q.Y*unit
	neutral, aileron := q, q.X > m.hinge
	if aileron {
		v := m.droop.noseDown(r2.Vec{X: q.X - m.Hinge, Y: q.Y - m.HingeZ})
		neutral = r2.Vec{X: m.Hinge + v.X, Y: m.HingeZ + v.Y}
	}
	var ft foot
	if !m.field.look(neutral, &ft) || ft.end {
		return false
	}
	distance := chord * ft.distance
	if math.Abs(distance-m.offset) > m.reach {
		return false
	}
	n := ft.normal
	if aileron {
		n = m.droop.noseUp(n)
	}
	g := twist.noseUp(n)
	perStation := m.Twist*chord*(n.Y*q.X-n.X*q.Y) + m.Taper*(ft.distance-(n.X*q.X+n.Y*q.Y)) - m.Sweep*g.X - m.Rise*g.Y
	// Distances are measured in the section's plane; the skin's own normal leans a little out of it.
	*s = sample{ft.arc * m.Chord, station, distance / math.Sqrt(g.X*g.X+g.Y*g.Y+perStation*perStation)}
	return true
}

// newMap lays the grid over the panel from station 0 to hi.
func (f *fitter) newMap(hi float64) Map {
	length := f.field.length() * f.Chord
	m := Map{Length: length, NoseArc: f.field.arc[f.field.nose] * f.Chord, HingeArc: [2]float64{math.NaN(), math.NaN()}}
	columns := max(int(length/arcStep), 8)
	for j := range columns {
		m.Arc = append(m.Arc, length*(float64(j)+0.5)/float64(columns))
	}
	for i := range max(int(hi/stationStep), 1) {
		m.Station = append(m.Station, (float64(i)+0.5)*stationStep)
	}
	m.Cells = make([]Cell, len(m.Arc)*len(m.Station))
	if f.Hinge > 0 {
		for i, p := range f.field.outline {
			if i == 0 {
				continue
			}
			before := f.field.outline[i-1]
			if before.X >= f.Hinge && p.X < f.Hinge {
				m.HingeArc[0] = f.field.arc[i] * f.Chord
			}
			if before.X < f.Hinge && p.X >= f.Hinge {
				m.HingeArc[1] = f.field.arc[i] * f.Chord
			}
		}
	}
	return m
}

// locate returns the row and column of a sample.
func (m *Map) locate(s sample) (i, j int, ok bool) {
	j = int(s.arc / m.Length * float64(len(m.Arc)))
	i = int(math.Floor(s.station / stationStep))
	return i, min(max(j, 0), len(m.Arc)-1), i >= 0 && i < len(m.Station)
}

// depart fills the map from those of the points that lie between stations lo and hi; below lo points may belong to the
// rib's face instead of the skin. hollow says that the body may be hollow. It returns the points' standard deviation and
// how many lie near the skin.
func (f *fitter) depart(m *Map, points stream, lo, hi float64, hollow bool) (noise float64, near int) {
	cells, near := f.piled(m, points, lo, hi)
	some := m.someOf(cells)
	var skins [][]bool
	if hollow {
		skins = m.hollowBlocks(some)
	}
	noise = m.average(cells, some, skins)
	// A scanner sees no inner skin: only of an exact mesh may two be those of a hollow body.
	if m.doubled != nil && (skins == nil || noise > exactNoise) {
		*m.doubled = f.twice(m, some)
	}
	return noise, near
}

// average fills the map from the distances of each cell's points, of which some are an even share, and returns their
// standard deviation. hollow says which blocks may show more than one skin.
func (m *Map) average(cells *piles, some *fewOf, hollow [][]bool) (noise float64) {
	middle, floor := m.blockMedians(cells, some, hollow)
	if hollow != nil {
		for k := range m.Cells {
			if !math.IsInf(floor[k], -1) {
				cells.keepFrom(k, floor[k])
			}
		}
		some = m.someOf(cells)
	}
	noise = m.spread(cells, middle)
	scan.OnAllProcessors(len(m.Station), func(i int) {
		var room []float32
		var spread middling
		for j := range m.Arc {
			k := i*len(m.Arc) + j
			if math.IsNaN(middle[k]) {
				continue
			}
			ds := cells.view(k, &room)
			m.Cells[k] = biweightMean(ds, middle[k], noise, m.slack(ds, some, i, j, middle[k], noise, &spread))
		}
	})
	return noise
}

// slack returns the standard deviation about a block's median within which the points ds of its middle cell may lie: the
// noise, or where that is less than what the side of a low spot falls within a block, the block's own spread up to
// mostSlack. On such a side the points of the cell lie closer together than those of the block; where they do not, they
// show more than the skin.
func (m *Map) slack(ds []float32, some *fewOf, i, j int, middle, noise float64, of *middling) float64 {
	noise = math.Max(noise, 1e-3)
	if noise >= mostSlack || math.IsNaN(middle) || len(ds) < leastOwn {
		return noise
	}
	of.block = m.block(some, i, j, of.block[:0])
	for k, d := range of.block {
		of.block[k] = float32(math.Abs(float64(d) - middle))
	}
	spread := of.median(of.block)
	if float64(slices.Max(ds)-slices.Min(ds)) > 2*spread {
		return noise
	}
	return math.Max(math.Min(madScale*spread, mostSlack), noise)
}

// piled returns the distances of each cell's points, and how many points lie near the skin.
func (f *fitter) piled(m *Map, points stream, lo, hi float64) (cells *piles, near int) {
	type found struct {
		cell     int32 // beside: on none of the cells
		distance float32
	}
	const beside, together = -1, 64 // chunks
	cells = newPiles(len(m.Cells))
	with := f.sampler()
	var lists [together][]found
	for first := 0; first < points.n; first += together * chunkSize {
		n := min(together*chunkSize, points.n-first)
		parallel(n, func(a, b int) {
			list := lists[a/chunkSize][:0]
			var s sample
			points.each(first+a, first+b, func(p r3.Vec) {
				if y := p.Y * f.inboard; y < lo || y > hi || !with.look(p, &s) {
					return
				}
				here := found{beside, float32(s.distance)}
				if i, j, ok := m.locate(s); ok {
					here.cell = int32(i*len(m.Arc) + j)
				}
				list = append(list, here)
			})
			lists[a/chunkSize] = list
		})
		for _, list := range lists[:(n+chunkSize-1)/chunkSize] {
			near += len(list)
			for _, s := range list {
				if s.cell != beside {
					cells.add(int(s.cell), s.distance)
				}
			}
		}
	}
	return cells, near
}

// blockMedians returns, for each cell, the median distance of an even share of the points in the block of cells about
// it; NaN where there are too few. Where a hollow body shows the inner side of its skin too, floor parts the two, and the
// median is that of the outer; it is -Inf elsewhere.
//
// The blocks of neighbouring cells share most of their points. So only every other row and column has medians of its own,
// and the cells between have the mean of those beside them, unless these part by more than mostSlack.
func (m *Map) blockMedians(cells *piles, some *fewOf, hollow [][]bool) (middle, floor []float64) {
	middle, floor = make([]float64, len(m.Cells)), make([]float64, len(m.Cells))
	every := 2
	if hollow != nil {
		every = 1
	}
	own := func(i, j int, of *middling) {
		k := i*len(m.Arc) + j
		middle[k], floor[k] = math.NaN(), math.Inf(-1)
		of.block = m.block(some, i, j, of.block[:0])
		if len(of.block) < leastBlock {
			return
		}
		if hollowAbout(hollow, i, j) && looksHollow(of.block) && m.walls(cells, i, j) {
			skin, at := outerSkin(m.wholeBlock(cells, i, j))
			middle[k], floor[k] = median(skin), at
			return
		}
		middle[k] = of.median(of.block)
	}
	scan.OnAllProcessors((len(m.Station)+every-1)/every, func(row int) {
		var of middling
		for j := 0; j < len(m.Arc); j += every {
			own(row*every, j, &of)
		}
	})
	if every == 1 {
		return middle, floor
	}
	scan.OnAllProcessors(len(m.Station), func(i int) {
		var of middling
		for j := 1 - i%2; j < len(m.Arc); j += 2 - i%2 {
			if d, ok := m.between(middle, i, j); ok {
				middle[i*len(m.Arc)+j], floor[i*len(m.Arc)+j] = d, math.Inf(-1)
			} else {
				own(i, j, &of)
			}
		}
	})
	return middle, floor
}

// between returns the mean of the medians of even rows and columns beside a cell; ok is false where one is not known or
// they differ too much.
func (m *Map) between(middle []float64, i, j int) (mean float64, ok bool) {
	if i+i%2 >= len(m.Station) || j+j%2 >= len(m.Arc) {
		return 0, false
	}
	least, most, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, a := range [2]int{i - i%2, i + i%2} {
		for _, b := range [2]int{j - j%2, j + j%2} {
			d := middle[a*len(m.Arc)+b]
			if math.IsNaN(d) {
				return 0, false
			}
			least, most, sum = min(least, d), max(most, d), sum+d
		}
	}
	return sum / 4, most-least <= mostSlack
}

// around returns the rows and columns of the block about row i and column j, the last included.
func (m *Map) around(i, j int) (top, bottom, left, right int) {
	return max(i-blockRows/2, 0), min(i+blockRows/2, len(m.Station)-1),
		max(j-blockArc/2, 0), min(j+blockArc/2, len(m.Arc)-1)
}

// block appends the distances of some of the points in the cells about row i and column j.
func (m *Map) block(some *fewOf, i, j int, v []float32) []float32 {
	top, bottom, left, right := m.around(i, j)
	for a := top; a <= bottom; a++ {
		v = append(v, some.columns(a, left, right)...)
	}
	return v
}

// wholeBlock returns the distances of all points in the cells about row i and column j.
func (m *Map) wholeBlock(cells *piles, i, j int) (v []float64) {
	top, bottom, left, right := m.around(i, j)
	var ds []float32
	for a := top; a <= bottom; a++ {
		for b := left; b <= right; b++ {
			ds = cells.list(a*len(m.Arc)+b, ds[:0])
			for _, d := range ds {
				v = append(v, float64(d))
			}
		}
	}
	return v
}

// spread returns the robust standard deviation of the points about their block's median.
func (m *Map) spread(cells *piles, middle []float64) float64 {
	n := 0
	for k := range m.Cells {
		n += cells.count(k)
	}
	stride, next := max(n/spreadSample, 1), 0
	abs := make([]float64, 0, n/stride+1)
	for k := range m.Cells {
		for ; next < cells.count(k); next += stride {
			if !math.IsNaN(middle[k]) {
				abs = append(abs, math.Abs(float64(cells.at(k, next))-middle[k]))
			}
		}
		next -= cells.count(k)
	}
	if len(abs) == 0 {
		return 0
	}
	return madScale * median(abs)
}

// biweightMean is the mean of one cell about its block's median, by Tukey's biweight.
func biweightMean(ds []float32, middle, noise, slack float64) Cell {
	if math.IsNaN(middle) || len(ds) == 0 {
		return Cell{}
	}
	cut := biweight * slack
	centre := middle
	var c Cell
	for range 3 {
		var sw, swd, sww float64
		n := 0
		for _, d := range ds {
			t := (float64(d) - centre) / cut
			if math.Abs(t) < 1 {
				w := (1 - t*t) * (1 - t*t)
				sw, swd, sww = sw+w, swd+w*float64(d), sww+w*w
				n++
			}
		}
		if n == 0 {
			return Cell{}
		}
		centre = swd / sw
		c = Cell{Departure: centre, SE: noise * math.Sqrt(sww) / sw, N: n}
	}
	return c
}

// thinSigma is how many standard deviations of the noise part the skins where none of their points can be
// taken for the other's.
const thinSigma = 6

// thickness returns the distance between the skins of the loft at station 0 at each column of the map, mm.
func (f *fitter) thickness(m *Map) []float64 {
	out := make([]float64, len(m.Arc))
	for j, arc := range m.Arc {
		p, _ := f.field.point(arc / m.Length * f.field.length())
		up, low := heightAt(f.field.outline[:f.field.nose+1], p.X), heightAt(f.field.outline[f.field.nose:], p.X)
		out[j] = (up-low)*f.Chord + 2*f.offset
	}
	return out
}

// thinColumns marks the columns near the tail where the skins lie closer together than the noise keeps apart.
func (f *fitter) thinColumns(m *Map) []bool {
	thin := make([]bool, len(m.Arc))
	for j, t := range f.thickness(m) {
		x, _ := f.field.point(m.Arc[j] / m.Length * f.field.length())
		thin[j] = x.X > 0.5 && t < thinSigma*f.scale
	}
	return thin
}

// fold widens the standard errors where points of one skin may have been taken for the other's: those whose
// error is larger than half the distance between the skins. Folding shifts the mean outward by
// 2σ(φ(z) - z·(1 - Φ(z))) for skins 2zσ apart, the mean excess of a normal distribution over z, taken twice.
func (f *fitter) fold(m *Map, noise float64) {
	for j, t := range f.thickness(m) {
		x, _ := f.field.point(m.Arc[j] / m.Length * f.field.length())
		if x.X < 0.5 || noise <= 0 {
			continue
		}
		z := math.Max(t, 0) / 2 / noise
		shift := 2 * noise * (math.Exp(-z*z/2)/math.Sqrt(2*math.Pi) - z*(1-cumulative(z)))
		for i := range m.Station {
			if c := m.At(i, j); c.N > 0 {
				c.SE = math.Hypot(c.SE, shift)
			}
		}
	}
}

// correlate widens the standard errors by what neighbouring cells differ more than their points' noise
// explains: the part of the noise that does not average away within a cell.
func (m *Map) correlate() (common float64) {
	var v []float64
	var white []float64
	for i := range m.Station {
		for j := 2; j+2 < len(m.Arc); j++ {
			// The third difference along the arc is blind to the form: a parabola gives zero.
			a, b, c, d := m.At(i, j-2), m.At(i, j-1), m.At(i, j+1), m.At(i, j+2)
			if a.N == 0 || b.N == 0 || c.N == 0 || d.N == 0 {
				continue
			}
			diff := a.Departure - 2*b.Departure + 2*c.Departure - d.Departure
			v = append(v, diff*diff)
			white = append(white, a.SE*a.SE+4*b.SE*b.SE+4*c.SE*c.SE+d.SE*d.SE)
		}
	}
	if len(v) < 50 {
		return 0
	}
	const chi2Median = 0.4549 // median of chi-squared with one degree of freedom
	extra := (median(v)/chi2Median - median(white)) / 10
	if extra <= 0 {
		return 0
	}
	for k := range m.Cells {
		if c := &m.Cells[k]; c.N > 0 {
			c.SE = math.Sqrt(c.SE*c.SE + extra)
		}
	}
	return math.Sqrt(extra)
}

package section

import (
	"math"
	"slices"

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
func (m *Map) average(piled *piles, some rowsOf, hollow [][]bool) (noise float64) {
	var cells byRow = piled
	var whole rowsOf
	if hollow != nil {
		whole = piled.whole()
	}
	middle, floor := m.blockMedians(whole, some, hollow)
	if hollow != nil {
		whole.keepFrom(floor)
		cells, some = whole, m.someOf(whole)
	}
	noise = m.spread(cells, middle)
	m.eachRow(cells, func(i int, row *rowOf) {
		var spread middling
		for j := range m.Arc {
			k := i*len(m.Arc) + j
			if math.IsNaN(middle[k]) {
				continue
			}
			ds := row.columns(j, j)
			m.Cells[k] = biweightMean(ds, middle[k], noise, m.slack(ds, some, i, j, middle[k], noise, &spread))
		}
	})
	if m.inside != nil {
		m.lookInside(some, middle, noise)
	}
	return noise
}

// slack returns the standard deviation about a block's median within which the points ds of its middle cell may lie: the
// noise, or where that is less than what the side of a low spot falls within a block, the block's own spread up to
// mostSlack. On such a side the points of the cell lie closer together than those of the block; where they do not, they
// show more than the skin.
func (m *Map) slack(ds []float32, some rowsOf, i, j int, middle, noise float64, of *middling) float64 {
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
		row, column int32 // beside: on none of the cells
		distance    float32
	}
	const beside = -1
	cells = newPiles(len(m.Station), len(m.Arc))
	with := f.sampler()
	inOrder(points.n, func(a, b int, list []found) []found {
		var s sample
		points.each(a, b, func(some []r3.Vec) {
			for _, p := range some {
				if y := p.Y * f.inboard; y < lo || y > hi || !with.look(p, &s) {
					continue
				}
				here := found{beside, beside, float32(s.distance)}
				if i, j, ok := m.locate(s); ok {
					here.row, here.column = int32(i), int32(j)
				}
				list = append(list, here)
			}
		})
		return list
	}, func(list []found) {
		near += len(list)
		for _, s := range list {
			if s.row != beside {
				cells.add(s.row, s.column, s.distance)
			}
		}
	})
	return cells, near
}

// spread returns the robust standard deviation of the points about their block's median.
func (m *Map) spread(cells byRow, middle []float64) float64 {
	before, n := make([]int, len(m.Station)), 0 // points in the rows ahead of each
	for i := range before {
		before[i] = n
		n += cells.count(i)
	}
	stride := max(n/spreadSample, 1)
	parts := make([][]float64, len(before))
	m.eachRow(cells, func(i int, row *rowOf) {
		abs := make([]float64, 0, len(row.all)/stride+1)
		j := 0
		for at := (before[i]+stride-1)/stride*stride - before[i]; at < len(row.all); at += stride {
			for at >= int(row.start[j+1]) {
				j++
			}
			if about := middle[i*len(m.Arc)+j]; !math.IsNaN(about) {
				abs = append(abs, math.Abs(float64(row.all[at])-about))
			}
		}
		parts[i] = abs
	})
	abs := slices.Concat(parts...)
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
	var lists [2][][]float64 // by rows: squares of differences, and what their points' noise lets expect
	for k := range lists {
		lists[k] = make([][]float64, len(m.Station))
	}
	scan.OnAllProcessors(len(m.Station), func(i int) {
		v, white := make([]float64, 0, len(m.Arc)), make([]float64, 0, len(m.Arc))
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
		lists[0][i], lists[1][i] = v, white
	})
	all := [2][]float64{slices.Concat(lists[0]...), slices.Concat(lists[1]...)}
	if len(all[0]) < 50 {
		return 0
	}
	var middle [2]float64
	scan.OnAllProcessors(len(all), func(k int) { middle[k] = median(all[k]) })
	const chi2Median = 0.4549 // median of chi-squared with one degree of freedom
	extra := (middle[0]/chi2Median - middle[1]) / 10
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

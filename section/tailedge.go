package section

import (
	"math"
	"slices"
)

// The place of the tail's edge, by maximum likelihood. Along the chord the points of a scan are even up to where the
// skins end; those of the tail's face, where the scanner saw it, lie on the edge itself, or of a rounded tail
// somewhat before it; a few strays lie anywhere. Noise blurs all that: the skins' end little, because a point errs
// along the normal, the face by all of the noise. How much of each there is, and how blurred, the points tell
// themselves: a tail without a face, a thick one, a sharp one and a round one are the same model.

const (
	edgeAhead   = 26.0 // mm before the edge over which the points are taken
	edgeBehind  = 10.0 // mm behind it
	edgeStep    = 0.1  // mm: bins
	edgeSearch  = 4.0  // mm either way of the whole panel's edge in which a band's is looked for
	edgeRounds  = 2    // of shape and bands
	edgeBands   = 8    // most bands of stations
	edgePoints  = 120  // of a band, about, from which on it has an edge of its own
	edgeLook    = 15   // steps of edgeStep about the bands' line over which all together are looked at
	edgeTilts   = 3    // tilts of it either way
	edgeFloor   = 0.05 // mm, standard uncertainty that no number of points takes away (common practice, no source)
	edgeOutlier = 4.0  // standard deviations from the line of the others at which a band is dropped
)

// edgeCounts are the points of one band of stations by their place along the chord, those nearer to the upper skin and
// those nearer to the lower.
type edgeCounts struct {
	station float64 // mm, mean
	lo      float64 // mm aft of the loft's tail, where the bins begin
	bins    [2][]float64
}

// points returns how many there are.
func (c *edgeCounts) points() (n float64) {
	for _, bins := range c.bins {
		for _, k := range bins {
			n += k
		}
	}
	return n
}

// edgeFit is what the scan shows of the tail's end.
type edgeFit struct {
	shape tailShape
	line  straight // the edge over the stations, mm aft of the loft's own tail
}

// edgeBand is the edge in one band of stations.
type edgeBand struct {
	station, at, u float64 // mm; at is measured aft from the loft's own tail
	likely         *edgeLikelihood
}

// fitEdge finds the tail's edge and how it ends; ok is false where the tail was not seen.
func (f *fitter) fitEdge(points []tailPoint, lo, hi float64) (edgeFit, bool) {
	return f.edgeFrom(points, lo, hi, tailShape{}, edgeRounds)
}

// edgeFrom finds the tail's edge from a shape that it is known to have, none where that is zero, which is settled in so
// many rounds. The bands of stations first tell where the edge runs straight, each for itself; then all together tell
// where. ok is false where the tail was not seen.
func (f *fitter) edgeFrom(points []tailPoint, lo, hi float64, known tailShape, rounds int) (t edgeFit, ok bool) {
	coarse, ok := f.coarseEdge(points, lo, hi)
	if !ok {
		return t, false
	}
	var counts []edgeCounts
	thick := 0.0
	sideBySide(func() { counts = f.edgeCounts(points, lo, hi, coarse) }, func() {
		if known.blur == 0 || rounds > 0 {
			thick = f.tailThickness(points, lo, hi, coarse)
		}
	})
	if len(counts) == 0 {
		return t, false
	}
	t.shape = known
	if known.blur == 0 {
		t.shape = tailShape{blur: math.Max(0.3*f.scale, leastBlur), face: math.Max(thick/2, 0.2), faceBlur: math.Max(f.scale, leastBlur), stray: 0.01}
	}
	for range rounds {
		bands := t.lay(counts, coarse)
		if all := pooled(bands, &t.line); all.points() > 0 {
			t.shape = f.fitShape(all, thick)
		}
	}
	t.lay(counts, coarse)
	return t, true
}

// lay lays the line through the edges of the bands and returns those that lie on it. Bands with few points cannot tell
// for themselves whether they do.
func (t *edgeFit) lay(counts []edgeCounts, coarse float64) []edgeBand {
	points := 0.0
	for _, c := range counts {
		points += c.points()
	}
	bands := ownEdges(counts, &t.shape, coarse)
	if points/float64(len(counts)) >= edgePoints {
		bands = inLine(bands)
		t.line = edgeLine(bands)
	} else {
		t.line = edgeLine(bands)
		edges := make([]float64, len(bands))
		for i, b := range bands {
			edges[i] = b.at
		}
		t.line.value, t.line.slope = median(edges), 0
	}
	t.line.settle(bands)
	return bands
}

// ownEdges looks for the edge in every band for itself.
func ownEdges(counts []edgeCounts, shape *tailShape, coarse float64) (bands []edgeBand) {
	table := shape.tableFor()
	for i := range counts {
		l := newEdgeLikelihood(&counts[i], table)
		at, u := l.edge(coarse, edgeSearch)
		bands = append(bands, edgeBand{counts[i].station, at, u, l})
	}
	return bands
}

// settle moves the line to where all bands together are likeliest.
func (l *straight) settle(bands []edgeBand) {
	reach := 1.0
	for _, b := range bands {
		reach = math.Max(reach, math.Abs(b.station-l.middle))
	}
	loss := func(p []float64) (sum float64) {
		for _, b := range bands {
			sum -= b.likely.at(p[0] + p[1]*(b.station-l.middle)/reach)
		}
		return sum
	}
	// The likelihood has many small tops: it is looked over before the best is climbed.
	p, steps := []float64{l.value, l.slope * reach}, []float64{edgeStep / 2, edgeStep}
	if len(bands) < 2 {
		steps[1] = 0
	}
	best := loss(p)
	for i := -edgeLook; i <= edgeLook; i++ {
		for k := -edgeTilts; k <= edgeTilts; k++ {
			q := []float64{l.value + float64(i)*edgeStep, l.slope*reach + float64(k)*2*steps[1]}
			if d := loss(q); d < best {
				p, best = q, d
			}
		}
	}
	best = walk(p, steps, loss)
	wide := 1.0 // the bands' own scatter
	if free := float64(len(bands) - 2); free > 0 {
		wide = math.Sqrt(math.Max(1, l.chi(bands)/free))
	}
	l.value, l.slope = p[0], p[1]/reach
	own := func(i int) float64 {
		return standardError(func(h float64) float64 {
			up, down := slices.Clone(p), slices.Clone(p)
			up[i], down[i] = p[i]+h, p[i]-h
			return (loss(up)+loss(down))/2 - best
		})
	}
	l.uValue = math.Hypot(wide*own(0), edgeFloor)
	if len(bands) > 1 {
		l.uSlope = math.Hypot(wide*own(1), edgeFloor) / reach
	}
}

// tailThickness returns how thick the tail is at its end, mm: the skins are led on from where they can be told apart.
func (f *fitter) tailThickness(points []tailPoint, lo, hi, edge float64) float64 {
	const slices, from, to = 4, 25.0, 5.0 // mm before the edge
	var heights [2][slices][]float64
	for _, p := range points {
		d := edge - (p.x-1)*f.ChordAt(p.station)
		if p.station < lo || p.station >= hi || d <= to || d >= from {
			continue
		}
		k := int((d - to) / (from - to) * slices)
		heights[p.side()][k] = append(heights[p.side()][k], p.height)
	}
	var n, sx, sy, sxx, sxy float64
	for k := range slices {
		if len(heights[0][k]) < leastBlock || len(heights[1][k]) < leastBlock {
			continue
		}
		x := to + (from-to)*(float64(k)+0.5)/slices
		y := median(heights[0][k]) - median(heights[1][k])
		n, sx, sy, sxx, sxy = n+1, sx+x, sy+y, sxx+x*x, sxy+x*y
	}
	if n < 2 {
		return f.field.outline[0].Y*f.Chord - f.field.outline[len(f.field.outline)-1].Y*f.Chord
	}
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return math.Max((sy-slope*sx)/n, 0)
}

// coarseEdge returns the edge of the whole panel to a millimetre or so, mm aft of the loft's tail: where the density
// of points falls to half of what it is over the skin before.
func (f *fitter) coarseEdge(points []tailPoint, lo, hi float64) (at float64, ok bool) {
	const bins = 140
	var h [bins]float64
	n := 0
	for _, p := range points {
		if p.station >= lo && p.station < hi {
			h[min(int((p.x-tailFrom)/(tailTo-tailFrom)*bins), bins-1)] += p.weight
			n++
		}
	}
	if n < leastTail {
		return 0, false
	}
	usual := median(slices.Clone(h[:bins*2/5])) // up to 0.983 chords
	for i := bins - 3; i >= 0; i-- {
		if h[i]+h[i+1]+h[i+2] > 1.5*usual {
			x := tailFrom + (float64(i)+2)*(tailTo-tailFrom)/bins
			return (x - 1) * f.ChordAt((lo+hi)/2), x > edgeFirst && x < edgeLast
		}
	}
	return 0, false
}

const (
	edgeFirst = 0.971 // chords between which the edge is believed
	edgeLast  = 1.018
)

// edgeCounts counts the points in bands of stations about the coarse edge.
func (f *fitter) edgeCounts(points []tailPoint, lo, hi, coarse float64) (out []edgeCounts) {
	n := max(1, min(edgeBands, int((hi-lo)/leastTailBand)))
	bands := make([]edgeCounts, n)
	from := math.Max(coarse-edgeAhead, (tailFrom-1)*math.Min(f.ChordAt(lo), f.ChordAt(hi)))
	to := math.Min(coarse+edgeBehind, (tailTo-1)*math.Min(f.ChordAt(lo), f.ChordAt(hi)))
	size := int((to - from) / edgeStep)
	if size < 2 {
		return nil
	}
	for i := range bands {
		bands[i].lo, bands[i].bins = from, [2][]float64{make([]float64, size), make([]float64, size)}
	}
	numbers, weights := make([]float64, n), make([]float64, n)
	for _, p := range points {
		if p.station < lo || p.station >= hi {
			continue
		}
		at := (p.x - 1) * f.ChordAt(p.station)
		i := min(int((p.station-lo)/(hi-lo)*float64(n)), n-1)
		if k := int(math.Floor((at - from) / edgeStep)); k >= 0 && k < size {
			bands[i].bins[p.side()][k] += p.weight
			numbers[i]++
			weights[i] += p.weight
			bands[i].station += p.weight * p.station
		}
	}
	for i, b := range bands {
		if numbers[i] < leastTail/3 || !(weights[i] > 0) {
			continue
		}
		b.station /= weights[i]
		for _, bins := range b.bins {
			for k := range bins {
				bins[k] *= numbers[i] / weights[i]
			}
		}
		out = append(out, b)
	}
	return out
}

// pooled adds the counts of all bands, each shifted so that the edge's line lies at 0.
func pooled(bands []edgeBand, line *straight) edgeCounts {
	all := edgeCounts{lo: -edgeAhead - edgeSearch}
	const size = int((edgeAhead + edgeBehind + 2*edgeSearch) / edgeStep)
	all.bins = [2][]float64{make([]float64, size), make([]float64, size)}
	first, last := math.Inf(-1), math.Inf(1)
	for _, b := range bands {
		c, edge := b.likely.counts, line.at(b.station)
		first = math.Max(first, c.lo-edge)
		last = math.Min(last, c.lo+float64(len(c.bins[0]))*edgeStep-edge)
		for side, bins := range c.bins {
			for k, n := range bins {
				if j := int((c.lo-edge-all.lo)/edgeStep + float64(k) + 0.5); j >= 0 && j < size {
					all.bins[side][j] += n
				}
			}
		}
	}
	// Only where every band has its share.
	a := max(int(math.Ceil((first-all.lo)/edgeStep))+1, 0)
	b := min(int((last-all.lo)/edgeStep)-1, size)
	if b < a+2 {
		return edgeCounts{}
	}
	all.lo += float64(a) * edgeStep
	for side := range all.bins {
		all.bins[side] = all.bins[side][a:b]
	}
	return all
}

// inLine drops bands whose edge lies so far from the line of the others that something else was taken for it.
func inLine(bands []edgeBand) []edgeBand {
	for len(bands) > 2 {
		worst, at := edgeOutlier, -1
		for i := range bands {
			rest := slices.Delete(slices.Clone(bands), i, i+1)
			l := edgeLine(rest)
			off := math.Abs(bands[i].at-l.at(bands[i].station)) / math.Hypot(bands[i].u, 0.1)
			if off > worst {
				worst, at = off, i
			}
		}
		if at < 0 {
			break
		}
		bands = slices.Delete(bands, at, at+1)
	}
	return bands
}

// straight is a straight line over the stations.
type straight struct{ middle, value, slope, uValue, uSlope float64 }

func (l *straight) at(station float64) float64 { return l.value + l.slope*(station-l.middle) }

// u returns the standard uncertainty of the line at a station.
func (l *straight) u(station float64) float64 {
	return math.Hypot(l.uValue, l.uSlope*(station-l.middle))
}

// edgeLine lays a line through the edges of all bands.
func edgeLine(bands []edgeBand) (l straight) {
	var sum float64
	for _, b := range bands {
		w := 1 / (b.u * b.u)
		sum, l.middle, l.value = sum+w, l.middle+w*b.station, l.value+w*b.at
	}
	l.middle, l.value = l.middle/sum, l.value/sum
	var ss, sy float64
	for _, b := range bands {
		w, d := 1/(b.u*b.u), b.station-l.middle
		ss, sy = ss+w*d*d, sy+w*d*b.at
	}
	if len(bands) > 1 && ss > 0 {
		l.slope, l.uSlope = sy/ss, 1/math.Sqrt(ss)
	}
	l.uValue = 1 / math.Sqrt(sum)
	return l
}

// chi returns the sum of squares of how far the bands lie off the line, in standard deviations.
func (l *straight) chi(bands []edgeBand) (sum float64) {
	for _, b := range bands {
		d := (b.at - l.at(b.station)) / math.Hypot(b.u, edgeFloor)
		sum += d * d
	}
	return sum
}

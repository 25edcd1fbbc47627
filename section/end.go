package section

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// An end of the panel, as the scan shows it: the plane of a face, or of the skin's edge.

// end is what is known of one end of the panel: the plane y = at + slopeX·x + slopeZ·z in the frame of the
// fit, y being the station.
type end struct {
	at, slopeX, slopeZ float64
	uX, uZ             float64 // standard uncertainties of the slopes, rad
	closed             bool    // the end's face was scanned
	rms                float64 // mm, spread of the points about the plane
	points             int
}

// plane is a robust plane through (x, z, station) triples. lean is the weight of points beyond the plane
// (inboard of it) against those before it: 1 for points that scatter about a face, and little for the
// outermost points of a skin, which lie on its edge at best and otherwise inboard of it.
func plane(pts []r3.Vec, cut, lean float64) (e end, ok bool) {
	w := make([]float64, len(pts))
	for i := range w {
		w[i] = 1
	}
	abs := make([]float64, len(pts))
	const rounds = 20
	for round := range rounds {
		var sums [3][3]float64
		var right [3]float64
		var sum float64
		for i, p := range pts {
			w := w[i]
			x, z := w*p.X, w*p.Z
			sum += w
			right[0], right[1], right[2] = right[0]+w*p.Y, right[1]+x*p.Y, right[2]+z*p.Y
			sums[0][1], sums[0][2] = sums[0][1]+x, sums[0][2]+z
			sums[1][1], sums[1][2], sums[2][2] = sums[1][1]+x*p.X, sums[1][2]+x*p.Z, sums[2][2]+z*p.Z
		}
		sums[0][0] = sum
		lhs, rhs := mat.NewSymDense(3, nil), mat.NewVecDense(3, right[:])
		for a := range 3 {
			for b := a; b < 3; b++ {
				lhs.SetSym(a, b, sums[a][b])
			}
		}
		var chol mat.Cholesky
		if sum < 6 || !chol.Factorize(lhs) {
			return end{}, false
		}
		var v mat.VecDense
		var cov mat.SymDense
		if chol.SolveVecTo(&v, rhs) != nil || chol.InverseTo(&cov) != nil {
			return end{}, false
		}
		e.at, e.slopeX, e.slopeZ = v.AtVec(0), v.AtVec(1), v.AtVec(2)
		for i, p := range pts {
			abs[i] = math.Abs(e.height(p))
		}
		e.rms = math.Max(madScale*median(abs), 1e-6)
		e.uX, e.uZ = e.rms*math.Sqrt(cov.At(1, 1)), e.rms*math.Sqrt(cov.At(2, 2))
		e.points = 0
		limit := math.Min(biweight*e.rms, cut)
		for i, p := range pts {
			t := e.height(p) / limit
			w[i] = 0
			if math.Abs(t) < 1 {
				w[i] = (1 - t*t) * (1 - t*t)
				e.points++
				if t > 0 && round >= rounds/2 {
					w[i] *= lean
				}
			}
		}
	}
	return e, true
}

// height returns how far a point lies beyond the plane along the station.
func (e *end) height(p r3.Vec) float64 { return p.Y - e.at - e.slopeX*p.X - e.slopeZ*p.Z }

// skin and inside are the panel's points in the frame of the fit with the station for Y, sorted by station
// towards one end: those on the skin with their arc, and those within the section.
type panel struct {
	skin   []r3.Vec
	arc    []float64
	inside []r3.Vec
	cell   []r2.Vec // unit-section place of each inside point
}

// band is the stretch of stations that lie from lo to hi (mm) beyond a plane.
type band struct {
	plane  end
	lo, hi float64
}

// end looks for the outboard (sign +1) or inboard (sign -1) end of the panel
// within reach (mm) of where it is known to be: first on a share of the points, as many as tell about where it is, and
// then, unless it was looked for far and wide, on all near it.
func (f *fitter) end(lo, hi, sign, reach float64) (end, bool) {
	edge := lo
	if sign < 0 {
		edge = hi
	}
	stride := f.edgeStride(hi-lo, reach)
	e, ok := f.endIn(band{end{at: edge}, -reach, reach}, sign, stride)
	if !ok || stride == 1 || reach > edgeKnown*f.Chord {
		return e, ok
	}
	outboard, inboard := -reach, math.Min(edgeCut*f.Chord, edgeSpreads*e.rms)+edgeMargin
	if sign < 0 {
		outboard, inboard = -inboard, -outboard
	}
	return f.endIn(band{e, outboard, inboard}, sign, 1)
}

// edgeStride returns how many of the points to pass over for each that is taken, plus one, so that a bin of the edge
// holds about edgeEnough of them within reach of it. span is the panel's, mm.
func (f *fitter) edgeStride(span, reach float64) int {
	skin := f.field.length() * f.Chord * math.Max(span, reach)
	return max(int(float64(len(f.points))/skin*edgeBinMM*reach/edgeEnough), 1)
}

// endIn looks for an end within a band of stations, on one point in stride.
func (f *fitter) endIn(b band, sign float64, stride int) (end, bool) {
	p := f.gather(b, stride)
	for _, v := range [][]r3.Vec{p.skin, p.inside} {
		for i := range v {
			v[i].Y *= sign // stations now grow away from the end
		}
	}
	e, ok := f.skinEdge(p)
	if !ok {
		return end{}, false
	}
	if face, ok := f.face(p, e); ok {
		e = face
	}
	e.at, e.slopeX, e.slopeZ = sign*e.at, sign*e.slopeX, sign*e.slopeZ
	return e, true
}

// gather collects the points on the skin and inside the section within a band of stations, of one point in stride.
func (f *fitter) gather(b band, stride int) panel {
	on := math.Max(4*f.scale, 0.001*f.Chord)
	deep := math.Max(6*f.scale, 0.008*f.Chord)
	up, off := f.heightOver(b.plane)
	type found struct {
		at     r3.Vec
		arc    float64
		cell   r2.Vec
		inside bool
	}
	var all panel
	inOrder((len(f.points)+stride-1)/stride, func(first, last int, list []found) []found {
		var r residual
		for i := first; i < last; i++ {
			point := f.points.at(i * stride)
			if h := r3.Dot(up, point) + off; h < b.lo || h > b.hi {
				continue
			}
			at := f.wingFromPoints.apply(point)
			if !f.compare(at, &r) || r.end {
				continue
			}
			w := r3.Vec{X: at.X, Y: at.Y * f.inboard, Z: at.Z}
			switch d := r.distance - f.offset; {
			case math.Abs(d) < on:
				list = append(list, found{at: w, arc: r.arc * f.Chord})
			case d < -deep:
				list = append(list, found{at: w, cell: f.place(at).q, inside: true})
			}
		}
		return list
	}, func(list []found) {
		n := 0
		for i := range list {
			if list[i].inside {
				n++
			}
		}
		all.inside, all.cell = withRoom(all.inside, n), withRoom(all.cell, n)
		all.skin, all.arc = withRoom(all.skin, len(list)-n), withRoom(all.arc, len(list)-n)
		for i := range list {
			if p := &list[i]; p.inside {
				all.inside, all.cell = append(all.inside, p.at), append(all.cell, p.cell)
			} else {
				all.skin, all.arc = append(all.skin, p.at), append(all.arc, p.arc)
			}
		}
	})
	return all
}

// heightOver returns how the height of a point of the scan over a plane is told from its place: up·point + off.
func (f *fitter) heightOver(e end) (up r3.Vec, off float64) {
	square := r3.Vec{X: -e.slopeX, Y: f.inboard, Z: -e.slopeZ}
	t := f.wingFromPoints
	for i, v := range [3]float64{square.X, square.Y, square.Z} {
		up = r3.Add(up, r3.Scale(t.Scale*v, r3.Vec{X: t.R[i][0], Y: t.R[i][1], Z: t.R[i][2]}))
	}
	return up, r3.Dot(square, t.T) - e.at
}

// skinEdge finds where the skin ends, bin by bin along the arc, and lays a plane through the ends.
func (f *fitter) skinEdge(p panel) (end, bool) {
	bins := binned(p, int(f.field.length()*f.Chord/edgeBinMM)+1)
	found := make([]outermost, len(bins))
	scan.OnAllProcessors(len(bins), func(b int) { found[b] = outermostOf(bins[b]) })
	edges := givenBack(found, f.scale)
	if len(edges) < leastEdge {
		return end{}, false
	}
	e, ok := plane(edges, edgeCut*f.Chord, edgeLean)
	e.uX, e.uZ = e.uX*math.Sqrt(edgeVoice), e.uZ*math.Sqrt(edgeVoice)
	return e, ok
}

// binned returns the points on the skin by so many bins of their arc.
func binned(p panel, n int) [][]r3.Vec {
	first := make([]int, n+1)
	bin := func(i int) int { return min(int(p.arc[i]/edgeBinMM), n) }
	for i := range p.skin {
		if b := bin(i); b >= 0 && b < n {
			first[b+1]++
		}
	}
	for b := range n {
		first[b+1] += first[b]
	}
	all, bins := make([]r3.Vec, first[n]), make([][]r3.Vec, n)
	for b := range bins {
		bins[b] = all[first[b]:first[b]:first[b+1]]
	}
	for i, q := range p.skin {
		if b := bin(i); b >= 0 && b < n {
			bins[b] = append(bins[b], q)
		}
	}
	return bins
}

// outermost is the outermost point of a bin, and the mean spacing of the bin's points along the station, mm; 0 where the
// bin shows no edge.
type outermost struct {
	at  r3.Vec
	gap float64
}

// outermostOf returns the first point of a bin that others follow as closely as the bin's own density lets expect, so
// that a stray beyond the edge is passed over.
func outermostOf(bin []r3.Vec) outermost {
	const follow = 3
	if len(bin) < 8 {
		return outermost{}
	}
	stations := make([]float64, len(bin))
	for i := range bin {
		stations[i] = bin[i].Y
	}
	slices.Sort(stations)
	gaps := make([]float64, len(bin)-1)
	for i := range gaps {
		gaps[i] = stations[i+1] - stations[i]
	}
	// Gaps of a Poisson process are exponential: the mean is the median over ln 2.
	gap := math.Max(median(gaps)/math.Ln2, 1e-9)
	for i := 0; i+follow < len(bin); i++ {
		if stations[i+follow]-stations[i] < 3*follow*gap+1e-9 {
			return outermost{inPlace(bin, stations[i], i), gap}
		}
	}
	return outermost{}
}

// inPlace returns the point that stands at place i of a bin once that is sorted by station: the only one at that station
// mostly, which need not be sorted for.
func inPlace(bin []r3.Vec, station float64, i int) r3.Vec {
	at, n := 0, 0
	for k := range bin {
		if bin[k].Y == station {
			at = k
			n++
		}
	}
	if n == 1 {
		return bin[at]
	}
	slices.SortFunc(bin, func(a, b r3.Vec) int { return cmp.Compare(a.Y, b.Y) })
	return bin[i]
}

// givenBack returns the skin's edge in each bin that shows one: its outermost point, moved outboard by the share of a
// spacing that the plane's lean and the noise (mm) want.
func givenBack(found []outermost, noise float64) (edges []r3.Vec) {
	var gaps []float64
	for _, o := range found {
		if o.gap > 0 {
			gaps = append(gaps, o.gap)
		}
	}
	if len(gaps) == 0 {
		return nil
	}
	share := math.Min(edgeGiven+edgeNoisy*noise/median(gaps), edgeMost)
	for _, o := range found {
		if o.gap > 0 {
			o.at.Y -= share * o.gap
			edges = append(edges, o.at)
		}
	}
	return edges
}

// face looks for the rib's face at the skin's edge: points that fill the inside of the section.
func (f *fitter) face(p panel, edge end) (end, bool) {
	near := math.Max(6, 3*edge.rms)
	n := 0
	for _, q := range p.inside {
		if math.Abs(edge.height(q)) < near {
			n++
		}
	}
	var seen capCells
	pts := make([]r3.Vec, 0, n)
	for i, q := range p.inside {
		if math.Abs(edge.height(q)) < near {
			pts = append(pts, q)
			seen.mark(p.cell[i])
		}
	}
	hits, all := 0, 0
	for i, inside := range f.insideCells() {
		if inside {
			all++
			if seen[i] {
				hits++
			}
		}
	}
	if all == 0 || float64(hits) < capCover*float64(all) {
		return end{}, false
	}
	e, ok := plane(everyNth(pts, len(pts)/facePoints), near, 1)
	e.closed = true
	return e, ok
}

// everyNth returns one point in n, all where n is less than two.
func everyNth(pts []r3.Vec, n int) (out []r3.Vec) {
	if n < 2 {
		return pts
	}
	for i := 0; i < len(pts); i += n {
		out = append(out, pts[i])
	}
	return out
}

const (
	capColumns = 34 // of cells that reach over the chord
	capRows    = 20 // half of them above the chord line
)

// capCells marks cells of the unit section.
type capCells [capColumns * capRows]bool

// mark marks the cell of a place; beyond the cells nothing is marked.
func (c *capCells) mark(q r2.Vec) {
	i, k := math.Floor(q.X/capCell), math.Floor(q.Y/capCell)+capRows/2
	if i >= 0 && i < capColumns && k >= 0 && k < capRows {
		c[int(i)*capRows+int(k)] = true
	}
}

// insideCells marks the cells that lie wholly inside the section.
func (f *fitter) insideCells() (cells capCells) {
	for i := range capColumns {
		for k := range capRows {
			c := r2.Vec{X: (float64(i) + 0.5) * capCell, Y: (float64(k-capRows/2) + 0.5) * capCell}
			if ft, ok := f.field.at(c); ok && ft.distance < -capCell {
				cells[i*capRows+k] = true
			}
		}
	}
	return cells
}

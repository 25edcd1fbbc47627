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

// The plane of the tip rib fixes the wing frame's Y. Where the rib's face was scanned, its points give the
// plane; where the panel is open, the outboard edge of the skin does. A ragged edge says little, and then
// the expectation that ribs stand square to the spar carries the more weight.

const (
	edgeBinMM   = 10.0  // mm of arc in which the skin's edge is looked for
	capCover    = 0.5   // share of the section's inside that must show points for a closed end
	capCell     = 0.03  // chords, cells in which the inside is counted
	spanSpread  = 0.1   // rad: how far ribs may stand off square to the spar, with sweep and dihedral (6 degrees; common practice, no source)
	ribsApart   = 0.004 // rad: how far the ribs of one panel may stand off parallel (common practice, no source)
	edgeMiddle  = 0.45  // chords aft: about the middle of the edges, which stays put when the plane is turned
	edgeHeight  = 0.1   // chords: the edge's extent square to the chord, about
	roundStep   = 1.0   // mm, slices in which a rounded end is followed outboard ...
	leastRound  = 5     // ... points that each must show ...
	roundShare  = 0.25  // share of the way to the rib by which an end must go on beyond its edge to be called rounded
	roundGap    = 8     // ... and slices that may be missed
	raggedEdge  = 3.0   // mm, robust spread of the edge about its plane from which it is no edge of a rib
	edgeVoice   = 3     // neighbouring bins of an edge that err together: cut, torn or unseen, it errs in stretches
	sparChord   = 0.30  // chord fraction of the line that ribs are expected to be square to
	edgeLean    = 0.08  // weight of a skin's outermost point that lies inboard of the edge
	leastEdge   = 20    // bins that must show an edge
	edgeCut     = 0.05  // chords: a bin's edge that lies farther from the plane says nothing about it
	edgeSpreads = 8     // ... and so does one that lies as many spreads from it
	edgeMargin  = 30.0  // mm more in which points are asked how close together they stand
	facePoints  = 8000  // of a face, or up to twice as many, through which its plane is laid
	edgeEnough  = 60    // points of a bin that tell where about its edge is
	edgeKnown   = 0.2   // chords: an end that is looked for within more than that will be looked for again
)

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
			row := [3]float64{1, p.X, p.Z}
			sum += w[i]
			for a := range 3 {
				right[a] += w[i] * row[a] * p.Y
				for b := a; b < 3; b++ {
					sums[a][b] += w[i] * row[a] * row[b]
				}
			}
		}
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
	parts := chunked((len(f.points)+stride-1)/stride, func(first, last int) (p panel) {
		for i := first; i < last; i++ {
			point := f.points.at(i * stride)
			if h := r3.Dot(up, point) + off; h < b.lo || h > b.hi {
				continue
			}
			at := f.wingFromPoints.apply(point)
			w := r3.Vec{X: at.X, Y: at.Y * f.inboard, Z: at.Z}
			r, ok := f.at(at)
			d := r.distance - f.offset
			switch {
			case !ok || r.end:
			case math.Abs(d) < on:
				p.skin, p.arc = append(p.skin, w), append(p.arc, r.arc*f.Chord)
			case d < -deep:
				p.inside, p.cell = append(p.inside, w), append(p.cell, f.place(at).q)
			}
		}
		return p
	})
	return panel{
		skin: listed(parts, func(p panel) []r3.Vec { return p.skin }), arc: listed(parts, func(p panel) []float64 { return p.arc }),
		inside: listed(parts, func(p panel) []r3.Vec { return p.inside }), cell: listed(parts, func(p panel) []r2.Vec { return p.cell }),
	}
}

// listed puts one list of each part after the other.
func listed[P, T any](parts []P, list func(P) []T) []T {
	n := 0
	for _, p := range parts {
		n += len(list(p))
	}
	out := make([]T, 0, n)
	for _, p := range parts {
		out = append(out, list(p)...)
	}
	return out
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
	bins := make([][]r3.Vec, int(f.field.length()*f.Chord/edgeBinMM)+1)
	for i, q := range p.skin {
		if b := int(p.arc[i] / edgeBinMM); b >= 0 && b < len(bins) {
			bins[b] = append(bins[b], q)
		}
	}
	type edge struct {
		at r3.Vec
		ok bool
	}
	found := make([]edge, len(bins))
	scan.OnAllProcessors(len(bins), func(b int) { found[b].at, found[b].ok = outermost(bins[b]) })
	var edges []r3.Vec
	for _, e := range found {
		if e.ok {
			edges = append(edges, e.at)
		}
	}
	if len(edges) < leastEdge {
		return end{}, false
	}
	e, ok := plane(edges, edgeCut*f.Chord, edgeLean)
	e.uX, e.uZ = e.uX*math.Sqrt(edgeVoice), e.uZ*math.Sqrt(edgeVoice)
	return e, ok
}

// outermost returns the skin's edge in one bin: the first point that others follow as closely as the bin's
// own density lets expect, so that a stray beyond the edge is passed over. Half a spacing is given back,
// since the edge lies on average so far beyond the outermost point.
func outermost(bin []r3.Vec) (r3.Vec, bool) {
	const follow = 3
	if len(bin) < 8 {
		return r3.Vec{}, false
	}
	slices.SortFunc(bin, func(a, b r3.Vec) int { return cmp.Compare(a.Y, b.Y) })
	gaps := make([]float64, 0, len(bin))
	for i := 1; i < len(bin); i++ {
		gaps = append(gaps, bin[i].Y-bin[i-1].Y)
	}
	// Gaps of a Poisson process are exponential: the mean is the median over ln 2.
	gap := median(gaps) / math.Ln2
	for i := 0; i+follow < len(bin); i++ {
		if bin[i+follow].Y-bin[i].Y < 3*follow*gap+1e-9 {
			q := bin[i]
			q.Y -= gap / 2
			return q, true
		}
	}
	return r3.Vec{}, false
}

// face looks for the rib's face at the skin's edge: points that fill the inside of the section.
func (f *fitter) face(p panel, edge end) (end, bool) {
	near := math.Max(6, 3*edge.rms)
	seen, all := map[[2]int]bool{}, f.insideCells()
	var pts []r3.Vec
	for i, q := range p.inside {
		if math.Abs(edge.height(q)) < near {
			pts = append(pts, q)
			seen[capKey(p.cell[i])] = true
		}
	}
	hits := 0
	for key := range all {
		if seen[key] {
			hits++
		}
	}
	if len(all) == 0 || float64(hits) < capCover*float64(len(all)) {
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

func capKey(q r2.Vec) [2]int {
	return [2]int{int(math.Floor(q.X / capCell)), int(math.Floor(q.Y / capCell))}
}

// insideCells lists the cells that lie wholly inside the section.
func (f *fitter) insideCells() map[[2]int]bool {
	cells := map[[2]int]bool{}
	for i := 0; i < int(math.Ceil(1/capCell)); i++ {
		for k := -10; k < 10; k++ {
			c := r2.Vec{X: (float64(i) + 0.5) * capCell, Y: (float64(k) + 0.5) * capCell}
			if ft, ok := f.field.at(c); ok && ft.distance < -capCell {
				cells[[2]int{i, k}] = true
			}
		}
	}
	return cells
}

// expected is the plane that the loft lets expect where the edge says nothing: square to the line at 30 %
// of the chord, through the outermost station.
func (f *fitter) expected(lo float64) end {
	// Along the station, the line moves aft by Sweep + 0.3·Taper; the plane square to it leans against that.
	return end{at: lo, slopeX: -(f.Sweep + sparChord*f.Taper), slopeZ: -f.Rise, uX: spanSpread, uZ: spanSpread}
}

// tipPlane returns the plane of the tip rib's face: as scanned where it was, and otherwise the plane of the
// skin's edge, weighed with what the loft and a scanned face at the other end let expect. tipRib is how far
// inboard of the end the rib lies, mm: the skin beyond it may be rounded. The ends are looked for within reach, mm.
func (f *fitter) tipPlane(lo, hi, tipRib, reach float64) (end, bool) {
	tip, ok := f.end(lo, hi, 1, reach)
	if !ok || tip.closed {
		return tip, ok
	}
	expected := f.expected(tip.at)
	if root, ok := f.end(lo, hi, -1, reach); ok && root.closed {
		root.uX, root.uZ = math.Hypot(root.uX, ribsApart), math.Hypot(root.uZ, ribsApart)
		expected = expected.blend(root, f.Chord)
	}
	if tipRib > 0 {
		return f.rounded(tip, expected, tipRib), true
	}
	return tip.blend(expected, f.Chord), true
}

// rounded returns the plane through the outermost part of an end that goes on beyond the tip rib. A rounded end
// has no edge that could lean a plane, so the more it is rounded the less its edge counts.
func (f *fitter) rounded(e, expected end, tipRib float64) end {
	out := e.blend(expected, f.Chord)
	beyond := f.beyond(out, tipRib)
	if beyond < roundShare*tipRib {
		return out // the skin ends square, as far out as it goes
	}
	e.uX, e.uZ = math.Hypot(e.uX, beyond/f.Chord), math.Hypot(e.uZ, beyond/(edgeHeight*f.Chord))
	out = e.blend(expected, f.Chord)
	out.at -= f.beyond(out, tipRib)
	return out
}

// beyond returns how far a rounded end reaches outboard of the plane where its skin leaves the loft, mm. The
// rounding lies within the section carried on; it is followed until nothing more is seen.
func (f *fitter) beyond(e end, tipRib float64) float64 {
	counts := make([]int, int(2*tipRib/roundStep)+1)
	p := f.gather(band{end{at: e.at}, -3 * tipRib, tipRib}, 1)
	for _, q := range slices.Concat(p.skin, p.inside) {
		if k := int(math.Floor(-e.height(q) / roundStep)); k >= 0 && k < len(counts) {
			counts[k]++
		}
	}
	last := -1
	for k, n := range counts {
		if n >= leastRound {
			last = k
		} else if k-last > roundGap {
			break
		}
	}
	return float64(last+1) * roundStep
}

// blend weighs the plane that was seen with the one that was expected, slope by slope, by their
// uncertainties, and turns the seen one about the middle of its edge.
func (e end) blend(expected end, chord float64) end {
	mix := func(a, ua, b, ub float64) (float64, float64) {
		wa, wb := 1/(ua*ua), 1/(ub*ub)
		return (a*wa + b*wb) / (wa + wb), 1 / math.Sqrt(wa+wb)
	}
	before := e.slopeX
	e.slopeX, e.uX = mix(e.slopeX, e.uX, expected.slopeX, expected.uX)
	e.slopeZ, e.uZ = mix(e.slopeZ, e.uZ, expected.slopeZ, expected.uZ)
	e.at += (before - e.slopeX) * edgeMiddle * chord
	return e
}

// square turns the frame so that Y is square to the plane and X along the chord there, and puts the origin
// at the leading edge, tipRib inboard of the plane. The loft's slopes take up what the turn changes.
func (f *fitter) square(e end, tipRib float64) {
	y := r3.Unit(r3.Vec{X: -e.slopeX * f.inboard, Y: 1, Z: -e.slopeZ * f.inboard})
	x := r3.Unit(r3.Sub(r3.Vec{X: 1}, r3.Scale(y.X, y)))
	z := r3.Cross(x, y)
	turn := Transform{R: [3][3]float64{{x.X, x.Y, x.Z}, {y.X, y.Y, y.Z}, {z.X, z.Y, z.Z}}, Scale: 1}
	edge := r3.Vec{X: f.Sweep, Y: f.inboard, Z: f.Rise} // of the leading edge, per old station
	run := turn.Rotate(edge).Y * f.inboard              // new stations per old one
	// The leading edge meets the plane at the old station s.
	s := e.at/(1-e.slopeX*f.Sweep-e.slopeZ*f.Rise) + tipRib/run
	f.Chord += f.Taper * s
	level := Transform{R: rotation(r3.Vec{Y: -f.Twist * s}), Scale: 1} // the incidence that has grown up to s
	turn = level.After(turn)
	lead := turn.Rotate(edge)
	f.Sweep, f.Rise = lead.X/run, lead.Z/run
	f.Taper, f.Twist = f.Taper/run, f.Twist/run
	turn.T = r3.Scale(-s, lead)
	f.wingFromPoints = turn.After(f.wingFromPoints)
}

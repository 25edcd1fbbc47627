package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// The tail's edge. A tape measures from nose to tail, and the shape of a section says little about its
// chord: 1 mm more of it moves the skin by less than a tenth anywhere but at the ends. The nose is held by
// the fit; the tail is found here, where the density of points falls off. That place is not moved by noise,
// which blurs the edge to both sides alike, nor by points on the blunt face of a thick tail, which lie on
// the edge itself. A rounded tail goes on beyond the end of its skins by half its thickness.

const (
	tailFrom       = 0.955 // chords: where the density of the skin is taken
	tailTo         = 1.025
	tailBins       = 140
	tailFine       = (tailTo - tailFrom) / tailBins / 16 // step of the last search
	tailApart      = 0.003                               // chords: how far the edge in one band may lie from the others'
	mostTailRadius = 4.0                                 // mm
	roundTailGain  = 15.0                                // by how much a rounding must explain the tail better, squared standard deviations
	tailReach      = 0.008                               // chords: how far a thick tail's skins may lie off the nominal
	leastTail      = 150                                 // points in a band
	tailTrim       = 2.0                                 // mm before the edge that are left out of the fit and the map, at least
	tailMargin     = 0.03                                // chords by which the pose may move the tail after a first fit
	exactNoise     = 0.05                                // mm: a mesh with less comes from a drawing
	mostMeshTailU  = 4.0                                 // mm
	tailSlack      = 0.005                               // chords by which twist moves it along the chord
	tailSample     = 300_000                             // points laid over the triangles of the tail, about
	tailDivideMost = 100                                 // parts along a triangle's side, at most
	tailBands      = 5
	leastTailBand  = 60.0 // mm
	tailU          = 0.3  // mm, standard uncertainty that no number of points takes away (common practice, no source)
)

// tailBand is the tail's edge as seen in one band of stations.
type tailBand struct {
	station float64 // mm, middle of the band
	at, u   float64 // chords of the loft there: the edge and its standard uncertainty
	radius  float64 // mm, of the tail's rounding
}

// tailEdges looks for the edge in bands of stations, so that it tells of the taper too.
func (f *fitter) tailEdges(points []tailPoint, lo, hi float64) (bands []tailBand) {
	n := max(1, min(tailBands, int((hi-lo)/leastTailBand)))
	radius := f.tailRadius(points, lo, hi)
	for i := range n {
		a, b := lo+(hi-lo)*float64(i)/float64(n), lo+(hi-lo)*float64(i+1)/float64(n)
		if at, u, ok := f.tailEdge(points, a, b, radius); ok {
			bands = append(bands, tailBand{(a + b) / 2, at, u, radius})
		}
	}
	return agreeing(bands)
}

// agreeing drops bands whose edge lies so far from the others' that something else was taken for it.
func agreeing(bands []tailBand) []tailBand {
	if len(bands) < 3 {
		return bands
	}
	var edges []float64
	for _, b := range bands {
		edges = append(edges, b.at)
	}
	middle := median(edges)
	return slices.DeleteFunc(bands, func(b tailBand) bool { return math.Abs(b.at-middle) > math.Max(tailApart, 4*b.u) })
}

// tailEdge returns where the skin ends, in chords of the loft, with its standard uncertainty; ok is false
// where the tail was not seen. radius is that of a rounded tail, mm.
func (f *fitter) tailEdge(points []tailPoint, lo, hi, radius float64) (at, u float64, ok bool) {
	h, n := tailHistogram(points, lo, hi)
	if n < leastTail {
		return 0, 0, false
	}
	at, blur, _ := squareTail(h)
	if at < 0.971 || at > 1.013 {
		return 0, 0, false
	}
	if radius > 0 {
		at, _ = roundTail(h, at, blur, radius/f.ChordAt((lo+hi)/2))
	}
	// The edge of a skin with m points in the length of its blur is known to blur/sqrt(m).
	m := float64(n) / (at - tailFrom) * blur
	u = math.Hypot(blur/math.Sqrt(math.Max(m, 1)), tailFine)
	return at, math.Hypot(u, tailU/f.ChordAt((lo+hi)/2)), true
}

// trimTail leaves the last of the tail out of all that follows: points of its blunt face, and the rounding of
// its corners, would pass for skin there.
func (f *fitter) trimTail(bands []tailBand) {
	if len(bands) == 0 {
		return
	}
	var edges []float64
	for _, b := range bands {
		edges = append(edges, b.at)
	}
	f.tail = median(edges) - (math.Max(tailTrim, 4*f.scale)+bands[0].radius)/f.Chord
}

// tailPoint is a point on the aft skin or just behind it.
type tailPoint struct {
	x, station, weight float64 // chords aft, mm; points of skin that it stands for
	lower              bool    // nearer to the lower skin
}

// tailPoint places a point (wing frame) if it lies at the tail.
func (f *fitter) tailPoint(p r3.Vec, weight float64) (tailPoint, bool) {
	l := f.place(p)
	q := l.neutral
	if q.X < tailFrom || q.X >= tailTo {
		return tailPoint{}, false
	}
	top, bottom := f.field.outline[0], f.field.outline[len(f.field.outline)-1]
	reach := math.Max(4*f.scale/f.Chord, tailReach)
	lower := q.Y < (top.Y+bottom.Y)/2
	if q.X < top.X {
		ft, ok := f.field.at(q)
		if !ok || math.Abs(ft.distance) > reach {
			return tailPoint{}, false
		}
		lower = ft.arc > f.field.arc[f.field.nose]
	} else if q.Y > top.Y+reach || q.Y < bottom.Y-reach {
		return tailPoint{}, false
	}
	return tailPoint{q.X, l.station, weight, lower}, true
}

// tailPoints lists the points at the tail. The vertices of a mesh may stand in columns, several millimetres
// apart, that would pass for edges; so each triangle there is divided into small ones of equal area: the
// fewer triangles there are, the finer.
func (w *work) tailPoints() []tailPoint {
	c := w.best
	if w.aft == nil {
		w.aft = w.aftItems()
	}
	if !w.mesh() {
		return gatherTail(len(w.aft), func(i int, add func(p r3.Vec, weight float64)) {
			add(c.wingFromPoints.Apply(c.points.at(int(w.aft[i]))), 1)
		}, &c.fitter)
	}
	toWing := w.wingFromScan()
	var near []uint32
	for _, i := range w.aft {
		if c.touchesTail(w.triangle(i, &toWing), 0) {
			near = append(near, i)
		}
	}
	n := int(math.Sqrt(tailSample / float64(max(len(near), 1))))
	n = min(max(n, 1), tailDivideMost)
	return gatherTail(len(near), func(i int, add func(p r3.Vec, weight float64)) {
		divide(w.triangle(near[i], &toWing), n, add)
	}, &c.fitter)
}

// aftItems lists the points, or of a mesh the triangles, that lie at the tail or so close to it that a small change of
// the pose may bring them there.
func (w *work) aftItems() []uint32 {
	c := w.best
	n, toWing := len(c.points), w.wingFromScan()
	if w.mesh() {
		n = len(w.points.scan.Triangles)
	}
	return joined(n, func(lo, hi int) (out []uint32) {
		for i := uint32(lo); i < uint32(hi); i++ {
			p := [3]r3.Vec{}
			if w.mesh() {
				p = w.triangle(i, &toWing)
			} else {
				p[0] = c.wingFromPoints.Apply(c.points.at(int(i)))
				p[1], p[2] = p[0], p[0]
			}
			if c.touchesTail(p, tailMargin) {
				out = append(out, i)
			}
		}
		return out
	})
}

// triangle returns the corners of a triangle of the scan in the wing frame.
func (w *work) triangle(i uint32, toWing *Transform) (p [3]r3.Vec) {
	for k, v := range w.points.scan.Triangles[i] {
		p[k] = toWing.Apply(vec(w.points.scan.At(int(v))))
	}
	return p
}

// meshTailU returns by how much (k = 2) the tail's edge may lie wrong, mm, because a scanner's mesh draws it with sides
// of triangles: a sixth of their length (by simulated scans of 3 to 10 mm a side). An exact mesh has its corners on the edge.
func (w *work) meshTailU(noise float64) float64 {
	if !w.mesh() || noise < exactNoise || len(w.aft) == 0 {
		return 0
	}
	sides := make([]float64, len(w.aft))
	for k, i := range w.aft {
		sides[k] = float64(w.points.sides[i]) * w.best.mm
	}
	return math.Min(median(sides)/6, mostMeshTailU)
}

// touchesTail reports whether a triangle (wing frame) reaches into the aft skin, or comes as close as margin, chords.
func (f *fitter) touchesTail(p [3]r3.Vec, margin float64) bool {
	least, most, chord := math.Inf(1), math.Inf(-1), 0.0
	for _, v := range p {
		station := v.Y * f.inboard
		chord = f.ChordAt(station)
		x := v.X - f.Sweep*station
		least, most = math.Min(least, x), math.Max(most, x)
	}
	// The small turn of the twist moves the tail along the chord by less than the margin that is added here.
	return most > (tailFrom-margin-tailSlack)*chord && least < (tailTo+margin+tailSlack)*chord
}

// divide lays the middles of n² equal parts of a triangle, each with its share of the area.
func divide(p [3]r3.Vec, n int, add func(p r3.Vec, weight float64)) {
	b, d := r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0])
	share := r3.Norm(r3.Cross(b, d)) / 2 / float64(n*n)
	at := func(s, t float64) r3.Vec {
		return r3.Add(p[0], r3.Add(r3.Scale(s/float64(n), b), r3.Scale(t/float64(n), d)))
	}
	for u := range n {
		for v := range n - u {
			add(at(float64(u)+1./3, float64(v)+1./3), share)
			if u+v < n-1 {
				add(at(float64(u)+2./3, float64(v)+2./3), share)
			}
		}
	}
}

// gatherTail collects the tail points of n items.
func gatherTail(n int, item func(i int, add func(p r3.Vec, weight float64)), f *fitter) []tailPoint {
	return joined(n, func(lo, hi int) (out []tailPoint) {
		for i := lo; i < hi; i++ {
			item(i, func(p r3.Vec, weight float64) {
				if t, ok := f.tailPoint(p, weight); ok {
					out = append(out, t)
				}
			})
		}
		return out
	})
}

// tailHistogram counts the tail points between two stations by their place along the chord. The counts are
// scaled so that their sum is the number of points, whatever their weights.
func tailHistogram(points []tailPoint, lo, hi float64) (h [tailBins]float64, n int) {
	var sum float64
	for _, p := range points {
		if p.station >= lo && p.station < hi {
			h[int((p.x-tailFrom)/(tailTo-tailFrom)*tailBins)] += p.weight
			sum += p.weight
			n++
		}
	}
	for i := range h {
		h[i] *= float64(n) / math.Max(sum, 1e-300)
	}
	return h, n
}

// squareTail returns the edge of a tail cut square, its blur (both chords) and its loss.
func squareTail(h [tailBins]float64) (at, blur, loss float64) {
	bin := (tailTo - tailFrom) / tailBins
	loss = math.Inf(1)
	try := func(e, s float64) {
		if l := edgeLoss(h, e, s, 0); l < loss {
			loss, at, blur = l, e, s
		}
	}
	for _, s := range []float64{0.0002, 0.0004, 0.0007, 0.0012, 0.002, 0.0035} {
		for e := 0.97; e < 1.015; e += bin {
			try(e, s)
		}
	}
	around, width := at, blur
	for e := around - bin; e < around+bin; e += bin / 16 {
		for _, s := range []float64{width / 1.4, width, 1.4 * width} {
			try(e, s)
		}
	}
	return at, blur, loss
}

// tailRadius returns the radius of the tail's rounding as the whole panel shows it, mm; 0 unless a rounding
// explains it clearly better than a square end.
func (f *fitter) tailRadius(points []tailPoint, lo, hi float64) float64 {
	h, n := tailHistogram(points, lo, hi)
	if n < leastTail {
		return 0
	}
	square, blur, loss := squareTail(h)
	const step = 0.4 // mm
	best, least := 0.0, loss-roundTailGain
	for radius := 2 * step; radius <= mostTailRadius; radius += step {
		if _, l := roundTail(h, square, blur, radius/f.ChordAt((lo+hi)/2)); l < least {
			best, least = radius, l
		}
	}
	return best
}

// roundTail returns the edge of a tail with the given radius (chords), and its loss, from the edge found for a
// square one.
func roundTail(h [tailBins]float64, square, blur, radius float64) (at, loss float64) {
	loss = math.Inf(1)
	for k := range 25 {
		e := square + radius*(float64(k)/16-0.25)
		for _, s := range []float64{blur / 2, blur / 1.4, blur} {
			if l := edgeLoss(h, e, s, radius); l < loss {
				at, loss = e, l
			}
		}
	}
	return at, loss
}

// edgeLoss returns how badly a blurred edge at e explains the histogram: a skin of even density that ends a
// radius before it, and a face that bulges from there to the edge. The two amounts are fitted. The points of a
// half circle lie about 0.3 radii before its end on average, with a standard deviation as large: 0.36 and 0.31
// where they are even along the arc, 0.21 and 0.22 where they are even over the height (computed).
func edgeLoss(h [tailBins]float64, e, blur, radius float64) float64 {
	bin := (tailTo - tailFrom) / tailBins
	var aa, ab, bb, ah, bh, hh float64
	end, face, faceBlur := e-radius, e-0.29*radius, math.Hypot(blur, 0.27*radius)
	lastRamp, lastStep := ramp((tailFrom-end)/blur), cumulative((tailFrom-face)/faceBlur)
	for i, count := range h {
		x := tailFrom + float64(i+1)*bin
		nextRamp, nextStep := ramp((x-end)/blur), cumulative((x-face)/faceBlur)
		skin := 1 - (nextRamp-lastRamp)*blur/bin // share of the bin that the skin fills
		face := nextStep - lastStep
		lastRamp, lastStep = nextRamp, nextStep
		w := 1 / (count + 2)
		aa, ab, bb = aa+w*skin*skin, ab+w*skin*face, bb+w*face*face
		ah, bh, hh = ah+w*skin*count, bh+w*face*count, hh+w*count*count
	}
	det := aa*bb - ab*ab
	a, b := ah/aa, 0.0
	if det > 0 {
		if b = (aa*bh - ab*ah) / det; b < 0 {
			b = 0
		} else {
			a = (bb*ah - ab*bh) / det
		}
	}
	return hh - 2*a*ah - 2*b*bh + a*a*aa + 2*a*b*ab + b*b*bb
}

// farSigma is how many standard deviations from the middle a normal distribution has nothing left: one part in 10^9.
const farSigma = 6

// cumulative is the standard normal distribution function, ramp its integral.
func cumulative(z float64) float64 {
	switch {
	case z < -farSigma:
		return 0
	case z > farSigma:
		return 1
	}
	return 0.5 * math.Erfc(-z/math.Sqrt2)
}

func ramp(z float64) float64 {
	switch {
	case z < -farSigma:
		return 0
	case z > farSigma:
		return z
	}
	return z*cumulative(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
}

// surfacePoint returns the point of the loft's surface (wing frame, mm) at an arc (chords, on the unit
// outline) and a station, and the unit section's place there with the aileron at neutral.
func (m *model) surfacePoint(arc, station float64) (x, z float64, neutral r2.Vec) {
	neutral, _ = m.field.point(arc)
	p := m.Place(m.Deflect(neutral), station)
	return p.X, p.Y, neutral
}

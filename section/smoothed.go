package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// Smoothed meshes. A scanner's program often smooths the mesh before it is saved: every corner moves towards the mean
// of its neighbours, again and again. That takes the noise away, and with it the edges: the nose is drawn back a
// little, a thin tail by millimetres, and a scale by the tape comes out too large. Two things give it away. The
// corners of a mesh that was not smoothed err each for itself, those of a smoothed one together with their neighbours.
// And the skins, led straight on, would meet the tail's face farther aft than where the rounded tail ends.
//
// Smoothing is diffusion along the skin, so its effect is that of a Gaussian filter along the arc, whatever the number
// of rounds (the central limit theorem; Taubin, SIGGRAPH 1995, 351, from memory, on Laplacian smoothing as a filter).

const (
	smoothedBelow   = 0.85   // share of the noise that neighbouring corners do not have in common, below which a mesh is smoothed: of one as scanned it is 1
	roughBlock      = 40.0   // mm, side of the blocks of skin over which the noise is told
	roughTriangles  = 60_000 // looked at, about
	leastRough      = 16     // corners in a block
	leastRoughest   = 8      // blocks
	profileStep     = 0.5    // mm
	profileAhead    = 25.0   // mm before the edge over which the tail's thickness is looked at
	profileSkip     = 1.0    // mm before the edge that are left out
	endCounts       = 0.1    // weight of a millimetre by which the end is missed, against one of thickness
	profileStraight = 10.0   // mm
	leastProfile    = 12     // steps with both skins
	mostSmoothing   = 12.0   // mm
	smoothedU       = 0.5    // share of what smoothing took away that is doubtful, k = 2: it is rarely quite a Gaussian filter
	smoothedFrom    = 0.3    // mm on the chord from which smoothing is told
	taperOver       = 0.004  // chords before the end over which the nominal's taper there is taken
	noseBend        = 0.004  // chords either side of the leading edge over which its radius is taken
)

// ownNoise returns the share of the corners' noise that they do not share with their neighbours: near 1 as scanned,
// little in a smoothed mesh. ok is false where there are too few to tell, or no noise.
func (w *work) ownNoise() (share float64, ok bool) {
	type block struct {
		arc, station, d []float64
		steps           float64 // squares of the differences along the sides
		sides           float64
	}
	c, toWing := w.best, w.wingFromScan()
	blocks := map[[2]int]*block{}
	stride, with := len(w.points.scan.Triangles)/roughTriangles+1, c.sampler()
	from, to := w.rimStation(), c.hi
	some := joined((len(w.points.scan.Triangles)+stride-1)/stride, func(lo, hi int) (out [][3]sample) {
		out = make([][3]sample, 0, hi-lo)
		for i := lo; i < hi; i++ {
			var s [3]sample
			good := true
			for k, p := range w.triangle(uint32(i*stride), &toWing) {
				good = good && with.look(p, &s[k]) && s[k].station > from && s[k].station < to
			}
			if good {
				out = append(out, s)
			}
		}
		return out
	})
	for _, s := range some {
		at := [2]int{int(s[0].arc / roughBlock), int(s[0].station / roughBlock)}
		b := blocks[at]
		if b == nil {
			b = &block{}
			blocks[at] = b
		}
		for k := range s {
			b.arc, b.station, b.d = append(b.arc, s[k].arc), append(b.station, s[k].station), append(b.d, s[k].distance)
			step := s[k].distance - s[(k+1)%3].distance
			b.steps, b.sides = b.steps+step*step, b.sides+1
		}
	}
	full := make([]*block, 0, len(blocks))
	for _, b := range blocks {
		if len(b.d) >= leastRough {
			full = append(full, b)
		}
	}
	variances := make([]float64, len(full))
	scan.OnAllProcessors(len(full), func(k int) { variances[k] = planeVariance(full[k].arc, full[k].station, full[k].d) })
	var shares []float64
	for k, b := range full {
		if v := variances[k]; v > exactNoise*exactNoise/4 {
			shares = append(shares, b.steps/b.sides/(2*v))
		}
	}
	if len(shares) < leastRoughest {
		return 0, false
	}
	return median(shares), true
}

// planeVariance returns the variance of d about the plane over x and y that lies closest.
func planeVariance(x, y, d []float64) float64 {
	n := float64(len(d))
	mean := func(v []float64) (m float64) {
		for _, e := range v {
			m += e / n
		}
		return m
	}
	mx, my, md := mean(x), mean(y), mean(d)
	var xx, xy, yy, xd, yd, dd float64
	for i := range d {
		a, b, e := x[i]-mx, y[i]-my, d[i]-md
		xx, xy, yy, xd, yd, dd = xx+a*a, xy+a*b, yy+b*b, xd+a*e, yd+b*e, dd+e*e
	}
	if det := xx*yy - xy*xy; det > 0 {
		p, q := (yy*xd-xy*yd)/det, (xx*yd-xy*xd)/det
		dd -= p*xd + q*yd
	}
	return dd / math.Max(n-3, 1)
}

// tailProfile is half the thickness of the tail over the place along the chord.
type tailProfile struct{ at, half []float64 } // mm; at is aft of the edge as scanned

// tailBend returns by how much half the nominal's thickness differs from what a straight taper as at its end would make
// it, mm, at a place so far aft of the end, mm.
func (f *fitter) tailBend(at float64) float64 {
	half := func(x float64) float64 {
		return f.Chord / 2 * (heightAt(f.field.outline[:f.field.nose+1], x) - heightAt(f.field.outline[f.field.nose:], x))
	}
	x := math.Min(1+at/f.Chord, 1)
	return half(x) - half(1) - (half(1-taperOver)-half(1))*(1-x)/taperOver
}

// profile gathers it, the nominal's own bend taken out.
func (f *fitter) profile(points []tailPoint, lo, hi float64, edge *straight) (p tailProfile) {
	const steps = int(profileAhead/profileStep) + 4
	var heights [2][steps][]float64
	for _, q := range points {
		if q.station < lo || q.station >= hi {
			continue
		}
		at := (q.x-1)*f.ChordAt(q.station) - edge.at(q.station)
		if k := int(math.Floor((at + profileAhead) / profileStep)); k >= 0 && k < steps {
			heights[q.side()][k] = append(heights[q.side()][k], q.height)
		}
	}
	usual := float64(len(heights[0][steps/2]) + len(heights[1][steps/2]))
	for k := range steps {
		if n := float64(min(len(heights[0][k]), len(heights[1][k]))); n >= leastBlock && n > usual/10 {
			p.at = append(p.at, -profileAhead+(float64(k)+0.5)*profileStep)
			p.half = append(p.half, (median(heights[0][k])-median(heights[1][k]))/2-f.tailBend(p.at[len(p.at)-1]))
		}
	}
	return p
}

// roundedTail is a tail cut square whose corners a Gaussian filter along the arc has rounded off.
type roundedTail struct {
	edge   float64 // mm aft of the edge as scanned: where it was cut
	half   float64 // mm: half its thickness there
	slope  float64 // by which that grows forward
	filter float64 // mm, standard deviation
}

// point returns the place along the chord, aft of the edge as scanned, and the half thickness of the point that lies at
// an arc from the middle of the face, mm.
func (r *roundedTail) point(arc float64) (at, half float64) {
	up, down := r.filter*ramp((arc-r.half)/r.filter), r.filter*ramp((-arc-r.half)/r.filter)
	return r.edge - up - down, arc - (1-r.slope)*(up-down)
}

// end returns how far aft the rounded tail reaches.
func (r *roundedTail) end() float64 {
	at, _ := r.point(0)
	return at
}

// loss returns the sum of squares of what the profile differs. Close to the edge the points of the face itself count, and
// noise has carried others there, so it is left out; that the tail ends about where it was found to does count.
func (r *roundedTail) loss(p *tailProfile) (sum float64) {
	arc := 0.0
	at, half := r.point(0)
	sum = at * at * endCounts
	for i := len(p.at) - 1; i >= 0; i-- {
		if p.at[i] > -profileSkip {
			continue
		}
		before, beforeHalf := at, half
		for at > p.at[i] && arc < 3*profileAhead {
			before, beforeHalf = at, half
			arc += profileStep / 2
			at, half = r.point(arc)
		}
		share := 0.5
		if before > at {
			share = math.Min(math.Max((before-p.at[i])/(before-at), 0), 1)
		}
		e := beforeHalf + share*(half-beforeHalf) - p.half[i]
		sum += e * e
	}
	return sum
}

// unsmoothed returns the square tail that smoothing has made the profile of; ok is false where it cannot be told.
func (p *tailProfile) unsmoothed() (r roundedTail, ok bool) {
	if len(p.at) < leastProfile {
		return r, false
	}
	// The skins are straight well before the edge.
	var n, sx, sy, sxx, sxy float64
	for i, x := range p.at {
		if x < -profileStraight {
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+p.half[i], sxx+x*x, sxy+x*p.half[i]
		}
	}
	slope := (sxy - sx*sy/n) / (sxx - sx*sx/n)
	half := (sy - slope*sx) / n // at the edge as scanned
	if !(n > 2) || !(slope < 0) {
		return r, false
	}
	at := func(q []float64) roundedTail {
		r := roundedTail{slope: -slope, filter: math.Min(0.2+math.Abs(q[1]), mostSmoothing)}
		// Where was it cut, that it now ends there? The later, the thinner, the more was taken away: it converges.
		for range 30 {
			r.half = math.Max(half+slope*r.edge, 0)
			r.edge += q[0] - r.end()
		}
		return r
	}
	best := math.Inf(1)
	for _, filter := range []float64{0.5, 2, 4} {
		q := []float64{0.2, filter}
		l := walk(q, []float64{0.2, 0.5}, func(q []float64) float64 {
			r := at(q)
			return r.loss(p)
		})
		if l < best {
			best, r = l, at(q)
		}
	}
	return r, true
}

// noseRadius returns the radius of the nominal's nose, mm.
func (f *fitter) noseRadius() float64 {
	nose := f.field.arc[f.field.nose]
	a, _ := f.field.point(nose - noseBend)
	b, _ := f.field.point(nose)
	c, _ := f.field.point(nose + noseBend)
	ab, bc, ca := r2.Sub(b, a), r2.Sub(c, b), r2.Sub(a, c)
	return f.Chord * r2.Norm(ab) * r2.Norm(bc) * r2.Norm(ca) / math.Max(2*math.Abs(r2.Cross(ab, bc)), 1e-12)
}

// smoothing is what smoothing took away at tail and nose, and how far it reached, mm.
type smoothing struct{ tail, nose, filter float64 }

// chord returns by how much a smoothed wing is too short.
func (s *smoothing) chord() float64 { return s.tail + s.nose }

// meshNoise remembers what ownNoise has found.
type meshNoise struct{ known, smoothed bool }

// smoothed reports whether the mesh looks smoothed.
func (w *work) smoothed() bool {
	if !w.meshNoise.known {
		share, ok := 0.0, false
		if w.mesh() {
			share, ok = w.ownNoise()
		}
		w.meshNoise = meshNoise{true, ok && share < smoothedBelow}
	}
	return w.meshNoise.smoothed
}

// smoothing returns what smoothing took away of a tail whose edge was found in the scan; nothing where the mesh was not
// smoothed.
func (w *work) smoothing(points []tailPoint, edge *straight) (s smoothing) {
	if !w.smoothed() {
		return s
	}
	c := w.best
	p := c.profile(points, c.lo, c.hi, edge)
	r, ok := p.unsmoothed()
	if !ok {
		return s
	}
	radius := c.noseRadius()
	q := r.filter / radius
	return smoothing{math.Max(r.edge, 0), radius * (1 - math.Exp(-q*q/2)), r.filter}
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// The tail's edge. A tape measures from nose to tail, and the shape of a section says little about its
// chord: 1 mm more of it moves the skin by less than a tenth anywhere but at the ends. The nose is held by
// the fit; the tail is found here, where the density of points falls off. That place is not moved by noise,
// which blurs the edge to both sides alike, nor by points on the blunt face of a thick tail, which lie on
// the edge itself.

const (
	tailFrom      = 0.955 // chords: where the density of the skin is taken
	tailTo        = 1.025
	tailBins      = 140
	leastTail     = 150 // points in a band
	tailBands     = 5
	leastTailBand = 60.0 // mm
	tailU         = 0.3  // mm, standard uncertainty that no number of points takes away (common practice, no source)
)

// tailBand is the tail's edge as seen in one band of stations.
type tailBand struct {
	station float64 // mm, middle of the band
	at, u   float64 // chords of the loft there: the edge and its standard uncertainty
}

// tailEdges looks for the edge in bands of stations, so that it tells of the taper too.
func (f *fitter) tailEdges(lo, hi float64) (bands []tailBand) {
	n := max(1, min(tailBands, int((hi-lo)/leastTailBand)))
	for i := range n {
		a, b := lo+(hi-lo)*float64(i)/float64(n), lo+(hi-lo)*float64(i+1)/float64(n)
		if at, u, ok := f.tailEdge(a, b); ok {
			bands = append(bands, tailBand{(a + b) / 2, at, u})
		}
	}
	return bands
}

// tailEdge returns where the skin ends, in chords of the loft, with its standard uncertainty; ok is false
// where the tail was not seen.
func (f *fitter) tailEdge(lo, hi float64) (at, u float64, ok bool) {
	h, n := f.tailHistogram(lo, hi)
	if n < leastTail {
		return 0, 0, false
	}
	bin := (tailTo - tailFrom) / tailBins
	best := math.Inf(1)
	blur := 0.0
	try := func(e, s float64) {
		if loss := edgeLoss(h, e, s); loss < best {
			best, at, blur = loss, e, s
		}
	}
	for _, s := range []float64{0.0002, 0.0004, 0.0007, 0.0012, 0.002, 0.0035} {
		for e := 0.97; e < 1.015; e += bin {
			try(e, s)
		}
	}
	if at < 0.971 || at > 1.013 {
		return 0, 0, false
	}
	for e := at - bin; e < at+bin; e += bin / 16 {
		for _, s := range []float64{blur / 1.4, blur, 1.4 * blur} {
			try(e, s)
		}
	}
	// The edge of a skin with m points in the length of its blur is known to blur/sqrt(m).
	m := float64(n) / (at - tailFrom) * blur
	u = math.Hypot(blur/math.Sqrt(math.Max(m, 1)), bin/16)
	return at, math.Hypot(u, tailU/f.ChordAt((lo+hi)/2)), true
}

// tailHistogram counts the points on the aft skin, and just behind it, by their place along the chord.
func (f *fitter) tailHistogram(lo, hi float64) (h [tailBins]float64, n int) {
	type part struct {
		h [tailBins]float64
		n int
	}
	reach := math.Max(4*f.scale, 0.5) / f.Chord
	top, bottom := f.field.outline[0], f.field.outline[len(f.field.outline)-1]
	p := reduce(len(f.points), func(a, b int) (p part) {
		for i := a; i < b; i++ {
			w := f.wingFromPoints.Apply(f.points[i])
			if y := w.Y * f.inboard; y < lo || y > hi {
				continue
			}
			_, q, _, _, _, _ := f.place(w)
			if q.X < tailFrom || q.X >= tailTo {
				continue
			}
			if q.X < top.X {
				if ft, ok := f.field.at(q); !ok || math.Abs(ft.distance) > reach {
					continue
				}
			} else if q.Y > top.Y+reach || q.Y < bottom.Y-reach {
				continue
			}
			p.h[int((q.X-tailFrom)/(tailTo-tailFrom)*tailBins)]++
			p.n++
		}
		return p
	}, func(into *part, q part) {
		into.n += q.n
		for i := range q.h {
			into.h[i] += q.h[i]
		}
	})
	return p.h, p.n
}

// edgeLoss returns how badly a blurred edge at e explains the histogram: a skin of even density that ends
// there, and a face that stands on it. The two amounts are fitted.
func edgeLoss(h [tailBins]float64, e, blur float64) float64 {
	bin := (tailTo - tailFrom) / tailBins
	var aa, ab, bb, ah, bh, hh float64
	lastRamp, lastStep := ramp((tailFrom-e)/blur), cumulative((tailFrom-e)/blur)
	for i, count := range h {
		z := (tailFrom + float64(i+1)*bin - e) / blur
		nextRamp, nextStep := ramp(z), cumulative(z)
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

// cumulative is the standard normal distribution function, ramp its integral.
func cumulative(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func ramp(z float64) float64 {
	return z*cumulative(z) + math.Exp(-z*z/2)/math.Sqrt(2*math.Pi)
}

// surfacePoint returns the point of the loft's surface (wing frame, mm) at an arc (chords, on the unit
// outline) and a station, and the unit section's place there with the aileron at neutral.
func (m *model) surfacePoint(arc, station float64) (x, z float64, neutral r2.Vec) {
	neutral, _ = m.field.point(arc)
	p := m.Place(m.Deflect(neutral), station)
	return p.X, p.Y, neutral
}

package section

import (
	"math"
	"slices"
)

// The shape of the tail's end, as the points of a scan show it: how their density falls off along the chord.

const (
	roundArcs    = 5   // places round a rounded tail at which its points are thought
	roundGain    = 5.0 // by how much more likely, natural logarithm, a rounding must make the points
	leastRadius  = 0.4 // mm
	leastStray   = 0.001
	mostStray    = 0.3  // density of strays over that of the skins
	mostFaceSkin = 15.0 // mm of skin that hold as many points as a face, at most
	leastBlur    = 0.05 // mm
	faceBlurU    = 0.2  // natural logarithm: how well the face's blur is known to be the noise
	usualBlur    = 0.3  // of the noise: that of the skins' end
	blurU        = 0.7  // natural logarithm
	mostTilt     = 1.0  // mm
	tiltU        = 0.2  // mm: how far a face may lean
	faceU        = 0.15 // share by which a face may hold more points than as much skin does,
	noFaceU      = 0.4  // by which it may hold fewer, because the scanner hardly saw it, ...
	leastFaceU   = 0.1  // ... and mm
	edgeTurns    = 60   // of the search for a shape, at most
	edgeSettled  = 0.02 // steps of that search at which it ends, of the first ones
)

// tailShape says how the density of points falls off at the tail. Lengths mm along the chord; densities are over that
// of both skins together.
type tailShape struct {
	blur     float64 // standard deviation of the skins' end
	face     float64 // length of skin that holds as many points as the face
	faceBlur float64
	radius   float64 // how far the face bulges aft of the skins' end; 0 for a tail cut square
	stray    float64 // density of what goes on behind the edge
	tilt     float64 // how far the upper skin ends aft of the face's middle, and the lower one ahead of it
}

// density returns the density at a place, mm aft of the edge.
func (s *tailShape) density(at float64) float64 {
	d := s.stray + (1-s.stray)*cumulative(-(at+s.radius)/s.blur)
	if far := s.radius + farSigma*math.Max(s.blur, s.faceBlur); at < -far || at > far {
		return d
	}
	if s.radius == 0 {
		return d + s.face*bell(at, s.faceBlur)
	}
	for k := range roundArcs {
		sin, cos := math.Sincos(math.Pi / 2 * (float64(k) + 0.5) / roundArcs)
		blur := math.Hypot(s.faceBlur*cos, s.blur*sin)
		d += s.face / roundArcs * bell(at+s.radius*(1-cos), blur)
	}
	return d
}

// bell is the density of a normal distribution about 0.
func bell(x, sigma float64) float64 {
	z := x / sigma
	if z > farSigma || z < -farSigma {
		return 0
	}
	return math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
}

// edgeTable holds the logarithm of a shape's density and its integral, from as far ahead of the edge as a window may
// begin, in steps of edgeStep/tableParts.
type edgeTable struct {
	from, tilt    float64
	log, integral []float64
}

const tableParts = 1

// table tabulates a shape from a place, mm aft of the edge, to another.
func (s *tailShape) table(from, to float64) *edgeTable {
	const step = edgeStep / tableParts
	n := int((to-from)/step) + 2
	t := &edgeTable{from, s.tilt, make([]float64, n), make([]float64, n)}
	sum, last := 0.0, 0.0
	for i := range n {
		d := s.density(from + float64(i)*step)
		if i > 0 {
			sum += step * (d + last) / 2
		}
		last = d
		t.log[i], t.integral[i] = math.Log(d), sum
	}
	return t
}

// at reads a column of the table between its steps.
func (t *edgeTable) at(column []float64, x float64) float64 {
	v := (x - t.from) * (tableParts / edgeStep)
	i := min(max(int(v), 0), len(column)-2)
	return column[i] + (v-float64(i))*(column[i+1]-column[i])
}

// tableFor returns a table wide enough for any edge that is looked for.
func (s *tailShape) tableFor() *edgeTable {
	return s.table(-edgeAhead-3*edgeSearch, edgeBehind+3*edgeSearch)
}

// fitShape returns the likeliest shape of the tail's end, a rounding only where it explains the points clearly better.
func (f *fitter) fitShape(c edgeCounts, thick float64) tailShape {
	noise := math.Max(f.scale, leastBlur)
	build := func(p []float64) (s tailShape, edge, penalty float64) {
		s = tailShape{blur: math.Exp(p[1]), face: p[2] * p[2], faceBlur: noise * math.Exp(p[3]), stray: leastStray + mostStray*math.Exp(-p[4]*p[4])}
		s.blur = math.Min(math.Max(s.blur, leastBlur), 1.5*noise)
		s.faceBlur = math.Max(s.faceBlur, leastBlur)
		s.face = math.Min(s.face, mostFaceSkin)
		s.tilt = p[5]
		if len(p) > 6 {
			s.radius = math.Min(math.Abs(p[6]), mostTailRadius)
		}
		sharp := p[1] - math.Log(usualBlur*noise)
		penalty = p[3]*p[3]/(2*faceBlurU*faceBlurU) + p[5]*p[5]/(2*tiltU*tiltU) + sharp*sharp/(2*blurU*blurU)
		off, u := s.face-thick/2, faceU*thick/2+leastFaceU
		if off < 0 {
			u = noFaceU*thick/2 + leastFaceU
		}
		penalty += off * off / (2 * u * u)
		return s, p[0], penalty
	}
	loss := func(p []float64) float64 {
		s, edge, penalty := build(p)
		if math.Abs(edge) > edgeSearch || math.Abs(s.tilt) > mostTilt {
			return math.Inf(1)
		}
		t := s.table(c.lo-edge-math.Abs(s.tilt)-2*edgeStep, c.lo-edge+math.Abs(s.tilt)+(float64(len(c.bins[0]))+2)*edgeStep)
		return penalty - c.logLikelihood(t, edge)
	}
	// A face that was seen and one that was not are two tops of the likelihood.
	steps := []float64{0.3, 0.4, 0.3, 0.1, 0.3, 0.1, 0.4}
	var square []float64
	var least float64
	for _, face := range []float64{math.Sqrt(thick / 2), 0.3} {
		p := []float64{0, math.Log(math.Max(usualBlur*noise, leastBlur)), face, 0, 2, 0}
		if l := walk(p, steps[:len(p)], loss); square == nil || l < least {
			square, least = p, l
		}
	}
	s, _, _ := build(square)
	round := append(slices.Clone(square), 1.2)
	round[0] += 0.5
	if l := walk(round, steps, loss); l < least-roundGain {
		if r, _, _ := build(round); r.radius >= leastRadius {
			s = r
		}
	}
	return s
}

// walk walks to the least loss, one parameter at a time (Hooke and Jeeves, Journal of the ACM 8 (1961) 212, from
// memory), and leaves its place in p.
func walk(p, steps []float64, loss func([]float64) float64) float64 {
	steps = slices.Clone(steps)
	first := slices.Clone(steps)
	best := loss(p)
	for range edgeTurns {
		before := slices.Clone(p)
		moved := false
		for i := range p {
			for _, sign := range []float64{1, -1} {
				old := p[i]
				p[i] += sign * steps[i]
				if l := loss(p); l < best {
					best, moved = l, true
					break
				}
				p[i] = old
			}
		}
		if moved {
			ahead := make([]float64, len(p))
			for i := range p {
				ahead[i] = 2*p[i] - before[i]
			}
			if l := loss(ahead); l < best {
				best = l
				copy(p, ahead)
			}
			continue
		}
		small := true
		for i := range steps {
			steps[i] /= 2
			small = small && steps[i] < edgeSettled*first[i]
		}
		if small {
			break
		}
	}
	return best
}

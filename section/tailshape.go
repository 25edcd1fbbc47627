package section

import (
	"math"
	"slices"

	"tipwright/scan"
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

// rescale multiplies every length.
func (s *tailShape) rescale(k float64) {
	for _, v := range []*float64{&s.blur, &s.face, &s.faceBlur, &s.radius, &s.tilt} {
		*v *= k
	}
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
// begin, in steps of edgeStep.
type edgeTable struct {
	from, tilt    float64
	log, integral []float64
}

func newEdgeTable(steps int) *edgeTable {
	return &edgeTable{log: make([]float64, steps), integral: make([]float64, steps)}
}

// fill tabulates a shape from a place on, mm aft of the edge.
func (t *edgeTable) fill(s *tailShape, from float64) {
	n := len(t.log)
	t.from, t.tilt = from, s.tilt
	// Far from the edge the density is the same everywhere.
	far := s.radius + farSigma*math.Max(s.blur, s.faceBlur)
	first, last := min(max(int((-far-from)/edgeStep), 0), n), min(max(int((far-from)/edgeStep)+2, 0), n)
	behind := math.Log(s.stray)
	clear(t.log[:first])
	sum, before := 0.0, 1.0
	for i := range n {
		d := 1.0
		switch {
		case i >= last:
			d, t.log[i] = s.stray, behind
		case i >= first:
			d = s.density(from + float64(i)*edgeStep)
			t.log[i] = math.Log(d)
		}
		if i > 0 {
			sum += edgeStep * (d + before) / 2
		}
		before, t.integral[i] = d, sum
	}
}

// at reads a column of the table between its steps.
func (t *edgeTable) at(column []float64, x float64) float64 {
	v := (x - t.from) / edgeStep
	i := min(max(int(v), 0), len(column)-2)
	return column[i] + (v-float64(i))*(column[i+1]-column[i])
}

// tableFor returns a table wide enough for any edge that is looked for.
func (s *tailShape) tableFor() *edgeTable {
	t := newEdgeTable(int((edgeAhead + edgeBehind + 6*edgeSearch) / edgeStep))
	t.fill(s, -edgeAhead-3*edgeSearch)
	return t
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
	newLoss := func() func(p []float64) float64 {
		const margin = mostTilt/edgeStep + 2
		l := newEdgeLikelihood(&c, newEdgeTable(len(c.bins[0])+2*margin+1))
		return func(p []float64) float64 {
			s, edge, penalty := build(p)
			if math.Abs(edge) > edgeSearch || math.Abs(s.tilt) > mostTilt {
				return math.Inf(1)
			}
			l.table.fill(&s, c.lo-edge-margin*edgeStep)
			l.forget()
			return penalty - l.at(edge)
		}
	}
	// A face that was seen and one that was not are two tops of the likelihood.
	steps := []float64{0.3, 0.4, 0.3, 0.1, 0.3, 0.1, 0.4}
	faces := [...]float64{math.Sqrt(thick / 2), 0.3}
	var tops [len(faces)][]float64
	var losses [len(faces)]float64
	scan.OnAllProcessors(len(faces), func(i int) {
		tops[i] = []float64{0, math.Log(math.Max(usualBlur*noise, leastBlur)), faces[i], 0, 2, 0}
		losses[i] = walk(tops[i], steps[:len(tops[i])], newLoss())
	})
	square, least := tops[0], losses[0]
	if losses[1] < least {
		square, least = tops[1], losses[1]
	}
	s, _, _ := build(square)
	round := append(slices.Clone(square), 1.2)
	round[0] += 0.5
	if l := walk(round, steps, newLoss()); l < least-roundGain {
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

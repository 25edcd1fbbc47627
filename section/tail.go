package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The tail's edge. A tape measures from nose to tail, and the shape of a section says little about its
// chord: 1 mm more of it moves the skin by less than a tenth anywhere but at the ends. The nose is held by
// the fit; the tail is found where the points end, as tailedge.go says.

const (
	tailFrom       = 0.955 // chords: from here on points are looked at
	tailTo         = 1.025
	mostTailRadius = 4.0     // mm
	tailReach      = 0.008   // chords: how far a thick tail's skins may lie off the nominal
	leastTail      = 150     // points at the tail
	mostReach      = 2.0     // mm by which the polished loft is stretched to the tail, at most
	tailMargin     = 0.03    // chords by which the pose may move the tail after a first fit
	exactNoise     = 0.05    // mm: a mesh with less comes from a drawing
	mostMeshTailU  = 4.0     // mm
	tailSlack      = 0.005   // chords by which twist moves it along the chord
	tailSample     = 300_000 // points laid over the triangles of the tail, about
	tailDivideMost = 100     // parts along a triangle's side, at most
	leastTailBand  = 60.0    // mm
)

// tailBand is the tail's edge at one station.
type tailBand struct {
	station float64 // mm
	at, u   float64 // chords of the loft there: the edge and its standard uncertainty
}

// tailSeen is the tail's edge on the wing: that in the scan, led on where smoothing has rounded it off.
type tailSeen struct {
	line straight  // over the stations, mm aft of the loft's own tail
	lost smoothing // what smoothing took away; the line has it back
}

// tailSeen finds the tail's edge, whose shape is settled anew in so many rounds from that which was last found; ok is
// false where it was not seen.
func (w *work) tailSeen(rounds int) (t tailSeen, ok bool) {
	c, points := w.best, w.tailPoints()
	if w.tailShape.blur == 0 {
		rounds = max(rounds, 1)
	}
	e, ok := c.edgeFrom(points, c.lo, c.hi, w.tailShape, rounds)
	if !ok {
		return t, false
	}
	w.tailShape = e.shape
	t = tailSeen{line: e.line, lost: w.smoothing(points, &e.line)}
	if t.lost.filter > 0 {
		t.line.value += t.lost.tail
		t.line.uValue = math.Hypot(t.line.uValue, smoothedU/2*t.lost.tail)
	}
	return t, true
}

// tailEdges returns the edge at two stations that together know as much of it as the whole panel, so that they tell of
// the taper too; at one where the panel is short.
func (w *work) tailEdges() (bands []tailBand) {
	t, ok := w.tailSeen(1)
	if !ok {
		return nil
	}
	l := &t.line
	off, times := 0.0, 1.0
	if l.uSlope > 0 {
		off, times = l.uValue/l.uSlope, math.Sqrt2
	}
	for _, station := range []float64{l.middle - off, l.middle + off} {
		chord := w.best.ChordAt(station)
		bands = append(bands, tailBand{station, 1 + l.at(station)/chord, times * l.uValue / chord})
		if off == 0 {
			break
		}
	}
	return bands
}

// reachTail stretches the loft about its leading edge so that it ends where the tail does: the polish settles its place
// fore and aft on the skin alone, after the chord. It moves the skin nowhere, since departures are measured anew.
func (w *work) reachTail() {
	if t, ok := w.tailSeen(0); ok && math.Abs(t.line.at(0)) < mostReach {
		w.best.Chord += t.line.at(0)
		w.best.Taper += t.line.slope
	}
}

// tailPoint is a point on the aft skin or just behind it.
type tailPoint struct {
	x, station, weight float64 // chords aft, mm; points of skin that it stands for
	height             float64 // mm over the chord line, aileron at neutral
	lower              bool    // nearer to the lower skin
}

// side is 0 for a point nearer to the upper skin, 1 for the lower.
func (p *tailPoint) side() int {
	if p.lower {
		return 1
	}
	return 0
}

// tailSight places points at the tail.
type tailSight struct {
	*model
	droop       turn // of the aileron
	top, bottom r2.Vec
	reach       float64 // chords that a point may lie off the nominal
}

func (f *fitter) tailSight() *tailSight {
	return &tailSight{&f.model, turnBy(f.Deflection), f.field.outline[0], f.field.outline[len(f.field.outline)-1],
		math.Max(4*f.scale/f.Chord, tailReach)}
}

// point places a point (wing frame) if it lies at the tail. It does what [model.place] does, and no more than it needs.
func (f *tailSight) point(p r3.Vec, weight float64, out *tailPoint) bool {
	station := p.Y * f.inboard
	chord := f.Chord + f.Taper*station
	q := turnBy(f.Twist * station).noseDown(r2.Vec{X: p.X - f.Sweep*station, Y: p.Z - f.Rise*station})
	q.X, q.Y = q.X/chord, q.Y/chord
	if f.Hinge > 0 && q.X > f.Hinge {
		v := f.droop.noseDown(r2.Vec{X: q.X - f.Hinge, Y: q.Y - f.HingeZ})
		q = r2.Vec{X: f.Hinge + v.X, Y: f.HingeZ + v.Y}
	}
	if q.X < tailFrom || q.X >= tailTo {
		return false
	}
	lower := q.Y < (f.top.Y+f.bottom.Y)/2
	if q.X < f.top.X {
		var ft foot
		if !f.field.look(q, &ft) || math.Abs(ft.distance) > f.reach {
			return false
		}
		lower = ft.arc > f.field.arc[f.field.nose]
	} else if q.Y > f.top.Y+f.reach || q.Y < f.bottom.Y-f.reach {
		return false
	}
	*out = tailPoint{q.X, station, weight, q.Y * chord, lower}
	return true
}

// tailPoints lists the points at the tail, in room that the next call uses again. The vertices of a mesh may stand in
// columns, several millimetres apart, that would pass for edges; so each triangle there is divided into small ones of
// equal area: the fewer triangles there are, the finer.
func (w *work) tailPoints() []tailPoint {
	c := w.best
	if w.aft == nil {
		w.aft = w.aftItems()
		if w.mesh() {
			w.aftMesh = newAftMesh(w.points.scan, w.aft)
		}
	}
	with := c.tailSight()
	if !w.mesh() {
		w.tailRoom = gatherTail(w.tailRoom, len(w.aft), 1, func(lo, hi int, out []tailPoint) []tailPoint {
			var t tailPoint
			for _, i := range w.aft[lo:hi] {
				if with.point(c.wingFromPoints.apply(c.points.at(int(i))), 1, &t) {
					out = append(out, t)
				}
			}
			return out
		})
		return w.tailRoom
	}
	toWing := w.wingFromScan()
	at := c.tailSpan(&toWing, 0)
	corners := w.aftMesh.place(w.points.scan, &toWing, &at)
	near := joined(len(w.aft), func(lo, hi int) (out []uint32) {
		for k, t := range w.aftMesh.triangles[lo:hi] {
			if corners[t[0]].side|corners[t[1]].side|corners[t[2]].side == withinTail {
				out = append(out, uint32(lo+k))
			}
		}
		return out
	})
	n := int(math.Sqrt(tailSample / float64(max(len(near), 1))))
	n = min(max(n, 1), tailDivideMost)
	w.tailRoom = gatherTail(w.tailRoom, len(near), n*n, func(lo, hi int, out []tailPoint) []tailPoint {
		for _, i := range near[lo:hi] {
			t := &w.aftMesh.triangles[i]
			out = with.divide([3]r3.Vec{corners[t[0]].at, corners[t[1]].at, corners[t[2]].at}, n, out)
		}
		return out
	})
	return w.tailRoom
}

// aftItems lists the points, or of a mesh the triangles, that lie at the tail or so close to it that a small change of
// the pose may bring them there.
func (w *work) aftItems() []uint32 {
	c := w.best
	if w.mesh() {
		toWing := w.wingFromScan()
		at := c.tailSpan(&toWing, tailMargin)
		sides := make([]uint8, len(w.points.scan.Points)) // each point has several triangles, and is asked once
		parallel(len(sides), func(lo, hi int) {
			for i := lo; i < hi; i++ {
				sides[i] = at.side(vec(w.points.scan.At(i)))
			}
		})
		return joined(len(w.points.scan.Triangles), func(lo, hi int) (out []uint32) {
			for i, t := range w.points.scan.Triangles[lo:hi] {
				if sides[t[0]]|sides[t[1]]|sides[t[2]] == withinTail {
					out = append(out, uint32(lo+i))
				}
			}
			return out
		})
	}
	at := c.tailSpan(&c.wingFromPoints, tailMargin)
	return joined(len(c.points), func(lo, hi int) (out []uint32) {
		for i := lo; i < hi; i++ {
			if at.side(c.points.at(i)) == withinTail {
				out = append(out, uint32(i))
			}
		}
		return out
	})
}

// corners returns those of a triangle of the scan in the file's frame.
func (w *work) corners(i uint32) (p [3]r3.Vec) {
	for k, v := range w.points.scan.Triangles[i] {
		p[k] = vec(w.points.scan.At(int(v)))
	}
	return p
}

// triangle returns the corners of a triangle of the scan in the wing frame.
func (w *work) triangle(i uint32, toWing *Transform) (p [3]r3.Vec) {
	p = w.corners(i)
	for k := range p {
		p[k] = toWing.apply(p[k])
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

// tailSpan is the space between two planes that hold the aft skin, in the frame of the points: up·p + off is how far aft of
// the foremost of them a point lies, mm, and how far aft of the hindmost.
type tailSpan struct {
	up  [2]r3.Vec
	off [2]float64
}

// tailSpan returns the space of the aft skin and so much before and behind it, chords, for points that a transform takes
// to the wing frame. The small turn of the twist moves the tail along the chord by less than what is added here.
func (f *fitter) tailSpan(toWing *Transform, margin float64) (s tailSpan) {
	for i, x := range [2]float64{tailFrom - margin - tailSlack, tailTo + margin + tailSlack} {
		lean := f.inboard * (f.Sweep + x*f.Taper)
		aft, along := &toWing.R[0], &toWing.R[1]
		s.up[i] = r3.Scale(toWing.Scale, r3.Vec{X: aft[0] - lean*along[0], Y: aft[1] - lean*along[1], Z: aft[2] - lean*along[2]})
		s.off[i] = toWing.T.X - lean*toWing.T.Y - x*f.Chord
	}
	return s
}

// withinTail is the side of a point that lies aft of the foremost plane and ahead of the hindmost.
const withinTail = 3

// side tells on which side of the two planes a point lies: a bit for each behind which, or before which, it belongs.
func (s *tailSpan) side(p r3.Vec) (side uint8) {
	if r3.Dot(s.up[0], p)+s.off[0] > 0 {
		side = 1
	}
	if r3.Dot(s.up[1], p)+s.off[1] < 0 {
		side |= 2
	}
	return side
}

// divide appends those of the middles of n² equal parts of a triangle that lie at the tail, each with its share of the
// area.
func (f *tailSight) divide(p [3]r3.Vec, n int, out []tailPoint) []tailPoint {
	b, d := r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0])
	share := r3.Norm(r3.Cross(b, d)) / 2 / float64(n*n)
	var seen tailPoint
	add := func(s, t float64) {
		at := r3.Add(p[0], r3.Add(r3.Scale(s/float64(n), b), r3.Scale(t/float64(n), d)))
		if f.point(at, share, &seen) {
			out = append(out, seen)
		}
	}
	for u := range n {
		for v := range n - u {
			add(float64(u)+1./3, float64(v)+1./3)
			if u+v < n-1 {
				add(float64(u)+2./3, float64(v)+2./3)
			}
		}
	}
	return out
}

// tailTogether is how many points at the tail a processor places at a time, about.
const tailTogether = 8192

// gatherTail collects the tail points of n items, each of at most so many points, in their order. find appends those of
// the items from lo on and before hi; room is used again where it is large enough.
func gatherTail(room []tailPoint, n, each int, find func(lo, hi int, out []tailPoint) []tailPoint) []tailPoint {
	if cap(room) < n*each {
		room = make([]tailPoint, 0, n*each)
	}
	room = room[:n*each]
	few := max(tailTogether/each, 1) // items
	found := make([][]tailPoint, (n+few-1)/few)
	scan.OnAllProcessors(len(found), func(k int) {
		lo, hi := k*few, min((k+1)*few, n)
		found[k] = find(lo, hi, room[lo*each:lo*each:hi*each])
	})
	out := room[:0]
	for _, f := range found {
		out = append(out, f...)
	}
	return out
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

package simulate

import (
	"math"
	"math/rand/v2"
	"slices"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// evenly calls f with n points spread evenly over the unit square: the additive sequence of the plastic
// number (Roberts 2018, from memory), from a random start, each shaken by about half its spacing.
func evenly(r *rand.Rand, n int, f func(u, v float64)) {
	const plastic = 1.32471795724474602596
	u0, v0 := r.Float64(), r.Float64()
	shake := 0.5 / math.Sqrt(float64(n)+1)
	for i := range n {
		u := u0 + float64(i)/plastic + shake*(r.Float64()-0.5)
		v := v0 + float64(i)/(plastic*plastic) + shake*(r.Float64()-0.5)
		f(u-math.Floor(u), v-math.Floor(v))
	}
}

// cloud samples the wing as points: skins, tail, faces, and the tape's bridge over the gap.
func (b *builder) cloud() {
	r := b.stream(sampleStream)
	b.vertices = slices.Grow(b.vertices, b.s.Points+b.s.Points/16)
	lost := b.lost()
	evenly(r, b.s.Points, func(u, v float64) {
		s, station := u*b.skin.c.length(), b.stationAt(v)
		if p, ok := b.surface(s, station); ok && r.Float64() >= lost(p.p) {
			b.vertices = append(b.vertices, p)
		}
	})
	b.tailCloud(r)
	if b.s.RibFace == Closed {
		b.faceCloud(r, 0)
	}
	if b.s.InboardClosed {
		b.faceCloud(r, b.w.Span)
	}
}

// surface returns the point at an arc and station, with tape if there is any, and whether it is seen.
func (b *builder) surface(s, station float64) (vertex, bool) {
	at := b.skin.foot(s)
	tape := b.s.Tape && b.w.Hinge > 0
	if !tape && b.inGap(at, station) {
		return vertex{}, false
	}
	p := b.skin.above(at, station)
	if tape {
		p = b.taped(s, station, p)
	}
	return p, b.seen(s, station, p.p)
}

// The tape over the hinge, common masking or duct tape (common practice, no source).
const (
	tapeThickness = 0.15 // mm
	tapeWidth     = 50.0 // mm
)

// taped lifts a point under the tape to the tape's surface; over the gap the tape runs straight.
func (b *builder) taped(s, station float64, p vertex) vertex {
	chord := b.w.ChordAt(station)
	c := b.skin.c
	q, _ := c.at(s)
	off := (q.X - b.w.Hinge) * chord
	if math.Abs(off) > tapeWidth/2 {
		return p
	}
	if half := b.w.HingeGap / 2; math.Abs(off) < half {
		fore := b.skin.at(c.arcOf(c.side(s), b.w.Hinge-half/chord), station)
		aft := b.skin.at(c.arcOf(c.side(s), b.w.Hinge+half/chord), station)
		p.p = r3.Add(fore.p, r3.Scale((off+half)/(2*half), r3.Sub(aft.p, fore.p)))
	}
	p.p = r3.Add(p.p, r3.Scale(tapeThickness, p.n))
	return p
}

// lost returns the chance that a point is missed because it is far from the scanner, which looks down on
// the tip from outboard.
func (b *builder) lost() func(p r3.Vec) float64 {
	if b.s.Falloff == 0 {
		return func(r3.Vec) float64 { return 0 }
	}
	eye := r3.Vec{X: b.w.Chord / 3, Y: -b.w.Side.Inboard() * 0.6 * b.w.Chord, Z: b.w.Chord}
	far := r3.Norm(r3.Sub(r3.Vec{X: b.w.Chord, Y: b.w.Side.Inboard() * b.w.Span, Z: -b.w.Chord / 10}, eye))
	near := b.w.Chord
	return func(p r3.Vec) float64 {
		return b.s.Falloff * min(max((r3.Norm(r3.Sub(p, eye))-near)/(far-near), 0), 1)
	}
}

// tailCloud samples the aft face of an open tail.
func (b *builder) tailCloud(r *rand.Rand) {
	if b.s.OneSurface != Both || b.s.TailMissed > 0 {
		return
	}
	thick := b.tailThickness()
	from := -b.w.Overhang
	evenly(r, int(thick*(b.w.Span-from)/(b.spacing()*b.spacing())), func(u, v float64) {
		station := from + u*(b.w.Span-from)
		if p := b.tail(v, station); station >= b.edge(0) && !b.shadowed(p.p) {
			b.vertices = append(b.vertices, p)
		}
	})
}

// tailThickness returns the height in mm of the aft face at the tip rib.
func (b *builder) tailThickness() float64 {
	return r3.Norm(r3.Sub(b.skin.at(0, 0).p, b.skin.at(b.skin.c.length(), 0).p))
}

// tail returns a point of the aft face, the share v of the way from the lower to the upper skin.
func (b *builder) tail(v, station float64) vertex {
	upper, lower := b.skin.at(0, station).p, b.skin.at(b.skin.c.length(), station).p
	up := r3.Sub(upper, lower)
	n := r3.Vec{X: 1}
	if r3.Norm(up) > 0 {
		n = r3.Unit(r3.Vec{X: up.Z, Z: -up.X})
	}
	return vertex{p: r3.Add(lower, r3.Scale(v, up)), n: n}
}

// shadowed reports whether clutter hides a point.
func (b *builder) shadowed(p r3.Vec) bool {
	for i := range b.shadows {
		if b.shadows[i].contains(p) {
			return true
		}
	}
	return false
}

// faceCloud samples a flat end face evenly by area.
func (b *builder) faceCloud(r *rand.Rand, station float64) {
	f := b.newFace(station)
	n := int(f.area[len(f.area)-1] / (b.spacing() * b.spacing()))
	evenly(r, n, func(u, v float64) {
		upper, lower := f.columnAt(u)
		p := b.skin.face(upper, lower, v, station)
		b.vertices = append(b.vertices, vertex{p: p, n: b.outboard(station > 0)})
	})
}

// outboard returns the normal of an end face, which points out of the panel: outboard but at the inboard end.
func (b *builder) outboard(inboardEnd bool) r3.Vec {
	if inboardEnd {
		return r3.Vec{Y: b.w.Side.Inboard()}
	}
	return r3.Vec{Y: -b.w.Side.Inboard()}
}

// face is an end face cut into columns, each from the upper skin to the lower at one chord fraction.
type face struct {
	upper, lower []float64 // arcs of the columns, from nose to tail
	area         []float64 // mm^2, of all columns before this
}

// faceColumns are enough that area within a column is even.
const faceColumns = 400

// newFace lays the columns, closer together towards the nose.
func (b *builder) newFace(station float64) *face {
	c := b.skin.c
	f := &face{}
	var before [2]r2.Vec
	for i := range faceColumns + 1 {
		u := float64(i) / faceColumns
		x := c.front + (1-c.front)*u*u
		a, l := c.arcOf(Upper, x), c.arcOf(Lower, x)
		pu, _ := b.skin.point(b.skin.foot(a), station, b.w.Deflection, wholeSkin)
		pl, _ := b.skin.point(b.skin.foot(l), station, b.w.Deflection, wholeSkin)
		area := 0.0
		if i > 0 {
			d1, d2 := r2.Sub(pl, before[0]), r2.Sub(pu, before[1])
			area = f.area[i-1] + math.Abs(r2.Cross(d1, d2))/2
		}
		f.upper, f.lower, f.area = append(f.upper, a), append(f.lower, l), append(f.area, area)
		before = [2]r2.Vec{pu, pl}
	}
	return f
}

// columnAt returns the arcs of the column before which a share of the area lies.
func (f *face) columnAt(share float64) (upper, lower float64) {
	want := share * f.area[len(f.area)-1]
	i := max(sort.SearchFloat64s(f.area, want)-1, 0)
	u := (want - f.area[i]) / (f.area[i+1] - f.area[i])
	return f.upper[i] + u*(f.upper[i+1]-f.upper[i]), f.lower[i] + u*(f.lower[i+1]-f.lower[i])
}

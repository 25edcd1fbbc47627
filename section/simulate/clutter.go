package simulate

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The workshop round the wing, in the wing frame, mm. Sizes are those of common things, invented here.
const (
	floorBelow   = 700.0 // the floor under the leading edge at the tip
	wallBehind   = 900.0 // the wall behind the trailing edge
	wallHeight   = 2400.0
	roomMargin   = 700.0 // how far floor and wall are seen past the panel
	horseWidth   = 60.0  // of the saw-horse's beam, spanwise
	horseDepth   = 80.0
	horseLeg     = 40.0
	horseShade   = 8.0 // a skin closer to the beam than this cannot be seen
	boardThick   = 3.0
	boardWidth   = 25.0
	boardLength  = 200.0
	strayMargin  = 600.0 // how far from the panel strays are met
	personBeside = 650.0 // outboard of the tip
	clampReach   = 30.0  // how far before the trailing edge a clamp's jaws press
	clampJaw     = 24.0  // across a jaw
	clampThick   = 12.0
)

// clutter puts all that is not the wing into the scan, and notes what it hides of the wing.
func (b *builder) clutter() {
	r := b.stream(clutterStream)
	ground := plane{height: -floorBelow, slopeX: 0.06 * (r.Float64() - 0.5), slopeY: 0.06 * (r.Float64() - 0.5)}
	if b.s.Floor {
		b.floor(ground)
	}
	if b.s.Wall {
		b.wall(ground)
	}
	if b.s.Stand {
		b.sawHorse(ground)
	}
	if b.s.Person {
		b.person(ground)
	}
	if b.s.Hand {
		b.hand()
	}
	if b.s.Strips && b.w.Hinge > 0 {
		b.boards()
	}
	if b.s.Clamps {
		b.clamps()
	}
	if b.s.InsideSeen > 0 {
		b.inside()
	}
	for i := range b.objects {
		if b.s.Mesh {
			b.objectMesh(&b.objects[i])
			continue
		}
		cell := b.clutterCell()
		evenly(r, int(b.objects[i].area()/(cell*cell)), func(u, v float64) {
			b.vertices = append(b.vertices, b.objects[i].at(u, v))
		})
	}
}

// clutterCell returns the mean distance between points of the clutter, mm.
func (b *builder) clutterCell() float64 {
	density := b.s.ClutterDensity
	if density == 0 {
		density = 0.25
	}
	return b.spacing() / math.Sqrt(density)
}

// objectMesh lays a grid of triangles over one object.
func (b *builder) objectMesh(o *patch) {
	cell := b.clutterCell()
	nu, nv := max(int(o.lenU/cell), 1), max(int(o.lenV/cell), 1)
	first := uint32(len(b.vertices))
	for i := range nu + 1 {
		for j := range nv + 1 {
			b.vertices = append(b.vertices, o.at(float64(i)/float64(nu), float64(j)/float64(nv)))
		}
	}
	row := uint32(nv + 1)
	for i := range uint32(nu) {
		for j := range uint32(nv) {
			k := first + i*row + j
			b.triangles = append(b.triangles, [3]uint32{k, k + row, k + row + 1}, [3]uint32{k, k + row + 1, k + 1})
		}
	}
}

// plane is a nearly level floor.
type plane struct{ height, slopeX, slopeY float64 }

// at returns the floor's height.
func (g plane) at(x, y float64) float64 { return g.height + g.slopeX*x + g.slopeY*y }

// inboard returns a point by station instead of Y.
func (b *builder) inboard(x, station, z float64) r3.Vec {
	return r3.Vec{X: x, Y: station * b.w.Side.Inboard(), Z: z}
}

// floor adds the floor under and round the panel.
func (b *builder) floor(g plane) {
	lenX, lenY := b.w.Chord+roomMargin+wallBehind, b.w.Span+2*roomMargin
	n := r3.Unit(r3.Vec{X: -g.slopeX, Y: -g.slopeY, Z: 1})
	b.objects = append(b.objects, patch{lenX, lenY, func(u, v float64) vertex {
		p := b.inboard(u*lenX-roomMargin, v*lenY-roomMargin, 0)
		p.Z = g.at(p.X, p.Y)
		return vertex{p: p, n: n}
	}})
}

// wall adds an upright wall behind the wing.
func (b *builder) wall(g plane) {
	length := b.w.Span + 2*roomMargin
	b.objects = append(b.objects, patch{length, wallHeight, func(u, v float64) vertex {
		p := b.inboard(b.w.Chord+wallBehind, u*length-roomMargin, 0)
		p.Z = g.at(p.X, p.Y) + v*wallHeight
		return vertex{p: p, n: r3.Vec{X: -1}}
	}})
}

// sawHorse adds a saw-horse whose beam runs chordwise and bears on the lower skin at its lowest point.
func (b *builder) sawHorse(g plane) {
	station := 0.6 * b.w.Span
	from, to := 0.08*b.w.Chord, 0.7*b.w.Chord
	top := b.lowest(from, to, station)
	beam := upright(b.inboard((from+to)/2, station, top-horseDepth/2), (to-from)/2, horseWidth/2, horseDepth/2)
	b.objects = append(b.objects, beam.faces()[:5]...) // all but the top, which the wing covers
	shade := beam
	shade.half[2] += horseShade
	b.shadows = append(b.shadows, shade)
	for _, x := range []float64{from + horseLeg, to - horseLeg} {
		for _, side := range []float64{-1, 1} {
			p := b.inboard(x, station+side*(horseWidth/2+horseLeg/2), 0)
			foot, head := g.at(p.X, p.Y), top-horseDepth/2
			p.Z = (foot + head) / 2
			leg := upright(p, horseLeg/2, horseLeg/2, (head-foot)/2)
			b.objects = append(b.objects, leg.faces()[:4]...)
		}
	}
}

// lowest returns the height of the lower skin's lowest point over the beam's footprint.
func (b *builder) lowest(from, to, station float64) float64 {
	z := math.Inf(1)
	for i := range 200 {
		s := b.skin.c.arcOf(Lower, (from+(to-from)*float64(i)/199)/b.w.Chord)
		for _, edge := range []float64{-0.5, 0, 0.5} {
			z = min(z, b.skin.at(s, station+edge*horseWidth).p.Z)
		}
	}
	return z
}

// person adds somebody of ordinary size who stands outboard of the tip.
func (b *builder) person(g plane) {
	p := b.inboard(0.45*b.w.Chord, -personBeside, 0)
	foot := g.at(p.X, p.Y)
	for _, part := range []struct{ z, x, y, half float64 }{{400, 90, 150, 420}, {1080, 130, 220, 380}, {1570, 95, 80, 130}} {
		c := r3.Vec{X: p.X, Y: p.Y, Z: foot + part.z}
		b.objects = append(b.objects, ellipsoid(c, part.x, part.y, part.half))
	}
}

// hand adds a hand that holds the tail: fingers below, a thumb above.
func (b *builder) hand() {
	station := 0.35 * b.w.Span
	for _, f := range []struct {
		on      Surface
		x, y, z float64
	}{{Lower, 60, 45, 15}, {Upper, 35, 12, 11}} {
		p := b.skin.at(b.skin.c.arcOf(f.on, 0.95), station)
		c := r3.Add(p.p, r3.Scale(math.Hypot(f.x*p.n.X, f.z*p.n.Z), p.n)) // so that the blob touches the skin
		b.objects = append(b.objects, ellipsoid(c, f.x, f.y, f.z))
		b.shadows = append(b.shadows, upright(c, 0.8*f.x, 0.8*f.y, 1.5*f.z+3))
	}
}

// boards adds three pairs of thin boards across the hinge, as are clamped on to hold an aileron.
func (b *builder) boards() {
	for _, share := range []float64{0.15, 0.5, 0.85} {
		for _, side := range []Surface{Upper, Lower} {
			board := b.board(side, share*b.w.Span)
			b.objects = append(b.objects, board.faces()...)
			shade := board
			shade.half[2] = boardThick/2 + 6
			b.shadows = append(b.shadows, shade)
		}
	}
}

// board lays a straight board on one skin across the hinge: parallel to the line between two points of the
// skin and so far out that it clears what lies between them.
func (b *builder) board(side Surface, station float64) box {
	reach := min(boardLength/2, 0.8*(1-b.w.Hinge)*b.w.Chord) / b.w.ChordAt(station)
	skin := func(x, y float64) r3.Vec {
		return b.skin.at(b.skin.c.arcOf(side, b.w.Hinge+x*reach), station+y*boardWidth/2).p
	}
	fore, aft := skin(-1, 0), skin(1, 0)
	out := box{middle: r3.Scale(0.5, r3.Add(fore, aft))}
	out.axis[0] = r3.Unit(r3.Sub(aft, fore))
	out.axis[1] = r3.Vec{Y: 1}
	out.axis[2] = r3.Cross(out.axis[0], out.axis[1])
	if side == Lower {
		out.axis[1], out.axis[2] = r3.Scale(-1, out.axis[1]), r3.Scale(-1, out.axis[2])
	}
	clear := 0.0
	for i := range 82 {
		x := (float64(i) - 40.5) / 40.5
		if i == 40 || i == 41 {
			x *= 1e-6 // either side of the hinge, where the aileron's corner may stand out
		}
		for _, y := range []float64{-1, 0, 1} {
			d := r3.Sub(skin(x, y), out.middle)
			clear = max(clear, r3.Dot(d, out.axis[2]))
		}
	}
	out.middle = r3.Add(out.middle, r3.Scale(clear+boardThick/2, out.axis[2]))
	out.half = [3]float64{r3.Norm(r3.Sub(aft, fore)) / 2, boardWidth / 2, boardThick / 2}
	return out
}

// clamps adds two clamps over the trailing edge: a jaw on each skin and the bow behind.
func (b *builder) clamps() {
	for _, share := range []float64{0.3, 0.7} {
		station := share * b.w.Span
		var ends [2]r3.Vec
		for i, side := range []Surface{Upper, Lower} {
			v := b.skin.at(b.skin.c.arcOf(side, 1-clampReach/b.w.ChordAt(station)), station)
			jaw := box{r3.Add(v.p, r3.Scale(clampThick/2, v.n)), [3]r3.Vec{r3.Cross(r3.Vec{Y: 1}, v.n), {Y: 1}, v.n}, [3]float64{clampJaw / 2, clampJaw / 2, clampThick / 2}}
			b.objects = append(b.objects, jaw.faces()...)
			shade := jaw
			shade.half[2] += 3
			b.shadows = append(b.shadows, shade)
			ends[i] = r3.Add(v.p, r3.Scale(clampThick, v.n))
		}
		middle := r3.Add(r3.Scale(0.5, r3.Add(ends[0], ends[1])), r3.Vec{X: 2 * clampReach})
		bow := upright(middle, clampThick/2, clampThick/2, math.Abs(ends[0].Z-ends[1].Z)/2+clampThick)
		b.objects = append(b.objects, bow.faces()...)
	}
}

// inside adds the skin's edge at its outboard end and the inner side of the skins as far as it is seen.
func (b *builder) inside() {
	thick := b.s.SkinThickness
	if thick == 0 {
		thick = 0.6
	}
	length := b.skin.c.length()
	inner := func(s, in float64) vertex {
		v := b.skin.at(s, b.edge(s)+in)
		return vertex{p: r3.Sub(v.p, r3.Scale(thick, v.n)), n: r3.Scale(-1, v.n)}
	}
	edge := func(u, v float64) vertex {
		p := b.skin.at(u*length, b.edge(u*length))
		return vertex{p: r3.Sub(p.p, r3.Scale(v*thick, p.n)), n: b.outboard(false)}
	}
	deep := func(u, v float64) vertex { return inner(u*length, v*b.s.InsideSeen) }
	round := length * b.w.Chord
	b.objects = append(b.objects, patch{round, thick, edge}, patch{round, b.s.InsideSeen, deep})
}

// strays adds points, or in a mesh loose triangles, that belong to nothing.
func (b *builder) strays() {
	r := b.stream(strayStream)
	at := func() r3.Vec {
		return b.inboard((b.w.Chord+2*strayMargin)*r.Float64()-strayMargin,
			(b.w.Span+2*strayMargin)*r.Float64()-strayMargin, 2*strayMargin*(r.Float64()-0.5))
	}
	n := int(b.s.Strays * float64(b.s.Points))
	if !b.s.Mesh {
		for range n {
			b.vertices = append(b.vertices, vertex{p: at()})
		}
		return
	}
	for range n / 3 {
		k := uint32(len(b.vertices))
		p := at()
		for range 3 {
			e := r3.Vec{X: r.NormFloat64(), Y: r.NormFloat64(), Z: r.NormFloat64()}
			b.vertices = append(b.vertices, vertex{p: r3.Add(p, r3.Scale(2*b.spacing(), e))})
		}
		b.triangles = append(b.triangles, [3]uint32{k, k + 1, k + 2})
	}
}

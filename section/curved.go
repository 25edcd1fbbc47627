package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// Coarse meshes. A mesh from a drawing program, or one thinned hard, has its vertices on the surface and its
// flat facets inside the curve: by a millimetre and more at the nose. So points are laid not on the facet but
// on a curved patch that passes through its corners square to their normals: the point-normal triangle of
// Vlachos, Peters, Boyd and Mitchell (Interactive 3D Graphics 2001). The normal at a corner is the mean of
// the facets round it by the weights of Max (Journal of Graphics Tools 4 (1999) 1), which are exact on a
// sphere; facets beyond a crease, such as the rib's face or a hinge gap, have no say.

// creaseCosine is the cosine of the angle between facets from which their common edge is an edge of the body
// and not of the mesh: 75 degrees. The facets round the nose of a section of 30 points turn by about 50, those of a
// thin scan by more.
const creaseCosine = 0.26

// mostTurnCosine is the cosine of the angle by which the surface may turn over one triangle: 45 degrees, where a
// cubic stands off a circle by 0.9 % of its radius.
const mostTurnCosine = 0.707

// facets are the triangles of a scan, and for each vertex of some of them the triangles about it.
type facets struct {
	scan  *scan.Scan
	first []int32 // of each vertex, into about; one longer than the vertices
	about []int32
}

// newFacets makes the facets for patches over some triangles.
func newFacets(s *scan.Scan, some []uint32) *facets {
	f := &facets{scan: s, first: make([]int32, len(s.Points)+1)}
	wanted := newMarks(len(s.Points))
	for _, i := range some {
		for _, v := range s.Triangles[i] {
			wanted.set(int(v))
		}
	}
	near := joined(len(s.Triangles), func(lo, hi int) (near []uint32) {
		for i, t := range s.Triangles[lo:hi] {
			if wanted.has(int(t[0])) || wanted.has(int(t[1])) || wanted.has(int(t[2])) {
				near = append(near, uint32(lo+i))
			}
		}
		return near
	})
	for _, i := range near {
		for _, v := range s.Triangles[i] {
			if wanted.has(int(v)) {
				f.first[v+1]++
			}
		}
	}
	for v := range s.Points {
		f.first[v+1] += f.first[v]
	}
	f.about = make([]int32, f.first[len(s.Points)])
	for _, i := range near {
		for _, v := range s.Triangles[i] {
			if wanted.has(int(v)) {
				f.about[f.first[v]] = int32(i)
				f.first[v]++
			}
		}
	}
	copy(f.first[1:], f.first) // each has become the next one's
	f.first[0] = 0
	return f
}

// normalOf returns the unit normal of a triangle, zero for one without area.
func normalOf(p [3]r3.Vec) r3.Vec {
	n := r3.Cross(r3.Sub(p[1], p[0]), r3.Sub(p[2], p[0]))
	if r3.Norm(n) == 0 {
		return r3.Vec{}
	}
	return r3.Unit(n)
}

// corners returns the corners of triangle i of a scan in file units.
func corners(s *scan.Scan, i int) (p [3]r3.Vec) {
	for k, v := range s.Triangles[i] {
		p[k] = vec(s.At(int(v)))
	}
	return p
}

// normalAt returns the normal of the smooth surface that triangle i belongs to at its corner k. A mesh whose
// facets do not all turn the same way round is read as if they did.
func (f *facets) normalAt(i, k int, m *facetMemory) r3.Vec {
	v := f.scan.Triangles[i][k]
	own := f.facet(i, m).normal
	var sum r3.Vec
	for _, j := range f.about[f.first[v]:f.first[v+1]] {
		t := f.facet(int(j), m)
		dot := r3.Dot(t.normal, own)
		if math.Abs(dot) < creaseCosine {
			continue
		}
		sum = r3.Add(sum, r3.Scale(math.Copysign(t.weightOf(v, f.scan.Triangles[j]), dot), t.normal))
	}
	if r3.Norm(sum) == 0 {
		return own
	}
	return r3.Unit(sum)
}

// weightAt is Max's weight of a triangle at its corner k: the sine of its angle there over the lengths of the
// sides that meet there. It is less than 0 where one of them has no length.
func weightAt(p [3]r3.Vec, k int) float64 {
	a, b := r3.Sub(p[(k+1)%3], p[k]), r3.Sub(p[(k+2)%3], p[k])
	if d := r3.Norm2(a) * r3.Norm2(b); d > 0 {
		return r3.Norm(r3.Cross(a, b)) / d
	}
	return -1
}

// weightOf returns a triangle's weight at the corner that is vertex v.
func (t *facet) weightOf(v uint32, triangle [3]uint32) float64 {
	for k, u := range triangle {
		if u == v && !(t.weight[k] < 0) {
			return t.weight[k]
		}
	}
	return 0
}

// curvedPatch is a cubic Bezier triangle.
type curvedPatch struct {
	corner [3]r3.Vec
	side   [3][2]r3.Vec // control points on the side from corner k to k+1, the nearer one first
	middle r3.Vec
}

// patch returns the curved patch over triangle i. It reports false where the surface turns so far over the
// triangle that its course between the corners is anybody's guess.
func (f *facets) patch(i int, m *facetMemory) (c curvedPatch, ok bool) {
	c.corner = corners(f.scan, i)
	var n [3]r3.Vec
	for k := range 3 {
		n[k] = f.normalAt(i, k, m)
	}
	for k := range 3 {
		if r3.Dot(n[k], n[(k+1)%3]) < mostTurnCosine {
			return c, false
		}
	}
	var sides, corners r3.Vec
	for k := range 3 {
		c.side[k] = curvedSide(c.corner[k], c.corner[(k+1)%3], n[k], n[(k+1)%3])
		sides = r3.Add(sides, r3.Add(c.side[k][0], c.side[k][1]))
		corners = r3.Add(corners, c.corner[k])
	}
	mean := r3.Scale(1./6, sides)
	c.middle = r3.Add(mean, r3.Scale(0.5, r3.Sub(mean, r3.Scale(1./3, corners))))
	return c, true
}

// curvedSide returns the control points at the thirds of the side from a to b, brought towards the planes that
// touch the surface there. Where the bend at one end is more than twice that at the other, a long facet meets
// short ones on a rounding, and only as much of it is believed.
func curvedSide(a, b, normalA, normalB r3.Vec) [2]r3.Vec {
	d := r3.Sub(b, a)
	atA, atB := r3.Dot(d, normalA), -r3.Dot(d, normalB)
	if atA*atB <= 0 {
		atA, atB = 0, 0
	}
	mostA, mostB := 2*math.Abs(atB), 2*math.Abs(atA)
	atA, atB = math.Max(-mostA, math.Min(mostA, atA)), math.Max(-mostB, math.Min(mostB, atB))
	return [2]r3.Vec{
		r3.Add(a, r3.Scale(1./3, r3.Sub(d, r3.Scale(atA, normalA)))),
		r3.Add(b, r3.Scale(-1./3, r3.Add(d, r3.Scale(atB, normalB)))),
	}
}

// at returns the point of the patch with barycentric coordinates b.
func (c *curvedPatch) at(b [3]float64) r3.Vec {
	p := r3.Scale(6*b[0]*b[1]*b[2], c.middle)
	for k := range 3 {
		u, v := b[k], b[(k+1)%3]
		p = r3.Add(p, r3.Scale(u*u*u, c.corner[k]))
		p = r3.Add(p, r3.Scale(3*u*u*v, c.side[k][0]))
		p = r3.Add(p, r3.Scale(3*u*v*v, c.side[k][1]))
	}
	return p
}

const (
	noseTurn     = 0.04  // chords along the arc either side of the leading edge where a mesh's corners are counted
	cornersApart = 0.001 // chords along the arc from which on two corners are two
	fewCorners   = 3     // so many or fewer do not tell a nose
	// Corners count a little past the panel's ends, too, chords: an end is known to about a spacing of the points laid, and a
	// drawn mesh may have corners at its ends alone.
	cornersPast = 1.0 / meshSpacing
)

// noseCorners returns how many places round the nose a coarse mesh has corners at, and whether points were laid between
// them at all.
func (w *work) noseCorners() (n int, laid bool) {
	if !w.points.laid {
		return 0, false
	}
	c := w.best
	toWing := w.wingFromScan()
	nose := c.field.arc[c.field.nose]
	past := cornersPast * c.Chord
	arcs := joined(w.points.own.len(), func(lo, hi int) (arcs []float64) {
		w.points.own.each(lo, hi, func(_ int, p r3.Vec) {
			p = toWing.apply(p)
			if station := p.Y * c.inboard; station < c.lo-past || station > c.hi+past || p.X-c.Sweep*station > 2*noseTurn*c.Chord {
				return
			}
			if r, ok := c.at(p); ok && math.Abs(r.arc-nose) < noseTurn && math.Abs(r.distance) < mapReach*c.Chord {
				arcs = append(arcs, r.arc)
			}
		})
		return arcs
	})
	slices.Sort(arcs)
	last := math.Inf(-1)
	for _, a := range arcs {
		if a-last > cornersApart {
			n, last = n+1, a
		}
	}
	return n, true
}

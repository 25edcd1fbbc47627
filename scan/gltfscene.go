package scan

import (
	"math"
	"strings"

	"github.com/qmuntal/gltf"
)

// affine is a transform: the upper three rows of a 4 by 4 matrix, row by row.
type affine [3][4]float64

func identity() affine { return affine{{1, 0, 0, 0}, {0, 1, 0, 0}, {0, 0, 1, 0}} }

// apply returns a point moved by the transform. The conversions keep products from being fused with sums, so that
// every machine gives the same bits.
func (a affine) apply(p [3]float64) (q [3]float64) {
	for i, r := range a {
		q[i] = float64(r[0]*p[0]) + float64(r[1]*p[1]) + float64(r[2]*p[2]) + r[3]
	}
	return q
}

// times returns the transform that does b first and then a.
func (a affine) times(b affine) (c affine) {
	for i := range c {
		for k := range c[i] {
			c[i][k] = float64(a[i][0]*b[0][k]) + float64(a[i][1]*b[1][k]) + float64(a[i][2]*b[2][k])
		}
		c[i][3] += a[i][3]
	}
	return c
}

// mirrors tells whether the transform turns a right hand into a left one.
func (a affine) mirrors() bool {
	return a[0][0]*(a[1][1]*a[2][2]-a[1][2]*a[2][1])-a[0][1]*(a[1][0]*a[2][2]-a[1][2]*a[2][0])+a[0][2]*(a[1][0]*a[2][1]-a[1][1]*a[2][0]) < 0
}

// transformOf returns where a node stands within its parent: its matrix, or its scale, rotation and translation,
// done in this order. The rotation is a quaternion x, y, z, w, brought to unit length.
func transformOf(n *gltf.Node) affine {
	if m := n.MatrixOrDefault(); m != gltf.DefaultMatrix {
		return affine{{m[0], m[4], m[8], m[12]}, {m[1], m[5], m[9], m[13]}, {m[2], m[6], m[10], m[14]}}
	}
	q, s, t := n.RotationOrDefault(), n.ScaleOrDefault(), n.TranslationOrDefault()
	if q == gltf.DefaultRotation {
		return affine{{s[0], 0, 0, t[0]}, {0, s[1], 0, t[1]}, {0, 0, s[2], t[2]}}
	}
	length := math.Sqrt(float64(q[0]*q[0]) + float64(q[1]*q[1]) + float64(q[2]*q[2]) + float64(q[3]*q[3]))
	x, y, z, w := q[0]/length, q[1]/length, q[2]/length, q[3]/length
	return affine{
		{float64(1-float64(2*y*y)-float64(2*z*z)) * s[0], (float64(2*x*y) - float64(2*z*w)) * s[1], (float64(2*x*z) + float64(2*y*w)) * s[2], t[0]},
		{(float64(2*x*y) + float64(2*z*w)) * s[0], float64(1-float64(2*x*x)-float64(2*z*z)) * s[1], (float64(2*y*z) - float64(2*x*w)) * s[2], t[1]},
		{(float64(2*x*z) - float64(2*y*w)) * s[0], (float64(2*y*z) + float64(2*x*w)) * s[1], float64(1-float64(2*x*x)-float64(2*y*y)) * s[2], t[2]},
	}
}

// placed is a mesh as it stands in the scene.
type placed struct {
	mesh  *gltf.Mesh
	where affine
}

// scene gathers the surfaces of all meshes that the document shows.
func (g *gltfReader) scene() error {
	all, err := g.placements()
	if err != nil {
		return err
	}
	exact, dots, faces := true, false, false
	for _, p := range all {
		exact = exact && p.where == identity()
		for _, prim := range p.mesh.Primitives {
			if prim != nil {
				dots = dots || prim.Mode == gltf.PrimitivePoints
				faces = faces || isFaces(prim.Mode)
			}
		}
	}
	if !dots && !faces {
		return g.in.refuse(exportAgain, "the scene shows neither a mesh nor a cloud")
	}
	if dots && faces {
		g.build.messages = append(g.build.messages, Notef("points-beside-mesh", "The file has a mesh and single points. The points were not read."))
	}
	g.build.faced = faces
	for _, p := range all {
		if err := g.place(p, faces, exact); err != nil {
			return err
		}
	}
	return nil
}

func isFaces(m gltf.PrimitiveMode) bool {
	return m == gltf.PrimitiveTriangles || m == gltf.PrimitiveTriangleStrip || m == gltf.PrimitiveTriangleFan
}

// placements walks the tree of nodes. A document without a scene shows all its nodes, one without nodes all its
// meshes.
func (g *gltfReader) placements() (all []placed, err error) {
	type standing struct {
		node  int
		where affine
	}
	var waiting []standing
	for _, n := range g.roots() {
		waiting = append(waiting, standing{n, identity()})
	}
	seen := make([]bool, len(g.doc.Nodes))
	for len(waiting) > 0 {
		at := waiting[len(waiting)-1]
		waiting = waiting[:len(waiting)-1]
		n := nth(g.doc.Nodes, at.node)
		if n == nil || seen[at.node] {
			return nil, g.in.refuse(exportAgain, "its node %d is not there or stands in two places", at.node)
		}
		seen[at.node] = true
		where := at.where.times(transformOf(n))
		if n.Mesh != nil {
			m := nth(g.doc.Meshes, *n.Mesh)
			if m == nil {
				return nil, g.in.refuse(exportAgain, "it has no mesh %d", *n.Mesh)
			}
			all = append(all, placed{m, where})
		}
		for i := len(n.Children) - 1; i >= 0; i-- {
			waiting = append(waiting, standing{n.Children[i], where})
		}
	}
	if len(g.doc.Nodes) == 0 {
		for _, m := range g.doc.Meshes {
			if m != nil {
				all = append(all, placed{m, identity()})
			}
		}
	}
	return all, nil
}

// roots returns the nodes at which the shown scene begins, the last one first.
func (g *gltfReader) roots() (nodes []int) {
	number := 0
	if g.doc.Scene != nil {
		number = *g.doc.Scene
	}
	if s := nth(g.doc.Scenes, number); s != nil {
		for i := len(s.Nodes) - 1; i >= 0; i-- {
			nodes = append(nodes, s.Nodes[i])
		}
		return nodes
	}
	child := map[int]bool{}
	for _, n := range g.doc.Nodes {
		if n != nil {
			for _, c := range n.Children {
				child[c] = true
			}
		}
	}
	for i := len(g.doc.Nodes) - 1; i >= 0; i-- {
		if !child[i] {
			nodes = append(nodes, i)
		}
	}
	return nodes
}

// place reads the primitives of a mesh: its faces, or its single points. Primitives that share their positions
// get them once.
func (g *gltfReader) place(p placed, faces, exact bool) error {
	first := map[int]int{}
	for _, prim := range p.mesh.Primitives {
		if prim == nil || isFaces(prim.Mode) != faces || !faces && prim.Mode != gltf.PrimitivePoints {
			continue
		}
		for name := range prim.Extensions {
			if a := nth(g.doc.Accessors, prim.Attributes[gltf.POSITION]); strings.Contains(name, "draco") && (a == nil || a.BufferView == nil) {
				return g.packed(name)
			}
		}
		i, ok := prim.Attributes[gltf.POSITION]
		if !ok {
			continue // it says nothing of where it lies, and so shows nothing
		}
		base, ok := first[i]
		if !ok {
			base = len(g.build.narrow) + len(g.build.wide)
			if err := g.positions(i, p.where, exact); err != nil {
				return err
			}
			first[i] = base
		}
		if !faces {
			continue
		}
		if err := g.faces(prim, base, g.doc.Accessors[i].Count, p.where.mirrors()); err != nil {
			return err
		}
	}
	return nil
}

// positions appends the points of an accessor as they stand in the scene: in single precision, as they are, if
// nothing is moved.
func (g *gltfReader) positions(i int, where affine, exact bool) error {
	n, a, err := g.accessor(i, gltf.AccessorVec3, "positions")
	if err != nil {
		return err
	}
	if n.kind == gltf.ComponentUint {
		return g.in.refuse(exportAgain, "accessor %d gives positions as whole numbers of 4 bytes, which glTF does not know", i)
	}
	base := len(g.build.narrow) + len(g.build.wide)
	if err := g.in.checkCounts(int64(base)+int64(n.count), 0); err != nil {
		return err
	}
	put := func(row int, from *gltfNumbers, k int) {
		p := [3]float64{from.at(k, 0), from.at(k, 1), from.at(k, 2)}
		if exact {
			g.build.narrow[base+row] = [3]float32{float32(p[0]), float32(p[1]), float32(p[2])}
		} else {
			g.build.wide[base+row] = where.apply(p)
		}
	}
	if exact {
		g.build.narrow = append(g.build.narrow, make([][3]float32, n.count)...)
	} else {
		g.build.wide = append(g.build.wide, make([][3]float64, n.count)...)
	}
	for row := range n.count {
		put(row, n, row)
	}
	if a.Sparse == nil {
		return nil
	}
	rows, values, err := g.sparse(a, 3)
	if err != nil {
		return err
	}
	for k := range rows.count {
		put(int(rows.at(k, 0)), values, k)
	}
	return nil
}

// faces appends the triangles of a primitive whose points begin at base. A mirrored one is turned round, so that
// it still faces outward.
func (g *gltfReader) faces(prim *gltf.Primitive, base, points int, mirrored bool) error {
	corners := make([]uint32, 0)
	if prim.Indices == nil {
		for i := range points {
			corners = append(corners, uint32(base+i))
		}
	} else {
		n, a, err := g.accessor(*prim.Indices, gltf.AccessorScalar, "indices")
		if err != nil {
			return err
		}
		if a.Sparse != nil || n.normalized || n.kind != gltf.ComponentUbyte && n.kind != gltf.ComponentUshort && n.kind != gltf.ComponentUint {
			return g.in.refuse(exportAgain, "accessor %d gives indices of type %v, which glTF does not know", *prim.Indices, n.kind)
		}
		for i := range n.count {
			v := n.at(i, 0)
			if v >= float64(points) {
				return g.in.refuse(exportAgain, "a face uses point %v, but the points are numbered 0 to %d", v, points-1)
			}
			corners = append(corners, uint32(base)+uint32(v))
		}
	}
	for i := 2; i < len(corners); i++ {
		t := [3]uint32{corners[i-2], corners[i-1], corners[i]}
		switch prim.Mode {
		case gltf.PrimitiveTriangles:
			if i%3 != 2 {
				continue
			}
		case gltf.PrimitiveTriangleFan:
			t[0] = corners[0]
		case gltf.PrimitiveTriangleStrip:
			if i%2 == 1 {
				t[0], t[1] = t[1], t[0]
			}
		}
		if mirrored {
			t[1], t[2] = t[2], t[1]
		}
		g.build.triangles = append(g.build.triangles, t)
	}
	return g.in.checkCounts(0, int64(len(g.build.triangles)))
}

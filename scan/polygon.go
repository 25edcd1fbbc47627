package scan

import "math"

// polygons remembers which triangles of a build were fanned out of one polygon, so that those of a polygon with a
// corner that points inwards can be laid again once all points are there.
type polygons struct {
	fans  []fan
	tests int // how many points were held against a triangle
}

// fan is a polygon's triangles: all have its first corner, and each the next two.
type fan struct{ first, triangles int32 }

// mostTests bounds the work on one file: a few seconds for polygons of millions of corners, which no program
// means.
const mostTests = 200_000_000

// add remembers that the next triangles of a build will be those of a polygon.
func (p *polygons) add(first, corners int) {
	if corners > 3 {
		p.fans = append(p.fans, fan{int32(first), int32(corners - 2)})
	}
}

// unfold lays the triangles of every polygon again that its fan does not cover rightly. Polygons that no ears can
// be cut from, as those that cross themselves, stay as they are.
func (p *polygons) unfold(b *build) {
	if len(b.wide)+len(b.narrow) == 0 {
		return // it will be refused
	}
	for _, f := range p.fans {
		triangles := b.triangles[f.first : f.first+f.triangles]
		normal := b.normalOf(triangles)
		if b.agree(triangles, normal) {
			continue
		}
		p.clip(b, triangles, normal)
	}
	p.fans = nil
}

// at returns a gathered point.
func (b *build) at(i uint32) [3]float64 {
	if b.wide != nil {
		return b.wide[i]
	}
	q := b.narrow[i]
	return [3]float64{float64(q[0]), float64(q[1]), float64(q[2])}
}

// across returns the vector that stands on a triangle, as long as twice its area.
func (b *build) across(t [3]uint32) [3]float64 {
	o, p, q := b.at(t[0]), b.at(t[1]), b.at(t[2])
	var u, v [3]float64
	for k := range 3 {
		u[k], v[k] = p[k]-o[k], q[k]-o[k]
	}
	return [3]float64{u[1]*v[2] - u[2]*v[1], u[2]*v[0] - u[0]*v[2], u[0]*v[1] - u[1]*v[0]}
}

// normalOf returns the sum over a fan, which is the polygon's own area vector wherever the fan begins.
func (b *build) normalOf(triangles [][3]uint32) (sum [3]float64) {
	for _, t := range triangles {
		n := b.across(t)
		for k := range 3 {
			sum[k] += n[k]
		}
	}
	return sum
}

// agree tells whether no triangle faces the other way than the polygon as a whole.
func (b *build) agree(triangles [][3]uint32, normal [3]float64) bool {
	for _, t := range triangles {
		n := b.across(t)
		if n[0]*normal[0]+n[1]*normal[1]+n[2]*normal[2] < 0 {
			return false
		}
	}
	return true
}

// ring is a polygon laid flat, with its corners linked round. It runs counter-clockwise.
type ring struct {
	corner     []uint32
	x, y       []float64
	next, prev []int32
	inwards    []bool // the corner points inwards, or is straight
	tests      *int
}

// clip lays a polygon's triangles again by cutting ears off it (Meisters, "Polygons have ears", Amer. Math.
// Monthly 82, 1975; the method from memory): corners whose triangle holds no other corner of the rest.
func (p *polygons) clip(b *build, triangles [][3]uint32, normal [3]float64) {
	r := b.flatten(triangles, normal)
	if r == nil {
		return
	}
	r.tests = &p.tests
	ears := make([][3]uint32, 0, len(triangles))
	left, i, turned := len(r.corner), int32(0), 0
	for left > 3 && turned < left && p.tests < mostTests {
		if !r.ear(i) {
			i, turned = r.next[i], turned+1
			continue
		}
		ears = append(ears, [3]uint32{r.corner[r.prev[i]], r.corner[i], r.corner[r.next[i]]})
		i, turned, left = r.cut(i), 0, left-1
	}
	if left == 3 {
		copy(triangles, append(ears, [3]uint32{r.corner[r.prev[i]], r.corner[i], r.corner[r.next[i]]}))
	}
}

// flatten lays a polygon on the plane of two axes that it is seen largest along; nil if it has no area.
func (b *build) flatten(triangles [][3]uint32, normal [3]float64) *ring {
	drop := 0
	for k := range 3 {
		if math.Abs(normal[k]) > math.Abs(normal[drop]) {
			drop = k
		}
	}
	if !(math.Abs(normal[drop]) > 0) {
		return nil
	}
	u, v := (drop+1)%3, (drop+2)%3
	if normal[drop] < 0 {
		u, v = v, u
	}
	n := len(triangles) + 2
	r := &ring{corner: make([]uint32, n), x: make([]float64, n), y: make([]float64, n), next: make([]int32, n), prev: make([]int32, n), inwards: make([]bool, n)}
	for i := range n {
		switch {
		case i < 2:
			r.corner[i] = triangles[0][i]
		default:
			r.corner[i] = triangles[i-2][2]
		}
		q := b.at(r.corner[i])
		r.x[i], r.y[i] = q[u], q[v]
		r.next[i], r.prev[i] = int32((i+1)%n), int32((i+n-1)%n)
	}
	for i := range r.inwards {
		r.inwards[i] = !(r.turn(r.prev[i], int32(i), r.next[i]) > 0)
	}
	return r
}

// turn is twice the area of the triangle of three corners, positive where they run counter-clockwise.
func (r *ring) turn(a, b, c int32) float64 {
	return (r.x[b]-r.x[a])*(r.y[c]-r.y[a]) - (r.y[b]-r.y[a])*(r.x[c]-r.x[a])
}

// ear tells whether a corner can be cut off: it points outwards, and no corner that points inwards lies in its
// triangle. Corners at the same place as one of the three do not count: polygons reach their holes along a slit.
func (r *ring) ear(i int32) bool {
	if r.inwards[i] {
		return false
	}
	a, c := r.prev[i], r.next[i]
	for k := r.next[c]; k != a; k = r.next[k] {
		*r.tests++
		if r.inwards[k] && !r.same(k, a) && !r.same(k, i) && !r.same(k, c) &&
			r.turn(a, i, k) >= 0 && r.turn(i, c, k) >= 0 && r.turn(c, a, k) >= 0 {
			return false
		}
	}
	return true
}

func (r *ring) same(i, k int32) bool { return r.x[i] == r.x[k] && r.y[i] == r.y[k] }

// cut takes a corner out and returns the one to go on with.
func (r *ring) cut(i int32) int32 {
	a, c := r.prev[i], r.next[i]
	r.next[a], r.prev[c] = c, a
	r.inwards[a] = !(r.turn(r.prev[a], a, c) > 0)
	r.inwards[c] = !(r.turn(a, c, r.next[c]) > 0)
	return r.next[c]
}

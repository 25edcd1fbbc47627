package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// Points laid over a coarse mesh's triangles, on the curved patches over them.

const (
	// maxSprinkle bounds the points laid over one scan's triangles, so that a mesh of a landscape in
	// millimetres cannot fill the memory.
	maxSprinkle = 4_000_000
	// searchPoints is how many points a coarse mesh is given for the search.
	searchPoints = 400_000
	// sprinkleFrom is how many times the wanted spacing a triangle's side may have before points are laid
	// over it: a scanner's own triangles are left as they are.
	sprinkleFrom = 2.5

	// mostRows is into how many rows a triangle's points are laid, and how many there are in one, at most.
	mostRows = 4000
)

// rowsOver is the rows of points over a triangle: along its longest side, so that a sliver gets its points along its length
// and few for its width.
type rowsOver struct {
	patch  curvedPatch
	k      int     // the longest side runs from corner k to the next
	length float64 // of that side, file units
	rows   int
	points int // in all; 0 where the surface turns too far
}

// lay returns points over triangles, in their order, and leaves out those for which there is no more room.
func (f *facets) lay(triangles []uint32, edge float64) (points bulk) {
	const together, few = 1 << 13, 1 << 9 // triangles at a time, and by one processor
	over, starts := make([]rowsOver, min(together, len(triangles))), make([]int, together)
	memories := make([]facetMemory, (len(over)+few-1)/few)
	for first := 0; first < len(triangles) && len(points) <= maxSprinkle; first += together {
		batch := triangles[first:min(first+together, len(triangles))]
		chunks := (len(batch) + few - 1) / few
		scan.OnAllProcessors(chunks, func(c int) {
			for k := c * few; k < min((c+1)*few, len(batch)); k++ {
				f.rowsOver(int(batch[k]), edge, &memories[c], &over[k])
			}
		})
		all := len(points)
		for k := range batch {
			if all > maxSprinkle {
				batch = batch[:k]
				break
			}
			starts[k] = all
			all += over[k].points
		}
		points = slices.Grow(points, all-len(points))[:all]
		scan.OnAllProcessors(chunks, func(c int) {
			for k := c * few; k < min((c+1)*few, len(batch)); k++ {
				over[k].lay(points[starts[k]:starts[k]+over[k].points], edge, vec(f.scan.Origin))
			}
		})
	}
	return points
}

// rowsOver tells the rows over triangle i.
func (f *facets) rowsOver(i int, edge float64, m *facetMemory, out *rowsOver) {
	p := corners(f.scan, i)
	k := 0
	for j := 1; j < 3; j++ {
		if r3.Norm2(r3.Sub(p[(j+1)%3], p[j])) > r3.Norm2(r3.Sub(p[(k+1)%3], p[k])) {
			k = j
		}
	}
	base, apex := r3.Sub(p[(k+1)%3], p[k]), r3.Sub(p[(k+2)%3], p[k])
	out.k, out.length, out.points = k, r3.Norm(base), 0
	ok := false
	if out.patch, ok = f.patch(i, m); !ok {
		return
	}
	out.rows = int(math.Min(math.Ceil(r3.Norm(r3.Cross(base, apex))/out.length/edge), mostRows))
	for j := range out.rows {
		_, n := out.row(j, edge)
		out.points += n
	}
}

// row returns how far row j lies from the longest side, as a share of the triangle, and how many points it has.
func (r *rowsOver) row(j int, edge float64) (v float64, n int) {
	v = (float64(j) + 0.5) / float64(r.rows)
	return v, max(int(math.Min(math.Ceil((1-v)*r.length/edge), mostRows)), 0)
}

// lay lays the points about an origin.
func (r *rowsOver) lay(points bulk, edge float64, origin r3.Vec) {
	if len(points) == 0 {
		return
	}
	at, k := 0, r.k
	for j := range r.rows {
		v, n := r.row(j, edge)
		for i := range n {
			u := (1 - v) * (float64(i) + 0.5) / float64(n)
			var b [3]float64
			b[k], b[(k+1)%3], b[(k+2)%3] = 1-u-v, u, v
			points[at] = single(r3.Sub(r.patch.at(b), origin))
			at++
		}
	}
}

// facetMemory remembers the normals of triangles that were asked for last, and their weights at their corners: those about
// a corner are asked for by all triangles that meet there.
type facetMemory struct{ held []facet }

const facetsHeld = 1 << 11

// facet is what is remembered of a triangle.
type facet struct {
	number int32 // of the triangle, plus one; 0: none
	normal r3.Vec
	weight [3]float64 // at each corner; less than 0 where two sides that meet there have no length
}

// facet returns what is known of triangle i.
func (f *facets) facet(i int, m *facetMemory) *facet {
	if m.held == nil {
		m.held = make([]facet, facetsHeld)
	}
	t := &m.held[i%facetsHeld]
	if t.number != int32(i+1) {
		p := corners(f.scan, i)
		t.number, t.normal = int32(i+1), normalOf(p)
		for k := range p {
			t.weight[k] = weightAt(p, k)
		}
	}
	return t
}

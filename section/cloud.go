package section

import (
	"math"
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The coarse cloud: the scan thinned by space, not by order, to one point a voxel, with a normal at each.
// Only the search for the wing works on it; the measurement uses every point.

// patch is one voxel of the coarse cloud: the mean of its points and the normal of the surface there.
type patch struct {
	at     r3.Vec // file units
	normal r3.Vec // unit length, sign without meaning
	flat   float64
	count  int // points of the scan in the voxel
}

// thinShare is how many points one processor gathers into voxels at a time, and mostThinShares into how many such
// shares a cloud is divided, whatever the number of processors.
const (
	thinShare      = 150_000
	mostThinShares = 8
)

// thin gathers points into voxels of the given edge and gives each the normal of its neighbourhood.
func thin(points *cloud, edge float64) []patch {
	n := points.len()
	shares := make([]*voxels, min(2*(n/(2*thinShare)+1), mostThinShares)) // an even number, for two processors
	scan.OnAllProcessors(len(shares), func(k int) {
		shares[k] = gathered(points, k*n/len(shares), (k+1)*n/len(shares), edge)
	})
	// Together the shares of a scan whose neighbours stand near each other have as many cells as each by itself, and those of
	// one that is strewn hardly more than one.
	cells, blocks, mostCells, mostBlocks := 0, 0, 0, 0
	for _, share := range shares {
		cells, mostCells = cells+len(share.sums), max(mostCells, len(share.sums))
		blocks, mostBlocks = blocks+len(share.blocks), max(mostBlocks, len(share.blocks))
	}
	g := newVoxels(edge, min(cells, 4*mostCells), min(blocks, 4*mostBlocks))
	for _, share := range shares {
		g.join(share)
	}
	means := g.means()
	patches := make([]patch, len(means))
	const few = 64 // blocks done at a time
	scan.OnAllProcessors((len(g.blocks)+few-1)/few, func(chunk int) {
		var around surroundings
		var room [mostNear]int32
		for b := chunk * few; b < min((chunk+1)*few, len(g.blocks)); b++ {
			g.gather(b, &around)
			for held := g.blocks[b].held; held != 0; held &= held - 1 {
				index := bits.TrailingZeros64(held)
				n := g.blocks[b].number[index]
				normal, flat := normalAt(means, around.near(index, &room), int(n), edge)
				patches[n] = patch{means[n].at, normal, flat, means[n].count}
			}
		}
	})
	return patches
}

// gathered returns the voxels of the points from lo on and before hi.
func gathered(points *cloud, lo, hi int, edge float64) *voxels {
	cells := (hi - lo) / 16
	g := newVoxels(edge, cells, cells/usualCells)
	if strewn(points, lo, hi, edge*blockEdge) {
		for _, i := range byPlace(points, lo, hi, edge) {
			g.add(points.at(int(i)))
		}
		return g
	}
	if points.own == nil && hi <= len(points.scan.Points) {
		g.addAll(points.scan.Points[lo:hi], vec(points.scan.Origin))
		return g
	}
	points.each(lo, hi, func(_ int, p r3.Vec) { g.add(p) })
	return g
}

// strewn reports whether neighbours in a list mostly lie farther apart than so much, so that each would be looked up far
// from the last.
func strewn(points *cloud, lo, hi int, apart float64) bool {
	const asked = 500
	far := 0
	for k := range asked {
		i := lo + k*(hi-lo)/asked
		if d := r3.Sub(points.at(i), points.at(min(i+1, hi-1))); max(math.Abs(d.X), math.Abs(d.Y), math.Abs(d.Z)) > apart {
			far++
		}
	}
	return far > asked/2
}

// byPlace returns the numbers from lo on and before hi in another order: of a batch of them those in one block of voxels
// follow each other, so that the block and its means are at hand, however the scan strews its points.
func byPlace(points *cloud, lo, hi int, edge float64) []int32 {
	const batch, buckets = 1 << 17, 1 << 12
	out := make([]int32, hi-lo)
	bucket := make([]uint16, min(batch, hi-lo))
	perBlock := 1 / (edge * blockEdge)
	for first := lo; first < hi; first += batch {
		last := min(first+batch, hi)
		var starts [buckets + 1]int32
		points.each(first, last, func(i int, p r3.Vec) {
			b := uint32(cellOf(p.X*perBlock)+61*cellOf(p.Y*perBlock)+3721*cellOf(p.Z*perBlock)) % buckets
			bucket[i-first] = uint16(b)
			starts[b+1]++
		})
		for b := range buckets {
			starts[b+1] += starts[b]
		}
		for i, b := range bucket[:last-first] {
			at := &starts[b]
			out[first-lo+int(*at)] = int32(first + i)
			*at++
		}
	}
	return out
}

// normalAt fits a plane to those of the near voxels that lie within two edges of voxel i. flat is the share of
// the variance that lies in the plane, 1 for a perfect plane; 0 with too few neighbours to tell.
func normalAt(means []mean, near []int32, i int, edge float64) (normal r3.Vec, flat float64) {
	centre := means[i].at
	var n float64
	var sum r3.Vec
	var cov [6]float64
	for _, j := range near {
		d := r3.Sub(means[j].at, centre)
		if r3.Norm2(d) > 4*edge*edge {
			continue
		}
		n++
		sum = r3.Add(sum, d)
		cov[0] += d.X * d.X
		cov[1] += d.X * d.Y
		cov[2] += d.X * d.Z
		cov[3] += d.Y * d.Y
		cov[4] += d.Y * d.Z
		cov[5] += d.Z * d.Z
	}
	if n < 5 {
		return r3.Vec{}, 0
	}
	m := r3.Scale(1/n, sum)
	c := [6]float64{cov[0]/n - m.X*m.X, cov[1]/n - m.X*m.Y, cov[2]/n - m.X*m.Z,
		cov[3]/n - m.Y*m.Y, cov[4]/n - m.Y*m.Z, cov[5]/n - m.Z*m.Z}
	normal, least := smallestAxis(c)
	total := c[0] + c[3] + c[5]
	if !(total > 0) {
		return r3.Vec{}, 0
	}
	return normal, 1 - 3*math.Max(least, 0)/total
}

// smallestAxis returns the unit eigenvector of the symmetric matrix (xx, xy, xz, yy, yz, zz) that belongs
// to its smallest eigenvalue, and that eigenvalue, by the trigonometric solution of the cubic.
func smallestAxis(c [6]float64) (axis r3.Vec, value float64) {
	mean := (c[0] + c[3] + c[5]) / 3
	a, b, d := c[0]-mean, c[3]-mean, c[5]-mean
	off := c[1]*c[1] + c[2]*c[2] + c[4]*c[4]
	p := math.Sqrt((a*a + b*b + d*d + 2*off) / 6)
	if !(p > 0) {
		return r3.Vec{Z: 1}, mean
	}
	det := a*(b*d-c[4]*c[4]) - c[1]*(c[1]*d-c[4]*c[2]) + c[2]*(c[1]*c[4]-b*c[2])
	phi := math.Acos(math.Max(-1, math.Min(1, det/(2*p*p*p)))) / 3
	value = mean + 2*p*math.Cos(phi+2*math.Pi/3)
	// The eigenvector is square to all rows of the shifted matrix: the longest cross product of two rows
	// is the safest.
	r := [3]r3.Vec{{X: c[0] - value, Y: c[1], Z: c[2]}, {X: c[1], Y: c[3] - value, Z: c[4]}, {X: c[2], Y: c[4], Z: c[5] - value}}
	for i := range 3 {
		if v := r3.Cross(r[i], r[(i+1)%3]); r3.Norm2(v) > r3.Norm2(axis) {
			axis = v
		}
	}
	if n := r3.Norm(axis); n > 0 {
		return r3.Scale(1/n, axis), value
	}
	return r3.Vec{Z: 1}, value
}

// extent returns the size of the box that holds all but the outermost hundredth of the points on each
// side, and its middle: strays do not stretch it.
func extent(points *cloud) (size, middle r3.Vec) {
	step := max(points.len()/20000, 1)
	n := (points.len() + step - 1) / step
	x, y, z := make([]float64, 0, n), make([]float64, 0, n), make([]float64, 0, n)
	for i := 0; i < points.len(); i += step {
		p := points.at(i)
		x, y, z = append(x, p.X), append(y, p.Y), append(z, p.Z)
	}
	axis := func(v []float64) (length, centre float64) {
		lo, hi := Nth(v, len(v)/100), Nth(v, len(v)-1-len(v)/100)
		return hi - lo, (hi + lo) / 2
	}
	size.X, middle.X = axis(x)
	size.Y, middle.Y = axis(y)
	size.Z, middle.Z = axis(z)
	return size, middle
}

// spread returns the scan as points that cover its surface: its own points, and for a mesh with large
// triangles further ones on the curved patches over them, so that a coarse mesh is as good as a dense cloud.
// edge is the distance wanted between points, in file units; wanted, if not nil, tells which triangles need
// them, on all processors at once.
func (m *mesh) spread(edge float64, wanted func(corners [3]r3.Vec) bool) *cloud {
	out := m.own
	large := joined(len(m.sides), func(lo, hi int) (large []uint32) {
		for i, side := range m.sides[lo:hi] {
			if float64(side) > sprinkleFrom*edge && (wanted == nil || wanted(corners(m.scan, lo+i))) {
				large = append(large, uint32(lo+i))
			}
		}
		return large
	})
	if len(large) == 0 {
		return &out
	}
	m.laid = true
	out.laid = newFacets(m.scan, large).lay(large, edge)
	return &out
}

// mesh is a scan made ready for spreading.
type mesh struct {
	scan  *scan.Scan
	own   cloud     // the scan's points; of a mesh, those that a triangle uses
	sides []float32 // the longest side of each triangle, file units
	area  float64   // of all triangles, file units squared
	laid  bool      // a large triangle was met
}

func newMesh(s *scan.Scan) *mesh {
	m := &mesh{scan: s, own: cloud{scan: s}, sides: make([]float32, len(s.Triangles))}
	if len(s.Triangles) > 0 {
		sideBySide(m.lookAtTriangles, func() { m.own.own = usedPoints(s) })
	}
	return m
}

// lookAtTriangles fills in their sides and area.
func (m *mesh) lookAtTriangles() {
	points := bulk(m.scan.Points)
	m.area = reduce(len(m.scan.Triangles), func(lo, hi int) (area float64) {
		for i := lo; i < hi; i++ {
			t := &m.scan.Triangles[i]
			p := points.at(int(t[0])) // the origin falls out of what follows
			a, b := r3.Sub(points.at(int(t[1])), p), r3.Sub(points.at(int(t[2])), p)
			m.sides[i] = float32(math.Sqrt(max(r3.Norm2(a), r3.Norm2(b), r3.Norm2(r3.Sub(b, a)))))
			area += math.Sqrt(r3.Norm2(r3.Cross(a, b))) / 2
		}
		return area
	}, func(into *float64, part float64) { *into += part })
}

// usedPoints lists the points that a triangle uses; nil where all are.
func usedPoints(s *scan.Scan) []uint32 {
	if met(s.Triangles) == len(s.Points) {
		return nil
	}
	used := make([]bool, len(s.Points))
	n := 0
	for _, t := range s.Triangles {
		for _, v := range t {
			if !used[v] {
				used[v] = true
				n++
			}
		}
	}
	if n == len(s.Points) {
		return nil
	}
	out := make([]uint32, 0, n)
	for i, u := range used {
		if u {
			out = append(out, uint32(i))
		}
	}
	return out
}

// met returns how many points triangles use from the first on, one after the other as far as they are met in that order, as
// where corners were joined: all, then, without a list of them.
func met(triangles [][3]uint32) int {
	next := uint32(0)
	for i := range triangles {
		for _, v := range triangles[i] {
			if v == next {
				next++
			}
		}
	}
	return int(next)
}

// coarse returns points for the search of a wing with the given chord, file units: two a patch, but no more
// than searchPoints over the whole scene.
func (m *mesh) coarse(chord float64) *cloud {
	return m.spread(math.Max(chord/patchesPerChord/2, math.Sqrt(m.area/searchPoints)), nil)
}

func vec(p [3]float64) r3.Vec { return r3.Vec{X: p[0], Y: p[1], Z: p[2]} }

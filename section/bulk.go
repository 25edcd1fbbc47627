package section

import (
	"math/bits"
	"sync"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// bulk is a long list of points, mm. It is kept in single precision, which at 4 m from the origin is a fourth of a
// micrometre; what is computed from it is computed in double.
type bulk [][3]float32

func (b bulk) at(i int) r3.Vec {
	p := &b[i]
	return r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])}
}

// single rounds a point to what a bulk holds.
func single(p r3.Vec) [3]float32 { return [3]float32{float32(p.X), float32(p.Y), float32(p.Z)} }

// about returns about n of the points, or all where they are fewer than twice as many.
func (b bulk) about(n int) bulk {
	stride := len(b) / n
	if stride < 2 {
		return b
	}
	out := make(bulk, 0, len(b)/stride+1)
	for i := 0; i < len(b); i += stride {
		out = append(out, b[i])
	}
	return out
}

// cloud is points of a scan, and points laid over a coarse mesh's triangles, file units.
type cloud struct {
	scan *scan.Scan
	own  []uint32 // of the scan's points; nil: all
	laid bulk     // about the scan's origin
}

// count returns how many of the scan's own points the cloud holds.
func (c *cloud) count() int {
	if c.own != nil {
		return len(c.own)
	}
	return len(c.scan.Points)
}

func (c *cloud) len() int { return c.count() + len(c.laid) }

func (c *cloud) at(i int) r3.Vec {
	switch own := c.count(); {
	case i >= own:
		return r3.Add(vec(c.scan.Origin), c.laid.at(i-own))
	case c.own != nil:
		i = int(c.own[i])
	}
	return vec(c.scan.At(i))
}

// placed is at for those who ask for many: of most clouds all points are the scan's own.
func (c *cloud) placed() func(i int) r3.Vec {
	if c.own != nil || len(c.laid) > 0 {
		return c.at
	}
	points, o := c.scan.Points, vec(c.scan.Origin)
	return func(i int) r3.Vec {
		p := &points[i]
		return r3.Vec{X: o.X + float64(p[0]), Y: o.Y + float64(p[1]), Z: o.Z + float64(p[2])}
	}
}

// each calls do for the points from lo on and before hi.
func (c *cloud) each(lo, hi int, do func(i int, p r3.Vec)) {
	whole := min(hi, len(c.scan.Points))
	if c.own != nil {
		whole = lo
	}
	o := vec(c.scan.Origin)
	for i := lo; i < whole; i++ {
		p := &c.scan.Points[i]
		do(i, r3.Vec{X: o.X + float64(p[0]), Y: o.Y + float64(p[1]), Z: o.Z + float64(p[2])})
	}
	for i := max(lo, whole); i < hi; i++ {
		do(i, c.at(i))
	}
}

// piece is how many points are handed on at a time: room for them stays in the nearest cache.
const piece = 256

// pieceRooms is what is used again of that room.
var pieceRooms = sync.Pool{New: func() any { return new([piece]r3.Vec) }}

// pieces calls do for the points from lo on and before hi, a piece at a time, with the number of its first.
func (c *cloud) pieces(lo, hi int, do func(first int, points []r3.Vec)) {
	room := pieceRooms.Get().(*[piece]r3.Vec)
	defer pieceRooms.Put(room)
	o := vec(c.scan.Origin)
	for ; lo < hi; lo += piece {
		points := room[:min(piece, hi-lo)]
		if c.own != nil || lo+len(points) > len(c.scan.Points) {
			for k := range points {
				points[k] = c.at(lo + k)
			}
		} else {
			for k := range points {
				p := &c.scan.Points[lo+k]
				points[k] = r3.Vec{X: o.X + float64(p[0]), Y: o.Y + float64(p[1]), Z: o.Z + float64(p[2])}
			}
		}
		do(lo, points)
	}
}

// stream is a long list of points in the wing frame, mm, that is gone through in pieces.
type stream struct {
	n    int
	some func(lo, hi int, out []r3.Vec) []r3.Vec // appends those from lo on and before hi that count; for all processors
}

// each calls do for the points from lo on and before hi, a piece at a time; lo is a multiple of 64.
func (s *stream) each(lo, hi int, do func(points []r3.Vec)) {
	room := pieceRooms.Get().(*[piece]r3.Vec)
	defer pieceRooms.Put(room)
	for ; lo < hi; lo += piece {
		do(s.some(lo, min(lo+piece, hi), room[:0]))
	}
}

// stream returns the fitter's own points.
func (f *fitter) stream() stream {
	return stream{len(f.points), func(lo, hi int, out []r3.Vec) []r3.Vec {
		for i := lo; i < hi; i++ {
			out = append(out, f.wingFromPoints.apply(f.points.at(i)))
		}
		return out
	}}
}

// marks tells which points of a long list count: a bit for each.
type marks []uint64

func newMarks(n int) marks { return make(marks, (n+63)/64) }

// set marks i. Two processors may mark at once what is not in the same 64.
func (m marks) set(i int) { m[i/64] |= 1 << (i % 64) }

func (m marks) has(i int) bool { return m[i/64]>>(i%64)&1 != 0 }

// each calls do for what is marked from lo on and before hi, in order; lo is a multiple of 64.
func (m marks) each(lo, hi int, do func(i int)) {
	for first := lo; first < hi; first += 64 {
		for word := m[first/64]; word != 0; word &= word - 1 {
			if i := first + bits.TrailingZeros64(word); i < hi {
				do(i)
			}
		}
	}
}

// count returns how many are marked.
func (m marks) count() (n int) {
	for _, word := range m {
		n += bits.OnesCount64(word)
	}
	return n
}

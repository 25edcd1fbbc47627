package section

import (
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// aftMesh is the triangles that may lie at the tail, with their points numbered anew: each has several triangles, and is
// brought to the wing frame once.
type aftMesh struct {
	points    []uint32 // of the scan
	triangles [][3]uint32
}

// aftCorner is a point of an aftMesh in the wing frame, and its side of the tail's two planes.
type aftCorner struct {
	at   r3.Vec
	side uint8
}

// newAftMesh numbers the points of some triangles.
func newAftMesh(s *scan.Scan, some []uint32) (m aftMesh) {
	numbers := make([]uint32, len(s.Points)) // plus one; 0: none yet
	m.triangles = make([][3]uint32, len(some))
	for k, i := range some {
		for c, v := range s.Triangles[i] {
			if numbers[v] == 0 {
				m.points = append(m.points, v)
				numbers[v] = uint32(len(m.points))
			}
			m.triangles[k][c] = numbers[v] - 1
		}
	}
	return m
}

// place brings the points to the wing frame.
func (m *aftMesh) place(s *scan.Scan, toWing *Transform, span *tailSpan) []aftCorner {
	out := make([]aftCorner, len(m.points))
	parallel(len(out), func(lo, hi int) {
		for k := lo; k < hi; k++ {
			p := vec(s.At(int(m.points[k])))
			out[k] = aftCorner{toWing.apply(p), span.side(p)}
		}
	})
	return out
}

package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// edge draws the closed line on which a region is as deep as the level, in (arc, station), by marching
// squares on the fine window's means. Where the region meets the tip rib, the hinge line or the end of the
// scan, the line runs along it. Of several loops the one that holds most is returned.
func (s *surveyor) edge(r *region, level float64) []r2.Vec {
	p := s.p
	nc := p.columns()
	lo, hi := [2]int{p.rows(), nc}, [2]int{-1, -1}
	in := make(map[int]bool, len(r.cells)+len(r.rim))
	for _, cells := range [][]int{r.cells, r.rim} {
		for _, c := range cells {
			in[c] = true
			lo = [2]int{min(lo[0], c/nc), min(lo[1], c%nc)}
			hi = [2]int{max(hi[0], c/nc), max(hi[1], c%nc)}
		}
	}
	value := func(i, j int) float64 {
		if !in[i*nc+j] {
			return -level / 2
		}
		return r.sign*s.fine.mean[i*nc+j] - level
	}
	var m march
	for i := lo[0] - 1; i <= hi[0]; i++ {
		for j := lo[1] - 1; j <= hi[1]; j++ {
			var corner [4]spotNode
			for q, d := range [4][2]int{{0, 0}, {0, 1}, {1, 1}, {1, 0}} {
				corner[q] = s.node(i+d[0], j+d[1], lo, hi, value)
			}
			m.square(corner)
		}
	}
	return m.largest()
}

// spotNode is a corner of a square: its place and how much deeper than the level it is.
type spotNode struct {
	at    r2.Vec
	value float64
	id    [2]int
}

// node returns the corner for row i and column j; beyond the region's box it lies on the cells' border.
func (s *surveyor) node(i, j int, lo, hi [2]int, value func(i, j int) float64) spotNode {
	p := s.p
	n := spotNode{id: [2]int{i, j}}
	ci, cj := min(max(i, lo[0]), hi[0]), min(max(j, lo[1]), hi[1])
	n.at = r2.Vec{X: p.arc[cj] + float64(j-cj)*p.dArc/2, Y: p.station[ci] + float64(i-ci)*p.height[ci]/2}
	if i != ci || j != cj {
		n.value = -1e-9 // just outside: the line runs along the border
		return n
	}
	n.value = value(i, j)
	return n
}

// march gathers the pieces of level lines. A point on the line is named by the two nodes that it parts.
type march struct {
	next  map[[4]int][4]int
	place map[[4]int]r2.Vec
	order [][4]int
}

// square adds the pieces within one square; its corners go round counter-clockwise. The pieces run with the
// inside to their left. Saddles are joined as if their middle lay outside.
func (m *march) square(c [4]spotNode) {
	if m.next == nil {
		m.next, m.place = map[[4]int][4]int{}, map[[4]int]r2.Vec{}
	}
	for q := range 4 {
		// A piece enters where the outline of the square goes from inside to outside and leaves at the
		// crossing before it.
		a, b := c[q], c[(q+1)%4]
		if !(a.value > 0) || b.value > 0 {
			continue
		}
		back := q
		for c[back].value > 0 {
			back = (back + 3) % 4
		}
		from, to := m.cross(a, b), m.cross(c[(back+1)%4], c[back])
		m.next[from] = to
		m.order = append(m.order, from)
	}
}

func (m *march) cross(in, out spotNode) [4]int {
	key := [4]int{in.id[0], in.id[1], out.id[0], out.id[1]}
	t := in.value / (in.value - out.value)
	m.place[key] = mix(in.at, out.at, t)
	return key
}

// largest returns the loop that encloses most.
func (m *march) largest() (best []r2.Vec) {
	done := map[[4]int]bool{}
	most := 0.0
	for _, start := range m.order {
		var loop []r2.Vec
		for k := start; !done[k]; k = m.next[k] {
			done[k] = true
			loop = append(loop, m.place[k])
		}
		if a := math.Abs(enclosed(loop)); len(loop) > 2 && a > most {
			best, most = append(loop, loop[0]), a
		}
	}
	return best
}

// enclosed returns the signed area of a closed polygon, counter-clockwise positive.
func enclosed(p []r2.Vec) (sum float64) {
	for i, a := range p {
		b := p[(i+1)%len(p)]
		sum += r2.Cross(a, b) / 2
	}
	return sum
}

package outbox

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// field is a quantity on a grid: value(i, j) at (x[j], y[i]), x and y rising.
type field struct {
	x, y   []float64
	values []float64 // rows by y
}

func (f *field) at(i, j int) float64 { return f.values[i*len(f.x)+j] }

// above returns the closed loops that bound the region where the field is at least level; filled even-odd
// they give it. Between the nodes the field is taken as linear along the grid lines, and where a cell's
// diagonals disagree its mean decides. The grid's own edge bounds the region like any other loop.
func (f *field) above(level float64) [][]r2.Vec {
	t := tracer{field: f, level: level, nx: len(f.x) + 2, ny: len(f.y) + 2}
	t.next = make([]int, 2*t.nx*t.ny)
	for i := range t.next {
		t.next[i] = -1
	}
	for i := range t.ny - 1 {
		for j := range t.nx - 1 {
			t.cell(i, j)
		}
	}
	return t.loops()
}

// tracer walks the cells of a field with a ring of nodes round it that lie outside every region. Each grid
// line between two nodes is crossed at most once; next leads from the crossing at which a loop enters a cell
// to that at which it leaves it, so that what is inside lies to one hand.
type tracer struct {
	field  *field
	level  float64
	nx, ny int
	next   []int
}

// value returns the field less the level at a node of the ringed grid.
func (t *tracer) value(i, j int) float64 {
	if i == 0 || j == 0 || i == t.ny-1 || j == t.nx-1 {
		return math.Inf(-1)
	}
	return t.field.at(i-1, j-1) - t.level
}

// place returns where a node lies; the ring's nodes lie on the grid's edge.
func (t *tracer) place(i, j int) r2.Vec {
	return vec(t.field.x[min(max(j-1, 0), t.nx-3)], t.field.y[min(max(i-1, 0), t.ny-3)])
}

// The grid line from node (i, j) to (i, j+1) is number 2(i nx + j), that to (i+1, j) the next one.
func (t *tracer) right(i, j int) int { return 2 * (i*t.nx + j) }
func (t *tracer) down(i, j int) int  { return 2*(i*t.nx+j) + 1 }

// cell links the crossings of one cell. Its corners and sides are numbered round it.
func (t *tracer) cell(i, j int) {
	corner := [4]float64{t.value(i, j), t.value(i, j+1), t.value(i+1, j+1), t.value(i+1, j)}
	side := [4]int{t.right(i, j), t.down(i, j+1), t.right(i+1, j), t.down(i, j)}
	var enter, leave []int // sides crossed from outside to inside and back, going round
	sum := 0.0
	for k, v := range corner {
		w := corner[(k+1)%4]
		sum += v
		if v < 0 && w >= 0 {
			enter = append(enter, k)
		} else if v >= 0 && w < 0 {
			leave = append(leave, k)
		}
	}
	for _, from := range enter {
		to := leave[0]
		if len(leave) == 2 && (from+1)%4 != to == (sum < 0) {
			to = leave[1]
		}
		t.next[side[from]] = side[to]
	}
}

// loops follows the links.
func (t *tracer) loops() [][]r2.Vec {
	var out [][]r2.Vec
	for start := range t.next {
		if t.next[start] < 0 {
			continue
		}
		var loop []r2.Vec
		for e := start; t.next[e] >= 0; {
			p := t.crossing(e)
			if n := len(loop); n == 0 || r2.Norm(r2.Sub(p, loop[n-1])) > 1e-9 {
				loop = append(loop, p)
			}
			e, t.next[e] = t.next[e], -1
		}
		if len(loop) > 2 {
			out = append(out, loop)
		}
	}
	return out
}

// crossing returns where the level crosses a grid line.
func (t *tracer) crossing(e int) r2.Vec {
	i, j := e/2/t.nx, e/2%t.nx
	i2, j2 := i, j+1
	if e%2 == 1 {
		i2, j2 = i+1, j
	}
	a, b := t.value(i, j), t.value(i2, j2)
	p, q := t.place(i, j), t.place(i2, j2)
	switch {
	case math.IsInf(a, -1):
		return q
	case math.IsInf(b, -1):
		return p
	}
	return r2.Add(p, r2.Scale(a/(a-b), r2.Sub(q, p)))
}

// mapped returns loops with every point moved.
func mapped(loops [][]r2.Vec, move func(r2.Vec) r2.Vec) [][]r2.Vec {
	out := make([][]r2.Vec, len(loops))
	for i, l := range loops {
		out[i] = slices.Clone(l)
		for k, p := range l {
			out[i][k] = move(p)
		}
	}
	return out
}

package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// laneSteps returns by how much each lane that tells steps at a place. It stops where so many lanes step by less than
// lapLeast that their middle does too, whatever the others do, and then reports false.
func (p *panel) laneSteps(room []float64, cells [][]int, sides *[2]beside) (all []float64, may bool) {
	all, low := room[:0], 0
	for _, lane := range cells {
		h, ok := p.laneStep(lane, sides)
		if !ok {
			continue
		}
		all = append(all, h)
		if math.Abs(h) < lapLeast {
			if low++; low > len(cells)/2+1 {
				return all, false
			}
		}
	}
	return all, true
}

// stepOf returns the step of the lanes, of which those that tell step by as much as all says, its standard uncertainty, mm,
// and whether it stands out. Each lane tells by itself; their middle counts, so that spots do not.
func stepOf(all []float64, lanes int) (height, u float64, clear bool) {
	if float64(len(all)) < lapShare*float64(lanes) || len(all) < 8 {
		return 0, math.Inf(1), false
	}
	height = median(all)
	off := make([]float64, len(all))
	for i, h := range all {
		off[i] = math.Abs(h - height)
	}
	u = madScale*median(off)*math.Sqrt(math.Pi/2/float64(len(all))) + 1e-3
	return height, u, math.Abs(height) >= math.Max(lapLeast, lapSigma*u)
}

// beside are the places on one side of a step that tell of it: their numbers, how far they lie from it, mm, and the sums
// that a straight line through all of them takes.
type beside struct {
	cells      []int
	x          []float64
	n, sx, sxx float64
}

func (b *beside) add(m int, x float64) {
	b.cells, b.x = append(b.cells, m), append(b.x, x)
	b.n, b.sx, b.sxx = b.n+1, b.sx+x, b.sxx+x*x
}

// besides returns the places before a step and those behind it.
func besides(places []float64, at float64) (out [2]beside) {
	for b := range out {
		out[b].cells, out[b].x = make([]int, 0, 16), make([]float64, 0, 16)
	}
	for m, x := range places {
		if d := math.Abs(x - at); d < lapReach && d > lapEdge/2 {
			b := 0
			if x-at > 0 {
				b = 1
			}
			out[b].add(m, x-at)
		}
	}
	return out
}

// laneStep returns by how much one lane steps at a place: a straight line is laid through the cells of either side.
func (p *panel) laneStep(lane []int, sides *[2]beside) (height float64, ok bool) {
	var value [2]float64
	for i := range sides {
		if value[i], ok = p.level(lane, &sides[i]); !ok {
			return 0, false
		}
	}
	return value[1] - value[0], true
}

// level returns where the line through a lane's seen cells on one side comes to the step.
func (p *panel) level(lane []int, b *beside) (value float64, ok bool) {
	n, sx, sxx := b.n, b.sx, b.sxx
	var sy, sxy float64
	x := b.x[:len(b.cells)]
	for i, m := range b.cells {
		k := lane[m]
		if p.w[k] == 0 {
			return p.levelOfSeen(lane, b)
		}
		y := p.y[k]
		sy += y
		sxy += x[i] * y
	}
	return lineAt0(n, sx, sxx, sy, sxy)
}

// levelOfSeen is level where some cells were not seen.
func (p *panel) levelOfSeen(lane []int, b *beside) (value float64, ok bool) {
	var n, sx, sxx, sy, sxy float64
	for i, m := range b.cells {
		if k := lane[m]; p.w[k] != 0 {
			x := b.x[i]
			n, sx, sy, sxx, sxy = n+1, sx+x, sy+p.y[k], sxx+x*x, sxy+x*p.y[k]
		}
	}
	return lineAt0(n, sx, sxx, sy, sxy)
}

// lineAt0 returns the value at 0 of the straight line through n places, by their sums.
func lineAt0(n, sx, sxx, sy, sxy float64) (value float64, ok bool) {
	det := n*sxx - sx*sx
	if n < 3 || det <= 0 {
		return 0, false
	}
	return (sxx*sy - sx*sxy) / det, true
}

// middleLane returns the medians of the lanes at some places, mm, and these places about another in units of lapReach.
func (p *panel) middleLane(cells [][]int, places []float64, near []int, at float64) (x, y []float64) {
	for _, m := range near {
		var all []float64
		for _, lane := range cells {
			if k := lane[m]; p.w[k] > 0 {
				all = append(all, p.y[k])
			}
		}
		if len(all) > 0 {
			x, y = append(x, (places[m]-at)/lapReach), append(y, median(all))
		}
	}
	return x, y
}

// isSharp reports whether a parabola with a step leaves far less of the middle lane than a smooth curve of as many
// unknowns and one more.
func (p *panel) isSharp(cells [][]int, places []float64, near []int, at float64) bool {
	x, y := p.middleLane(cells, places, near, at)
	stepped := func(x float64) []float64 {
		if x > 0 {
			return []float64{1, x, x * x, 1}
		}
		return []float64{1, x, x * x, 0}
	}
	smooth := func(x float64) []float64 { return []float64{1, x, x * x, x * x * x, x * x * x * x * x} }
	return len(x) > 7 && leftBy(x, y, stepped) < lapSharp*leftBy(x, y, smooth)
}

// leftBy returns the sum of squares that a combination of functions leaves of values.
func leftBy(x, y []float64, functions func(x float64) []float64) (sum float64) {
	n := len(functions(0))
	a, b := mat.NewDense(len(x), n, nil), mat.NewVecDense(len(x), slices.Clone(y))
	for i, v := range x {
		a.SetRow(i, functions(v))
	}
	var c, left mat.VecDense
	if c.SolveVec(a, b) != nil {
		return math.Inf(1)
	}
	left.MulVec(a, &c)
	left.SubVec(b, &left)
	return mat.Dot(&left, &left)
}

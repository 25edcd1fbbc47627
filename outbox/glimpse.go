package outbox

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// glimpse is what is kept of a scan's points for a picture of them: how many lie in each cell of two views,
// along the scan's own main directions. A refused scan has no wing frame yet.
type glimpse struct {
	size  [3]float64 // file units: extent along the main directions, the longest first
	views [2]density
}

// density counts points in square cells, rows from the top.
type density struct {
	rows, cols int
	counts     []int
}

const (
	glimpseMost  = 100_000 // points that are looked at
	glimpseCells = 150     // along the longest direction
	glimpseStray = 0.002   // share of the points at each end that does not count for the extent
)

// someOf keeps evenly many of a scan's points: only a refused scan is shown, and looking takes long.
func someOf(s *scan.Scan) [][3]float32 {
	step := max(1, len(s.Points)/glimpseMost)
	some := make([][3]float32, 0, (len(s.Points)+step-1)/step)
	for i := 0; i < len(s.Points); i += step {
		some = append(some, s.Points[i])
	}
	return some
}

// newGlimpse looks at some of a scan's points; nil if there are too few to show anything.
func newGlimpse(some [][3]float32) *glimpse {
	if len(some) < 30 {
		return nil
	}
	points := make([]r3.Vec, len(some))
	for i, p := range some {
		points[i] = r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])}
	}
	g := &glimpse{}
	along := make([][]float64, 3)
	var lo [3]float64
	for k, axis := range mainDirections(points) {
		for _, p := range points {
			along[k] = append(along[k], r3.Dot(p, axis))
		}
		sorted := slices.Sorted(slices.Values(along[k]))
		cut := int(glimpseStray * float64(len(sorted)))
		lo[k] = sorted[cut]
		g.size[k] = sorted[len(sorted)-1-cut] - lo[k]
	}
	cell := math.Max(g.size[0], math.Max(g.size[1], g.size[2])) / glimpseCells
	if !(cell > 0) {
		return nil
	}
	for v, k := range []int{1, 2} {
		d := density{rows: int(g.size[k]/cell) + 1, cols: int(g.size[0]/cell) + 1}
		d.counts = make([]int, d.rows*d.cols)
		for i := range points {
			col, row := int(math.Floor((along[0][i]-lo[0])/cell)), d.rows-1-int(math.Floor((along[k][i]-lo[k])/cell))
			if col >= 0 && col < d.cols && row >= 0 && row < d.rows {
				d.counts[row*d.cols+col]++
			}
		}
		g.views[v] = d
	}
	return g
}

// mainDirections returns unit vectors along the principal axes of the points, the widest spread first.
func mainDirections(points []r3.Vec) [3]r3.Vec {
	points = central(points)
	var middle r3.Vec
	for _, p := range points {
		middle = r3.Add(middle, r3.Scale(1/float64(len(points)), p))
	}
	c := mat.NewSymDense(3, nil)
	for _, p := range points {
		d := r3.Sub(p, middle)
		v := [3]float64{d.X, d.Y, d.Z}
		for i := range 3 {
			for j := i; j < 3; j++ {
				c.SetSym(i, j, c.At(i, j)+v[i]*v[j])
			}
		}
	}
	axes := [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}
	var eigen mat.EigenSym
	if !eigen.Factorize(c, true) {
		return axes
	}
	var m mat.Dense
	eigen.VectorsTo(&m)
	for k := range axes {
		a := r3.Vec{X: m.At(0, 2-k), Y: m.At(1, 2-k), Z: m.At(2, 2-k)}
		if a.X+a.Y+a.Z < 0 { // either sense would do; this one is always the same
			a = r3.Scale(-1, a)
		}
		axes[k] = a
	}
	return axes
}

// central returns the points that lie within three times the median distance from the middle, so that strays
// do not turn the view.
func central(points []r3.Vec) []r3.Vec {
	median := func(of func(p r3.Vec) float64) float64 {
		v := make([]float64, len(points))
		for i, p := range points {
			v[i] = of(p)
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	middle := r3.Vec{
		X: median(func(p r3.Vec) float64 { return p.X }),
		Y: median(func(p r3.Vec) float64 { return p.Y }),
		Z: median(func(p r3.Vec) float64 { return p.Z }),
	}
	away := func(p r3.Vec) float64 { return r3.Norm(r3.Sub(p, middle)) }
	most := 3 * median(away)
	var out []r3.Vec
	for _, p := range points {
		if away(p) <= most {
			out = append(out, p)
		}
	}
	return out
}

// picture draws both views under one another, denser cells darker.
func (g *glimpse) picture(file string) *picture {
	const width, margin, gap, size = 620.0, 14.0, 56.0, 22.0
	cell := (width - 2*margin) / float64(g.views[0].cols)
	p := &picture{title: "The points of " + file + " seen from two sides", width: width}
	y := margin + size + 8
	for v, d := range g.views {
		text := fmt.Sprintf("%s by %s", extentText(g.size[0]), extentText(g.size[v+1]))
		p.words(ink, size, vec(margin, y-8), startAt, []string{"Broad side", "Narrow side"}[v]+", "+text)
		d.draw(p, vec(margin, y), cell)
		y += float64(d.rows)*cell + gap
	}
	p.height = y - gap + margin
	return p
}

// draw fills runs of cells of like density.
func (d *density) draw(p *picture, at r2.Vec, cell float64) {
	var counts []int
	for _, n := range d.counts {
		if n > 0 {
			counts = append(counts, n)
		}
	}
	if len(counts) == 0 {
		return
	}
	slices.Sort(counts)
	typical := counts[len(counts)/2]
	tones := []tone{rule, muted, ink}
	classes := make([][][]r2.Vec, len(tones))
	for row := range d.rows {
		for from := 0; from < d.cols; {
			c, to := classOf(d.counts[row*d.cols+from], typical), from+1
			for to < d.cols && classOf(d.counts[row*d.cols+to], typical) == c {
				to++
			}
			if c >= 0 {
				x, y := at.X+float64(from)*cell, at.Y+float64(row)*cell
				classes[c] = append(classes[c], box(x, y, at.X+float64(to)*cell, y+cell))
			}
			from = to
		}
	}
	for c, loops := range classes {
		if len(loops) > 0 {
			p.area(tones[c], loops...)
		}
	}
}

// classOf sorts a cell by how full it is; -1 is empty.
func classOf(n, typical int) int {
	switch {
	case n == 0:
		return -1
	case 4*n < typical:
		return 0
	case n <= 2*typical:
		return 1
	}
	return 2
}

// extentText writes a length in the file's own unit.
func extentText(v float64) string { return fmt.Sprintf("%.3g", v) }

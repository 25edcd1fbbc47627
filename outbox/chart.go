package outbox

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// chart is a picture with axes: x in mm aft of the leading edge, y in mm along the normal. One unit of the
// picture is about a pixel.
type chart struct {
	picture
	left, top, right, bottom float64 // of the plot
	x0, x1, y0, y1           float64
	size                     float64 // of the words
}

// sample is one point of a curve; a curve is broken where it is not shown.
type sample struct {
	x, y float64
	show bool
}

// newChart makes an empty chart of a width and height in which the given ranges fit.
func newChart(title string, width, height, xMost, yLeast, yMost float64) *chart {
	c := &chart{size: 13, left: 46, top: 22, right: width - 10, bottom: height - 44}
	c.title, c.width, c.height = title, width, height
	c.x1 = xMost
	rim := 0.05 * (yMost - yLeast)
	c.y0, c.y1 = yLeast-rim, yMost+rim
	return c
}

// tickStep returns a round step that divides a range into at most about n parts.
func tickStep(span, n float64) float64 {
	if !(span > 0) {
		return 1
	}
	p := math.Pow(10, math.Floor(math.Log10(span/n)))
	for _, k := range []float64{1, 2, 5} {
		if span/(k*p) <= n {
			return k * p
		}
	}
	return 10 * p
}

func (c *chart) at(x, y float64) r2.Vec {
	y = math.Min(math.Max(y, c.y0), c.y1)
	return vec(c.left+(x-c.x0)/(c.x1-c.x0)*(c.right-c.left), c.bottom-(y-c.y0)/(c.y1-c.y0)*(c.bottom-c.top))
}

// grid draws the lines behind the curves, and the figures of both axes.
func (c *chart) grid(yDecimals int) {
	step := tickStep(c.y1-c.y0, 5)
	for k := math.Ceil(c.y0/step - 1e-9); k*step <= c.y1+1e-9; k++ {
		a := c.at(c.x0, k*step)
		t, w := rule, 1.0
		if k == 0 {
			t, w = muted, 1.2
		}
		c.line(t, w, a, vec(c.right, a.Y))
		c.words(muted, c.size, vec(c.left-6, a.Y+0.35*c.size), endAt, signed(k*step, yDecimals))
	}
	step = tickStep(c.x1, (c.right-c.left)/62)
	for k := 0.0; k*step <= c.x1+1e-9; k++ {
		a := c.at(k*step, c.y0)
		c.line(muted, 1, vec(a.X, c.bottom), vec(a.X, c.bottom+5))
		c.words(muted, c.size, vec(a.X, c.bottom+8+0.8*c.size), middleAt, fixed(k*step, 0))
	}
}

// corner writes what the chart shows above its left end, and the unit of x below its right end.
func (c *chart) corner(text string) {
	c.words(ink, c.size, vec(c.left, c.top-8), startAt, text).bold = true
	c.words(muted, c.size, vec(c.right, c.height-6), endAt, "mm aft of the leading edge")
}

// ribbon fills between y - half and y + half of the shown points.
func (c *chart) ribbon(t tone, alpha float64, curve []sample, half func(i int) float64) {
	for _, run := range runs(curve) {
		var upper, lower []r2.Vec
		for i := run[0]; i < run[1]; i++ {
			upper = append(upper, c.at(curve[i].x, curve[i].y+half(i)))
			lower = append(lower, c.at(curve[i].x, curve[i].y-half(i)))
		}
		for k := len(lower) - 1; k >= 0; k-- {
			upper = append(upper, lower[k])
		}
		c.area(t, upper).alpha = alpha
	}
}

// curve draws the shown points.
func (c *chart) curve(t tone, width float64, dash []float64, curve []sample) {
	for _, run := range runs(curve) {
		var points []r2.Vec
		for _, s := range curve[run[0]:run[1]] {
			points = append(points, c.at(s.x, s.y))
		}
		c.line(t, width, points...).dash = dash
	}
}

// gaps hatches the stretches of x that are not shown.
func (c *chart) gaps(curve []sample) {
	hidden := make([]sample, len(curve))
	for i, s := range curve {
		hidden[i] = sample{s.x, s.y, !s.show}
	}
	for _, run := range runs(hidden) {
		from, to := curve[run[0]].x, curve[run[1]-1].x
		if to-from < 1 {
			from, to = from-2, to+2
		}
		a, b := c.at(from, c.y1), c.at(to, c.y0)
		loop := [][]r2.Vec{box(a.X, a.Y, b.X, b.Y)}
		c.lines(rule, 1, hatch(loop, 7))
	}
}

// runs returns the stretches [from, to) of shown points.
func runs(curve []sample) [][2]int {
	var out [][2]int
	for i, s := range curve {
		if !s.show {
			continue
		}
		if n := len(out); n > 0 && out[n-1][1] == i {
			out[n-1][1] = i + 1
		} else {
			out = append(out, [2]int{i, i + 1})
		}
	}
	return out
}

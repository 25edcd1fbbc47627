package draw

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// Hatch returns the parts of parallel lines that lie inside a closed polygon: pitch mm apart, turned by
// angle rad from the x axis, one of them through the origin, so that two hatched polygons match. Where the
// polygon crosses itself the even-odd rule tells inside from outside.
func Hatch(polygon []r2.Vec, pitch, angle float64) []Element {
	if len(polygon) < 3 || !(pitch > 0) {
		return nil
	}
	turned := make([]r2.Vec, len(polygon))
	for i, p := range polygon {
		turned[i] = r2.Rotate(p, -angle, r2.Vec{})
	}
	lo, hi := boxOf(turned...)
	if !(hi.Y-lo.Y < 1e4*pitch) {
		return nil
	}
	var lines []Element
	for k := math.Ceil(lo.Y / pitch); k*pitch <= hi.Y; k++ {
		at := crossings(turned, k*pitch)
		for i := 0; i+1 < len(at); i += 2 {
			a, b := r2.Vec{X: at[i], Y: k * pitch}, r2.Vec{X: at[i+1], Y: k * pitch}
			lines = append(lines, Line{r2.Rotate(a, angle, r2.Vec{}), r2.Rotate(b, angle, r2.Vec{})})
		}
	}
	return lines
}

// crossings returns where the polygon's edge crosses the level y, sorted. A corner that lies on the level
// counts as above it, so that the number of crossings is even.
func crossings(polygon []r2.Vec, y float64) []float64 {
	var at []float64
	for i, p := range polygon {
		q := polygon[(i+1)%len(polygon)]
		if (p.Y < y) != (q.Y < y) {
			at = append(at, p.X+(y-p.Y)/(q.Y-p.Y)*(q.X-p.X))
		}
	}
	slices.Sort(at)
	return at
}

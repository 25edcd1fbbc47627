package simulate

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// patch is one surface of the clutter over the unit square, lenU by lenV mm along its middle.
type patch struct {
	lenU, lenV float64
	at         func(u, v float64) vertex
}

// area returns the patch's area in mm², summed over a grid.
func (o *patch) area() float64 {
	const n = 16
	sum := 0.0
	p := func(i, j int) r3.Vec { return o.at(float64(i)/n, float64(j)/n).p }
	for i := range n {
		for j := range n {
			d1, d2 := r3.Sub(p(i+1, j+1), p(i, j)), r3.Sub(p(i, j+1), p(i+1, j))
			sum += r3.Norm(r3.Cross(d1, d2)) / 2
		}
	}
	return sum
}

// box is a cuboid: a middle, three axes square to one another, and half its length along each.
type box struct {
	middle r3.Vec
	axis   [3]r3.Vec
	half   [3]float64
}

// upright returns a box along the axes of the wing frame.
func upright(middle r3.Vec, x, y, z float64) box {
	return box{middle, [3]r3.Vec{{X: 1}, {Y: 1}, {Z: 1}}, [3]float64{x, y, z}}
}

// contains reports whether p lies inside.
func (b *box) contains(p r3.Vec) bool {
	d := r3.Sub(p, b.middle)
	for i, a := range b.axis {
		if math.Abs(r3.Dot(d, a)) > b.half[i] {
			return false
		}
	}
	return true
}

// faces returns the six sides: the two across the first axis, across the second, the bottom, the top.
func (b *box) faces() []patch {
	var out []patch
	for i := range 3 {
		for _, sign := range []float64{-1, 1} {
			j, k := (i+1)%3, (i+2)%3
			n := r3.Scale(sign, b.axis[i])
			middle := r3.Add(b.middle, r3.Scale(b.half[i], n))
			u, v := r3.Scale(2*b.half[j], b.axis[j]), r3.Scale(2*b.half[k], b.axis[k])
			if sign < 0 {
				u, v = v, u // keeps triangles facing out
			}
			out = append(out, patch{r3.Norm(u), r3.Norm(v), func(s, t float64) vertex {
				return vertex{p: r3.Add(middle, r3.Add(r3.Scale(s-0.5, u), r3.Scale(t-0.5, v))), n: n}
			}})
		}
	}
	return out
}

// ellipsoid returns a closed blob with half axes x, y, z mm; points on it are even if it is a ball.
func ellipsoid(middle r3.Vec, x, y, z float64) patch {
	return patch{2 * math.Pi * max(x, y), 2 * z, func(u, v float64) vertex {
		sin, cos := math.Sincos(2 * math.Pi * u)
		h := 2*v - 1
		c := math.Sqrt(1 - h*h)
		d := r3.Vec{X: c * cos, Y: c * sin, Z: h}
		return vertex{
			p: r3.Add(middle, r3.Vec{X: x * d.X, Y: y * d.Y, Z: z * d.Z}),
			n: r3.Unit(r3.Vec{X: d.X / x, Y: d.Y / y, Z: d.Z / z}),
		}
	}}
}

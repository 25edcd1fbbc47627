package simulate

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section/airfoil"
)

// curve is the nominal section, chord 1, by arc length from the tail of the upper surface over the nose to
// the tail of the lower: a cubic Hermite curve through closely spaced points of the airfoil.
type curve struct {
	s     []float64 // arc length
	start []int32   // of equal lengths of arc, the number of the first point that does not lie before it
	p, t  []r2.Vec  // points and unit tangents
	nose  float64   // arc of the foremost point
	front float64   // its x, a little below 0 where the section is cambered
}

// curvePoints keeps the curve within 1e-9 chords of the airfoil.
const curvePoints = 4001

// newCurve lays the curve through an airfoil's outline.
func newCurve(a *airfoil.Airfoil) *curve {
	c := &curve{}
	for _, p := range a.Outline(curvePoints) {
		if n := len(c.p); n > 0 {
			step := r2.Norm(r2.Sub(p, c.p[n-1]))
			if step < 1e-12 {
				continue
			}
			c.s = append(c.s, c.s[n-1]+step)
		} else {
			c.s = append(c.s, 0)
		}
		c.p = append(c.p, p)
	}
	c.start = startsOf(c.s)
	c.tangents()
	c.findNose()
	return c
}

// tangents sets each tangent to that of the parabola through a point and its neighbours.
func (c *curve) tangents() {
	n := len(c.p)
	chord := func(i int) r2.Vec { return r2.Scale(1/(c.s[i+1]-c.s[i]), r2.Sub(c.p[i+1], c.p[i])) }
	c.t = make([]r2.Vec, n)
	for i := 1; i < n-1; i++ {
		f := (c.s[i] - c.s[i-1]) / (c.s[i+1] - c.s[i-1])
		c.t[i] = r2.Unit(r2.Add(r2.Scale(1-f, chord(i-1)), r2.Scale(f, chord(i))))
	}
	c.t[0] = r2.Unit(r2.Sub(r2.Scale(2, chord(0)), c.t[1]))
	c.t[n-1] = r2.Unit(r2.Sub(r2.Scale(2, chord(n-2)), c.t[n-2]))
}

// findNose finds the foremost point by bisecting where the tangent turns from forward to aft.
func (c *curve) findNose() {
	i := 1
	for j := range c.p {
		if c.p[j].X < c.p[i].X {
			i = j
		}
	}
	lo, hi := c.s[max(i-1, 0)], c.s[min(i+1, len(c.s)-1)]
	for range 60 {
		mid := (lo + hi) / 2
		if _, n := c.at(mid); n.Y > 0 { // still on the upper side
			lo = mid
		} else {
			hi = mid
		}
	}
	c.nose = (lo + hi) / 2
	p, _ := c.at(c.nose)
	c.front = p.X
}

// startsOf returns, for as many equal lengths of arc as there are points, the first point that does not lie before its
// beginning: from there a place on the curve is a step or two away.
func startsOf(s []float64) []int32 {
	out := make([]int32, len(s))
	i := 0
	for k := range out {
		for from := s[len(s)-1] * float64(k) / float64(len(out)); s[i] < from; {
			i++
		}
		out[k] = int32(i)
	}
	return out
}

// piece returns the number of the point after which an arc length on the curve lies.
func (c *curve) piece(s float64) int {
	k := min(int(s/c.length()*float64(len(c.start))), len(c.start)-1)
	i := int(c.start[max(k-1, 0)]) // one back, since the division rounds
	for i < len(c.s) && c.s[i] < s {
		i++
	}
	return min(max(i-1, 0), len(c.s)-2)
}

// length returns the arc length of the whole curve.
func (c *curve) length() float64 { return c.s[len(c.s)-1] }

// at returns the point and the outward unit normal at an arc length; s is clamped to the curve.
func (c *curve) at(s float64) (p, n r2.Vec) {
	s = min(max(s, 0), c.length())
	i := c.piece(s)
	h := c.s[i+1] - c.s[i]
	u := (s - c.s[i]) / h
	v := 1 - u
	b := [4]float64{v * v * (1 + 2*u), h * u * v * v, u * u * (3 - 2*u), -h * u * u * v}
	d := [4]float64{-6 * u * v / h, v * (1 - 3*u), 6 * u * v / h, u * (3*u - 2)}
	mix := func(w [4]float64) r2.Vec {
		return r2.Add(r2.Add(r2.Scale(w[0], c.p[i]), r2.Scale(w[1], c.t[i])),
			r2.Add(r2.Scale(w[2], c.p[i+1]), r2.Scale(w[3], c.t[i+1])))
	}
	t := r2.Unit(mix(d))
	return mix(b), r2.Vec{X: t.Y, Y: -t.X}
}

// side returns the surface on which an arc length lies.
func (c *curve) side(s float64) Surface {
	if s <= c.nose {
		return Upper
	}
	return Lower
}

// arcOf returns the arc length where a surface reaches x, by bisection; x is clamped to the section.
func (c *curve) arcOf(surface Surface, x float64) float64 {
	fore, aft := c.nose, 0.0
	if surface == Lower {
		aft = c.length()
	}
	for range 60 {
		mid := (fore + aft) / 2
		if p, _ := c.at(mid); p.X < x {
			fore = mid
		} else {
			aft = mid
		}
	}
	return (fore + aft) / 2
}

// fromNose returns the arc length measured from the nose, positive on both surfaces.
func (c *curve) fromNose(s float64) float64 { return math.Abs(s - c.nose) }

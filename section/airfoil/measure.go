package airfoil

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	same   = 1e-6 // chord: what counts as equal
	beyond = 0.01 // chord: a station this far beyond the end of a surface still gets that end's ordinate
)

// foremost returns the parameter of the outline's least x.
func foremost(c curve) float64 {
	x := func(s float64) float64 { return -c.point(s).X }
	s, _ := maximum(x, -0.5, 0.5, 200)
	return s
}

// maximum returns where a function of one variable is greatest between lo and hi, and its value: the best of
// n even steps, then golden sections about it.
func maximum(f func(float64) float64, lo, hi float64, n int) (at, value float64) {
	step := (hi - lo) / float64(n)
	best, at := math.Inf(-1), lo
	for i := range n + 1 {
		x := lo + step*float64(i)
		if v := f(x); v > best {
			best, at = v, x
		}
	}
	a, b := math.Max(lo, at-step), math.Min(hi, at+step)
	golden := (math.Sqrt(5) - 1) / 2
	c, d := b-golden*(b-a), a+golden*(b-a)
	fc, fd := f(c), f(d)
	for n := 0; b-a > 1e-10 && n < mostSections; n++ {
		if fc >= fd {
			b, d, fd = d, c, fc
			c = b - golden*(b-a)
			fc = f(c)
		} else {
			a, c, fc = c, d, fd
			d = a + golden*(b-a)
			fd = f(d)
		}
	}
	if v := f((a + b) / 2); v > best {
		return (a + b) / 2, v
	}
	return at, best
}

// mostSections ends the golden sections where the numbers are so large that none lie between.
const mostSections = 100

// cut returns the ordinate of one surface (side 1: upper, -1: lower) at a station of the chord line.
func (a *Airfoil) cut(x, side float64) float64 {
	if !(x >= 0 && x <= 1) {
		return math.NaN()
	}
	nose, tail := a.curve.point(a.nose), a.curve.point(side)
	switch {
	case x <= nose.X:
		return within(nose.X-x, nose.Y)
	case x >= tail.X:
		return within(x-tail.X, tail.Y)
	}
	return a.curve.point(station(a.curve, a.nose, side, x)).Y
}

// within returns the ordinate of a surface's end if the station asked for lies no more than a trifle beyond.
func within(gap, z float64) float64 {
	if gap > beyond {
		return math.NaN()
	}
	return z
}

// station returns the parameter between fore and aft at which a surface passes x, by bisection with Newton
// steps where they stay inside the bracket. x must lie between the curve's x at fore and at aft.
func station(c curve, fore, aft, x float64) float64 {
	s := (fore + aft) / 2
	for range 80 {
		p := c.point(s)
		if p.X < x {
			fore = s
		} else {
			aft = s
		}
		next := s - (p.X-x)/c.tangent(s).X
		if !(next > math.Min(fore, aft) && next < math.Max(fore, aft)) {
			next = (fore + aft) / 2
		}
		if math.Abs(next-s) < 1e-14 {
			return next
		}
		s = next
	}
	return s
}

// measure works out the traits.
func (a *Airfoil) measure() traits {
	var t traits
	t.symmetric = a.mirrored()
	gap := func(x float64) float64 {
		if v := a.Upper(x) - a.Lower(x); !math.IsNaN(v) {
			return v
		}
		return math.Inf(-1)
	}
	t.thicknessAt, t.thickness = maximum(gap, 0, 1, 32)
	if !t.symmetric {
		t.camberAt, t.camber = a.greatestCamber()
	}
	t.tapeFactor, t.tapeAngle = longest(a.curve)
	if t.symmetric {
		t.tapeAngle = 0
	}
	return t
}

// mirrored reports whether the lower surface is the upper one's mirror image.
func (a *Airfoil) mirrored() bool {
	if a.formula != nil {
		_, ok := a.formula.line.(straight)
		return ok
	}
	const stations = 64
	for i := range stations + 1 {
		x := 0.5 - 0.5*math.Cos(math.Pi*float64(i)/stations)
		if u, l := a.Upper(x), a.Lower(x); math.Abs(u+l) > 2*same {
			return false
		}
	}
	return true
}

// greatestCamber returns the station and height of the mean line's farthest point from the chord line.
func (a *Airfoil) greatestCamber() (at, height float64) {
	mean := func(x float64) float64 {
		if a.formula != nil {
			z, _, _ := a.formula.line.at(x)
			return z
		}
		if v := (a.Upper(x) + a.Lower(x)) / 2; !math.IsNaN(v) {
			return v
		}
		return 0
	}
	up, high := maximum(mean, 0, 1, 100)
	down, low := maximum(func(x float64) float64 { return -mean(x) }, 0, 1, 100)
	if low > high {
		return down, -low
	}
	return up, high
}

// longest returns the greatest distance from the tail's middle to the outline and its angle to the chord line.
func longest(c curve) (length, angle float64) {
	tail := r2.Scale(0.5, r2.Add(c.point(1), c.point(-1)))
	away := func(s float64) float64 { return r2.Norm(r2.Sub(tail, c.point(s))) }
	s, length := maximum(away, -0.7, 0.7, 280)
	v := r2.Sub(tail, c.point(s))
	return length, math.Atan2(v.Y, v.X)
}

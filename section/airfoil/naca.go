package airfoil

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// formula is a NACA section: a thickness distribution laid off square to a mean line.
type formula struct {
	half halfThickness
	line meanLine
}

// halfThickness is a thickness distribution by its parameter s, the root of the mean line's x.
type halfThickness interface {
	// at returns the half thickness at x = s^2 and its derivative with respect to s, for s >= 0.
	at(s float64) (y, dy float64)
	radius() float64 // of the leading edge
}

// meanLine is a mean line.
type meanLine interface {
	// at returns its height, slope and second derivative at x in [0, 1].
	at(x float64) (z, slope, bend float64)
}

// point returns the surface at s: x_u = x - y_t sin(theta), z_u = z_c + y_t cos(theta) on the upper side,
// the opposite signs on the lower (Abbott & von Doenhoff 1959, section 6.4).
func (f *formula) point(s float64) r2.Vec {
	z, slope, _ := f.line.at(s * s)
	y, _ := f.half.at(math.Abs(s))
	y = math.Copysign(y, s)
	h := math.Hypot(1, slope)
	return r2.Vec{X: s*s - y*slope/h, Y: z + y/h}
}

// tangent returns the derivative of point.
func (f *formula) tangent(s float64) r2.Vec {
	_, slope, bend := f.line.at(s * s)
	y, dy := f.half.at(math.Abs(s)) // y is odd in s, so dy is even
	y = math.Copysign(y, s)
	h := math.Hypot(1, slope)
	turn := bend / (h * h) * 2 * s // of the mean line's angle
	return r2.Vec{
		X: 2*s - dy*slope/h - y*turn/h,
		Y: 2*s*slope + dy/h - y*turn*slope/h,
	}
}

// folds reports whether a surface turns back on its way from the nose to the tail, as it does where a thick
// section is laid off a sharply bent mean line: no shape that can be built.
func (f *formula) folds() bool {
	const steps = 400
	nose := foremost(f)
	for _, side := range []float64{1, -1} {
		far := f.point(nose).X
		for i := range steps {
			x := f.point(nose + (side-nose)*float64(i+1)/steps).X
			if x < far-same {
				return true
			}
			far = math.Max(far, x)
		}
	}
	return false
}

func (f *formula) noseRadius() float64 { return f.half.radius() }

// standard is the thickness distribution of the 4-digit and 5-digit families for a thickness t (NACA Rep.
// 460, 1933; Abbott & von Doenhoff eq. 6.2). Its tail is open: half thickness 0.0105 t.
type standard float64

// at follows the polynomial in s = sqrt(x).
func (t standard) at(s float64) (y, dy float64) {
	x, k := s*s, 5*float64(t)
	y = k * s * (0.2969 + s*(-0.1260+x*(-0.3516+x*(0.2843-0.1015*x))))
	dy = k * (0.2969 + s*(-0.2520+x*(-4*0.3516+x*(6*0.2843-8*0.1015*x))))
	return y, dy
}

// radius is half the square of 5t 0.2969: 1.1019 t^2 (Abbott & von Doenhoff eq. 6.3).
func (t standard) radius() float64 { return sq(5*float64(t)*0.2969) / 2 }

// modified is the thickness distribution of the modified 4-digit family (NACA Rep. 492, 1934): one
// polynomial ahead of the station m of greatest thickness, another aft of it.
type modified struct {
	t, m float64
	a    [4]float64 // of sqrt(x), x, x^2, x^3
	d    [4]float64 // of powers of 1 - x
}

// newModified works out the constants for thickness t, nose index i (0 to 9) and place of the greatest
// thickness m (0.2 to 0.6). Sources: NACA TM 4741 (1996) for a0 and the table of d1; the others make the
// branches meet at 0.5 t with equal slope, which is none there, and equal curvature.
func newModified(t float64, i, tenths int) *modified {
	m := float64(tenths) / 10
	index := float64(i)
	if i == 9 {
		index = 10.3933 // three times the radius of index 6 (TM 4741)
	}
	d1 := [...]float64{2: 0.200, 3: 0.234, 4: 0.315, 5: 0.465, 6: 0.700}[tenths]
	r := 1 - m
	d3 := (3*d1 - 0.588/r) / (3 * r * r)
	d2 := -1.5*r*d3 - 0.5*d1/r
	a0 := 0.296904 * index / 6
	a3 := 0.1/cube(m) + (d1*r-0.294)/(m*r*r) - 0.375*a0/math.Pow(m, 2.5)
	a2 := -0.1/sq(m) + 0.5*a0/math.Pow(m, 1.5) - 2*m*a3
	a1 := -0.5*a0/math.Sqrt(m) - 2*m*a2 - 3*m*m*a3
	return &modified{t: t, m: m, a: [4]float64{a0, a1, a2, a3}, d: [4]float64{0.002, d1, d2, d3}}
}

// at follows the branch on which x lies.
func (f *modified) at(s float64) (y, dy float64) {
	x, k := s*s, 5*f.t
	if x < f.m {
		a := f.a
		return k * s * (a[0] + s*(a[1]+x*(a[2]+x*a[3]))), k * (a[0] + s*(2*a[1]+x*(4*a[2]+6*x*a[3])))
	}
	q, d := 1-x, f.d
	return k * (d[0] + q*(d[1]+q*(d[2]+q*d[3]))), -2 * s * k * (d[1] + q*(2*d[2]+3*q*d[3]))
}

// radius is half the square of 5t a0: 1.1019 (t I/6)^2 (TM 4741).
func (f *modified) radius() float64 { return sq(5*f.t*f.a[0]) / 2 }

// straight is the mean line of a symmetric section.
type straight struct{}

func (straight) at(float64) (z, slope, bend float64) { return 0, 0, 0 }

// twoDigit is the mean line of the 4-digit family: two parabolas that meet at the greatest camber m, at x = p
// (NACA Rep. 460; Abbott & von Doenhoff eq. 6.4).
type twoDigit struct{ m, p float64 }

func (l twoDigit) at(x float64) (z, slope, bend float64) {
	k := l.m / sq(l.p)
	if x >= l.p {
		k = l.m / sq(1-l.p)
	}
	return l.m - k*sq(x-l.p), 2 * k * (l.p - x), -2 * k
}

// threeDigit is the mean line of the 5-digit family (NACA Rep. 537, 1935; Rep. 610; Abbott & von Doenhoff eq.
// 6.6): a cubic up to x = m, aft of it a straight line, or another cubic where ratio is not zero (reflexed).
type threeDigit struct{ m, k1, ratio float64 }

func (l threeDigit) at(x float64) (z, slope, bend float64) {
	k, q := l.k1/6, x-l.m
	front := 1.0
	if x >= l.m {
		front = l.ratio
	}
	// The plain line is the reflexed one with ratio 0: m^2(3 - m)x - 3mx^2 + x^3 = (x - m)^3 - m^3 x + m^3.
	z = k * (front*cube(q) - l.ratio*cube(1-l.m)*x - cube(l.m)*x + cube(l.m))
	slope = k * (3*front*sq(q) - l.ratio*cube(1-l.m) - cube(l.m))
	return z, slope, 6 * k * front * q
}

// newThreeDigit returns the mean line named by the first three digits of a 5-digit designation: design lift
// 0.15 cl, place of the greatest camber place/20, reflexed or not. The table's k1 belongs to a lift of 0.3.
func newThreeDigit(cl, place int, reflexed bool) (meanLine, error) {
	// m and k1 by place: NACA Rep. 537 and TM 4741, page 8.
	plain := map[int]threeDigit{
		1: {m: 0.0580, k1: 361.4}, 2: {m: 0.1260, k1: 51.64}, 3: {m: 0.2025, k1: 15.957},
		4: {m: 0.2900, k1: 6.643}, 5: {m: 0.3910, k1: 3.230},
	}
	bentUp := map[int]threeDigit{
		2: {m: 0.1300, k1: 51.990}, 3: {m: 0.2170, k1: 15.793},
		4: {m: 0.3180, k1: 6.520}, 5: {m: 0.4410, k1: 3.191},
	}
	l, ok := plain[place]
	if reflexed {
		l, ok = bentUp[place]
	}
	if !ok {
		return nil, fmt.Errorf("no mean line %d%d%d was published", cl, place, map[bool]int{true: 1}[reflexed])
	}
	if reflexed {
		l.ratio = reflexRatio(l.m, float64(place)/20)
	}
	l.k1 *= float64(cl) * 0.15 / 0.3
	return l, nil
}

// reflexRatio returns k2/k1 of a reflexed mean line with its greatest camber at p, from NACA Rep. 537, page
// 522. The form printed in TM X-3284 (1976) and TM 4741 (1996) is wrong: with it the greatest camber does
// not fall on p.
func reflexRatio(m, p float64) float64 { return (3*sq(m-p) - cube(m)) / cube(1-m) }

func sq(x float64) float64   { return x * x }
func cube(x float64) float64 { return x * x * x }

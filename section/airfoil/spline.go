package airfoil

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// spline is a smooth outline through given points: cubic in x and z over the length of the chords between
// them (twice continuously differentiable, not-a-knot ends). The ends are free of each other, so a sharp tail
// stays sharp. Of the powers of the chord's length tried as parameter, the length itself follows the nose of
// a coarse published table best.
type spline struct {
	x, z         interp.PiecewiseCubic
	knots        []float64 // length at each given point
	nose         float64   // length from the upper tail to the foremost point
	upper, lower float64   // lengths of the two surfaces
	slow         float64   // d(length)/ds at the nose
	radius       float64
}

// newSpline returns the outline through points that run from the upper tail round the nose to the lower tail.
// They must be at least 4; two equal neighbours are an error.
func newSpline(points []r2.Vec) (*spline, error) {
	t, x, z := make([]float64, len(points)), make([]float64, len(points)), make([]float64, len(points))
	front := 0
	for i, p := range points {
		x[i], z[i] = p.X, p.Y
		if i > 0 {
			t[i] = t[i-1] + r2.Norm(r2.Sub(p, points[i-1]))
			if !(t[i] > t[i-1]) {
				return nil, fmt.Errorf("points %d and %d are the same", i, i+1)
			}
		}
		if p.X < points[front].X {
			front = i
		}
	}
	c := spline{knots: t}
	if err := fitCubic(&c.x, t, x); err != nil {
		return nil, fmt.Errorf("fit x: %w", err)
	}
	if err := fitCubic(&c.z, t, z); err != nil {
		return nil, fmt.Errorf("fit z: %w", err)
	}
	last := len(t) - 1
	from, to := t[max(front-1, 0)], t[min(front+1, last)]
	c.nose, _ = maximum(func(t float64) float64 { return -c.x.Predict(t) }, from, to, 16)
	c.upper, c.lower = c.nose, t[last]-c.nose
	c.slow = 0.15 * math.Min(c.upper, c.lower)
	c.radius = c.fitRadius()
	c.slow = math.Min(math.Max(math.Sqrt(2*c.tightest()), 0.01), 0.5*math.Min(c.upper, c.lower))
	return &c, nil
}

// fitCubic lays the twice continuously differentiable cubic with not-a-knot ends through values at rising t, by
// its slopes (de Boor, A Practical Guide to Splines, chapter IV; from memory). The library's own not-a-knot fit
// solves a full matrix, which takes minutes for 20,000 points.
func fitCubic(c *interp.PiecewiseCubic, t, values []float64) error {
	last := len(t) - 1
	h, d := make([]float64, last), make([]float64, last) // steps and slopes between neighbours
	for i := range last {
		h[i] = t[i+1] - t[i]
		d[i] = (values[i+1] - values[i]) / h[i]
	}
	below, on, above, rhs := make([]float64, last), make([]float64, last+1), make([]float64, last), make([]float64, last+1)
	on[0], above[0], rhs[0] = endSlope(h[0], h[1], d[0], d[1])
	on[last], below[last-1], rhs[last] = endSlope(h[last-1], h[last-2], d[last-1], d[last-2])
	for i := 1; i < last; i++ {
		below[i-1], on[i], above[i] = h[i], 2*(h[i-1]+h[i]), h[i-1]
		rhs[i] = 3 * (h[i]*d[i-1] + h[i-1]*d[i])
	}
	slopes := mat.NewVecDense(last+1, nil)
	if err := mat.NewTridiag(last+1, below, on, above).SolveVecTo(slopes, false, mat.NewVecDense(last+1, rhs)); err != nil {
		return err
	}
	c.FitWithDerivatives(t, values, slopes.RawVector().Data)
	return nil
}

// endSlope returns the equation of the slope at an end, on s_end + next s_next = rhs, from the outermost step and
// slope and the next ones: the third derivative does not jump at the last point but one.
func endSlope(h0, h1, d0, d1 float64) (on, next, rhs float64) {
	return h1, h0 + h1, ((h0+2*(h0+h1))*h1*d0 + h0*h0*d1) / (h0 + h1)
}

// length returns the length along the outline that belongs to s, and its derivative. A surface of length L is
// run through as slow |s| + (L - slow) s^2: with slow the root of twice the radius at the nose this is the same
// spacing as x = s^2 gives a section by formula.
func (c *spline) length(s float64) (t, dt float64) {
	side := c.upper
	if s < 0 {
		side = c.lower
	}
	a := math.Abs(s)
	return c.nose - math.Copysign(c.slow*a+(side-c.slow)*a*a, s), -(c.slow + 2*(side-c.slow)*a)
}

func (c *spline) point(s float64) r2.Vec {
	t, _ := c.length(s)
	return c.along(t)
}

// along returns the point at a length from the upper tail.
func (c *spline) along(t float64) r2.Vec { return r2.Vec{X: c.x.Predict(t), Y: c.z.Predict(t)} }

func (c *spline) tangent(s float64) r2.Vec {
	t, dt := c.length(s)
	return r2.Vec{X: dt * c.x.PredictDerivative(t), Y: dt * c.z.PredictDerivative(t)}
}

func (c *spline) noseRadius() float64 { return c.radius }

// fitRadius fits half the distance between the surfaces behind the foremost point by A sqrt(x) + B x +
// C x^1.5 over the first 5 % of the chord and returns A^2/2. The curvature of the spline itself would show
// every rounding of the file.
func (c *spline) fitRadius() float64 {
	const samples, reach = 24, 0.05
	front := c.point(0).X
	rows, rhs := mat.NewDense(samples, 3, nil), mat.NewVecDense(samples, nil)
	for i := range samples {
		root := math.Sqrt(reach) * float64(i+1) / samples
		x := front + root*root
		half := (c.point(station(c, 0, 1, x)).Y - c.point(station(c, 0, -1, x)).Y) / 2
		rows.SetRow(i, []float64{root, root * root, root * root * root})
		rhs.SetVec(i, half)
	}
	var fit mat.VecDense
	if err := fit.SolveVec(rows, rhs); err != nil || !(fit.AtVec(0) > 0) {
		return 0
	}
	return sq(fit.AtVec(0)) / 2
}

// tightest returns the least radius of curvature about the nose: length over the turn of the tangent.
func (c *spline) tightest() float64 {
	const reach, steps = 0.05, 200
	least := math.Inf(1)
	direction := func(t float64) r2.Vec { return r2.Vec{X: c.x.PredictDerivative(t), Y: c.z.PredictDerivative(t)} }
	for i := range steps {
		from := c.nose + reach*(2*float64(i)/steps-1)
		to := from + 2*reach/steps
		a, b := direction(from), direction(to)
		turn := math.Atan2(r2.Cross(a, b), r2.Dot(a, b))
		least = math.Min(least, r2.Norm(r2.Sub(c.along(to), c.along(from)))/math.Abs(turn))
	}
	return least
}

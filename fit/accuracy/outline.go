package accuracy

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// Misfit is how far a measured outline lies from the true one, mm. RMS, Worst and Within hold for the outline
// laid on so that it fits best (least squares over shift and turn), as a builder lays on a template and as the
// stated uncertainty is meant; Placed is the rms where the measured frame puts it.
type Misfit struct {
	RMS    float64 `json:"rms"`
	Worst  float64 `json:"worst"`
	Placed float64 `json:"placed"`
	Taped  float64 `json:"taped"`  // rms with the drawn error of the tape, see [Case.tapeDrawn]
	Within float64 `json:"within"` // share of the outline within the stated U, the tape's drawn error included
	U      float64 `json:"u"`      // mm, stated, k = 2
}

const (
	outlineStep = 2.0  // mm between the points that are compared
	besideHinge = 15.0 // mm
	layOnRounds = 4    // of Newton's method, which is at its end after two
)

// misfit compares two outlines that run from the tail over the upper surface and back along the lower, skin with skin:
// the tail's face is no part of either. The measured one should lie outside the true one by offset everywhere; within besideHinge of the x given as hinge nothing is compared.
// stretch is by what share the drawn error of the tape makes the measured outline larger.
func misfit(truth, got []r2.Vec, offset, u, hinge, stretch float64) Misfit {
	var points []r2.Vec
	for _, p := range evenSteps(got, outlineStep) {
		if hinge == 0 || math.Abs(p.X-hinge) > besideHinge {
			points = append(points, p)
		}
	}
	m := Misfit{U: u}
	m.Placed, _, _ = spread(truth, points, offset, u)
	points = laidOn(truth, points, offset)
	m.RMS, m.Worst, m.Within = spread(truth, points, offset, u)
	m.Taped = m.RMS
	if stretch != 0 {
		for i, p := range points {
			points[i] = r2.Scale(1+stretch, p)
		}
		m.Taped, _, m.Within = spread(truth, laidOn(truth, points, offset), offset, u)
	}
	return m
}

// laidOn moves points to where they fit the outline best.
func laidOn(truth, points []r2.Vec, offset float64) []r2.Vec {
	for range layOnRounds {
		points = layOn(truth, points, offset)
	}
	return points
}

// spread returns the rms and the worst distance, sign kept, and the share of distances within u.
func spread(truth, points []r2.Vec, offset, u float64) (rms, worst, within float64) {
	from := line{points: truth}
	for i, p := range points {
		d, _ := from.distance(p, along(points, i))
		d -= offset
		rms += d * d
		if math.Abs(d) > math.Abs(worst) {
			worst = d
		}
		if math.Abs(d) <= u {
			within++
		}
	}
	n := float64(len(points))
	return math.Sqrt(rms / n), worst, within / n
}

// layOn moves points by the shift and the turn that bring them closest to the outline, one step of Newton's method.
func layOn(truth, points []r2.Vec, offset float64) []r2.Vec {
	j, d := mat.NewDense(len(points), 3, nil), mat.NewVecDense(len(points), nil)
	from := line{points: truth}
	for i, p := range points {
		s, n := from.distance(p, along(points, i))
		j.SetRow(i, []float64{n.X, n.Y, r2.Cross(p, n)})
		d.SetVec(i, offset-s)
	}
	var x mat.VecDense
	if err := x.SolveVec(j, d); err != nil {
		return points
	}
	sin, cos := math.Sincos(x.AtVec(2))
	out := make([]r2.Vec, len(points))
	for i, p := range points {
		out[i] = r2.Vec{X: cos*p.X - sin*p.Y + x.AtVec(0), Y: sin*p.X + cos*p.Y + x.AtVec(1)}
	}
	return out
}

// line is an outline to measure from, open at the tail. It runs against the clock, x to the right and z up. It remembers where the
// last point lay, since points come in order.
type line struct {
	points []r2.Vec
	last   int
}

// nearby is how many pieces either side of the last one are looked at before all are.
const nearby = 40

// along returns which way the outline runs at one of its points.
func along(points []r2.Vec, i int) r2.Vec {
	return r2.Sub(points[min(i+1, len(points)-1)], points[max(i-1, 0)])
}

// distance returns the signed distance of a point, positive outside, and the outline's outward normal there. Only what
// runs along is looked at: towards the tail the other skin may lie nearer than the point's own.
func (l *line) distance(p, along r2.Vec) (distance float64, normal r2.Vec) {
	n := len(l.points) - 1 // pieces
	from, to := max(l.last-nearby, 0), min(l.last+nearby, n)
	at, best := l.nearest(p, along, from, to)
	if math.IsInf(best, 1) || at < from+2 && from > 0 || at > to-3 && to < n {
		at, best = l.nearest(p, along, 0, n)
	}
	if math.IsInf(best, 1) {
		at, best = l.nearest(p, r2.Vec{}, 0, n)
	}
	l.last = at
	d, off := l.piece(l.last, p)
	normal = r2.Scale(1/r2.Norm(d), r2.Vec{X: d.Y, Y: -d.X})
	return math.Copysign(math.Sqrt(best), r2.Dot(off, normal)), normal
}

// nearest returns the nearest of some pieces that do not run against along, and the square of its distance, infinite
// where there is none.
func (l *line) nearest(p, along r2.Vec, from, to int) (at int, best float64) {
	best = math.Inf(1)
	for i := from; i < to; i++ {
		if d, off := l.piece(i, p); d != (r2.Vec{}) && r2.Dot(d, along) >= 0 && r2.Norm2(off) < best {
			at, best = i, r2.Norm2(off)
		}
	}
	return at, best
}

// piece returns the direction of a piece of the outline and the way from its nearest point to p.
func (l *line) piece(i int, p r2.Vec) (d, off r2.Vec) {
	a := l.points[i]
	d = r2.Sub(l.points[i+1], a)
	if d == (r2.Vec{}) {
		return d, d
	}
	off = r2.Sub(p, a)
	u := math.Min(math.Max(r2.Dot(off, d)/r2.Norm2(d), 0), 1)
	return d, r2.Sub(off, r2.Scale(u, d))
}

// evenSteps lays points along an outline, a step apart.
func evenSteps(outline []r2.Vec, step float64) []r2.Vec {
	var out []r2.Vec
	left := 0.0 // to the next point
	before := outline[0]
	for _, next := range outline[1:] {
		d := r2.Sub(next, before)
		length := r2.Norm(d)
		at := left
		for ; at < length; at += step {
			out = append(out, r2.Add(before, r2.Scale(at/length, d)))
		}
		left = at - length
		before = next
	}
	return out
}

// thickest returns the greatest height between the skins of an outline that runs from the tail over the top and back
// below, as callipers find it.
func thickest(outline []r2.Vec) float64 {
	nose := 0
	for i, p := range outline {
		if p.X < outline[nose].X {
			nose = i
		}
	}
	best, k := 0.0, nose
	for i := nose; i >= 0; i-- { // aft along the top, with the point below it
		p := outline[i]
		for k+2 < len(outline) && outline[k+1].X < p.X {
			k++
		}
		a, b := outline[k], outline[k+1]
		below := a.Y + (b.Y-a.Y)*(p.X-a.X)/(b.X-a.X)
		if p.X >= a.X && p.X <= b.X {
			best = math.Max(best, p.Y-below)
		}
	}
	return best
}

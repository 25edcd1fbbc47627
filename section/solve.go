package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// The fit places the lofted nominal on all points at once: Gauss-Newton on the distances along the
// normal, with Tukey's biweight so that clutter and spots carry no weight.

const (
	biweight     = 4.685  // cut-off of Tukey's biweight in standard deviations (95 % efficiency)
	madScale     = 1.4826 // standard deviation of a normal distribution over its median absolute deviation
	spreadPoints = 3000

	settled  = 0.005 // standard deviations of the residuals: a round that moves the skin by less is the last
	hingeGap = 0.012 // chords either side of the hinge line that are left out of the fit
)

// fitter holds a loft being fitted to points. Points are mm in a frame that only a rotation and a shift
// part from the wing frame.
type fitter struct {
	model
	wingFromPoints Transform // scale 1
	points         bulk
	normals        []r3.Vec // unit, sign without meaning; nil where none are known

	scale float64 // mm, robust standard deviation of the residuals of the last step
}

// step says what one round of the fit may use and change.
type step struct {
	lo, hi float64             // stations used, mm
	gate   float64             // mm, farther points are not looked at
	floor  float64             // mm, least standard deviation assumed
	free   [parameters]bool    // parameters that may change
	prior  [parameters]float64 // standard deviation of the prior about mean; 0: none
	mean   [parameters]float64 // of the prior, for the parameters that are not part of the pose
	rounds int
}

// values returns the parameters that are not part of the pose.
func (f *fitter) values() [parameters]float64 {
	return [parameters]float64{chordPar: f.Chord, taperPar: f.Taper, twistPar: f.Twist,
		deflectPar: f.Deflection, offsetPar: f.offset, sweepPar: f.Sweep, risePar: f.Rise}
}

// run does the rounds of a step, as many as it takes to settle, and returns the number of points that carried weight in
// the last.
func (f *fitter) run(s step) int {
	used := 0
	var few []found
	if len(f.points) < 2*spreadPoints {
		few = make([]found, len(f.points))
	}
	for range s.rounds {
		var sum normal
		if few != nil {
			sum = f.atOnce(few, s)
		} else {
			f.scale = math.Max(f.spread(s), s.floor)
			sum = f.accumulate(s)
		}
		used = sum.used
		if used < 30 {
			break
		}
		if moved, ok := f.move(sum, s); !ok || moved < settled*f.scale {
			break
		}
	}
	return used
}

// runOn does the rounds of a step on other points than the fitter's own.
func (f *fitter) runOn(points bulk, s step) int {
	own := f.points
	defer func() { f.points = own }()
	f.points = points
	return f.run(s)
}

// usable compares point i with the loft and reports whether the step may use it; q holds what was found then.
func (f *fitter) usable(i int, s *step, q *found) bool {
	point := f.points.at(i)
	if y := f.wingFromPoints.y(point) * f.inboard; y < s.lo || y > s.hi {
		return false
	}
	q.p = f.wingFromPoints.apply(point)
	if !f.compareNear(q.p, s.gate+math.Abs(f.offset), &q.residual) {
		return false
	}
	q.d = q.distance - f.offset
	if q.end || math.Abs(q.d) > s.gate || f.Hinge > 0 && math.Abs(q.x-f.Hinge) < hingeGap {
		return false
	}
	return f.normals == nil || !(math.Abs(r3.Dot(f.wingFromPoints.Rotate(f.normals[i]), q.gradient)) < 0.8)
}

// spread returns the robust standard deviation of the residuals, from about spreadPoints points taken evenly.
func (f *fitter) spread(s step) float64 {
	stride := max(len(f.points)/spreadPoints, 1)
	return s.spread(joined((len(f.points)+stride-1)/stride, func(lo, hi int) (abs []float64) {
		abs = make([]float64, 0, hi-lo)
		var q found
		for i := lo; i < hi; i++ {
			if f.usable(i*stride, &s, &q) {
				abs = append(abs, math.Abs(q.d))
			}
		}
		return abs
	}))
}

// spread returns the robust standard deviation of residuals, whose order it changes; the gate where there are none.
func (s *step) spread(abs []float64) float64 {
	if len(abs) == 0 {
		return s.gate
	}
	return madScale * median(abs)
}

// found is what [fitter.usable] says of a point.
type found struct {
	residual
	p  r3.Vec  // in the wing frame
	d  float64 // mm, from the offset skin
	ok bool
}

// atOnce sets the scale and returns the normal equations of few points, each compared with the loft once; all has room
// for what is found of each.
func (f *fitter) atOnce(all []found, s step) normal {
	parallel(len(all), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			q := &all[i]
			q.ok = f.usable(i, &s, q)
		}
	})
	abs := make([]float64, 0, len(all))
	for i := range all {
		if all[i].ok {
			abs = append(abs, math.Abs(all[i].d))
		}
	}
	f.scale = math.Max(s.spread(abs), s.floor)
	cut := biweight * f.scale
	free := s.list()
	return reduce(len(all), func(lo, hi int) (n normal) {
		for i := lo; i < hi; i++ {
			if q := &all[i]; q.ok {
				n.weigh(q, cut, free)
			}
		}
		return n
	}, (*normal).join)
}

// list returns the parameters that may change.
func (s *step) list() (free []int) {
	for a, ok := range s.free {
		if ok {
			free = append(free, a)
		}
	}
	return free
}

// normal is the sum of the normal equations of some parameters, in their order; of the matrix the upper
// half is filled in.
type normal struct {
	jtj  [parameters][parameters]float64
	jtr  [parameters]float64
	used int
}

func (f *fitter) accumulate(s step) normal {
	cut, free := biweight*f.scale, s.list()
	return reduce(len(f.points), func(lo, hi int) (n normal) {
		var q found
		for i := lo; i < hi; i++ {
			if f.usable(i, &s, &q) {
				n.weigh(&q, cut, free)
			}
		}
		return n
	}, (*normal).join)
}

// weigh adds a point with Tukey's biweight, which cuts off at cut.
func (n *normal) weigh(q *found, cut float64, free []int) {
	d := q.d
	if math.Abs(d) >= cut {
		return
	}
	t := 1 - d*d/(cut*cut)
	jacobian := q.jacobian(q.p)
	var j [parameters]float64
	for i, a := range free {
		j[i] = jacobian[a]
	}
	n.add(j[:len(free)], d, t*t)
}

// join adds the sums of another part.
func (n *normal) join(part normal) {
	for a := range parameters {
		for b := range parameters {
			n.jtj[a][b] += part.jtj[a][b]
		}
		n.jtr[a] += part.jtr[a]
	}
	n.used += part.used
}

func (n *normal) add(j []float64, d, w float64) {
	n.used++
	for a, ja := range j {
		wja := w * ja
		n.jtr[a] += wja * d
		row := n.jtj[a][a:]
		for b, jb := range j[a:] {
			row[b] += wja * jb
		}
	}
}

// move solves the normal equations with the priors and applies the change. It returns how far that moves the skin, mm,
// and reports false when the equations say nothing.
func (f *fitter) move(n normal, s step) (moved float64, ok bool) {
	free := s.list()
	if len(free) == 0 {
		return 0, false
	}
	k := len(free)
	now := f.values()
	lhs, rhs := mat.NewSymDense(k, nil), mat.NewVecDense(k, nil)
	inverse := 1 / (f.scale * f.scale)
	for i, a := range free {
		rhs.SetVec(i, -n.jtr[i]*inverse)
		for j := i; j < k; j++ {
			lhs.SetSym(i, j, n.jtj[i][j]*inverse)
		}
		if p := s.prior[a]; p > 0 {
			lhs.SetSym(i, i, lhs.At(i, i)+1/(p*p))
			rhs.SetVec(i, rhs.AtVec(i)-(now[a]-s.mean[a])/(p*p))
		}
	}
	delta, _, ok := solve(lhs, rhs)
	if !ok {
		return 0, false
	}
	var change [parameters]float64
	span := math.Max(math.Abs(s.lo), math.Abs(s.hi))
	lever := [parameters]float64{rollPar: span, pitchPar: f.Chord, yawPar: span, xPar: 1, zPar: 1, chordPar: 1,
		taperPar: span, twistPar: span * f.Chord, deflectPar: f.Chord, offsetPar: 1, sweepPar: span, risePar: span}
	for i, a := range free {
		change[a] = delta.AtVec(i)
		moved = math.Max(moved, math.Abs(change[a])*lever[a])
	}
	f.apply(change)
	return moved, true
}

// apply changes the parameters; the pose moves the points, not the loft.
func (f *fitter) apply(c [parameters]float64) {
	const most = 0.2 // rad: a larger turn means that the linearisation has no meaning
	turn := r3.Vec{X: c[rollPar], Y: c[pitchPar], Z: c[yawPar]}
	if n := r3.Norm(turn); n > most {
		turn = r3.Scale(most/n, turn)
	}
	move := Transform{R: rotation(turn), Scale: 1, T: r3.Vec{X: c[xPar], Z: c[zPar]}}
	f.wingFromPoints = move.After(f.wingFromPoints)
	f.Chord *= 1 + math.Max(-0.3, math.Min(0.3, c[chordPar]/f.Chord))
	f.Taper += c[taperPar]
	f.Twist += c[twistPar]
	f.Deflection = math.Max(-0.6, math.Min(0.6, f.Deflection+c[deflectPar]))
	f.offset += c[offsetPar]
	f.Sweep += c[sweepPar]
	f.Rise += c[risePar]
}

// solve returns the solution of the normal equations, and what tells the inverse of their matrix. The unknowns are
// angles, lengths and ratios of very different size, so the matrix is first scaled to a unit diagonal
// (Jacobi scaling), without which it looks singular. It reports false for a matrix that is not positive
// definite.
func solve(lhs *mat.SymDense, rhs *mat.VecDense) (x *mat.VecDense, by *factors, ok bool) {
	n := rhs.Len()
	by = &factors{scale: make([]float64, n)}
	for i := range n {
		if by.scale[i] = 1 / math.Sqrt(lhs.At(i, i)); math.IsInf(by.scale[i], 0) || math.IsNaN(by.scale[i]) {
			return nil, nil, false
		}
	}
	scaled, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		right.SetVec(i, rhs.AtVec(i)*by.scale[i])
		for j := i; j < n; j++ {
			scaled.SetSym(i, j, lhs.At(i, j)*by.scale[i]*by.scale[j])
		}
	}
	x = mat.NewVecDense(n, nil)
	if !by.normal.Factorize(scaled) || by.normal.SolveVecTo(x, right) != nil {
		return nil, nil, false
	}
	for i := range n {
		x.SetVec(i, x.AtVec(i)*by.scale[i])
	}
	return x, by, true
}

// factors are those of a matrix scaled to a unit diagonal.
type factors struct {
	normal mat.Cholesky
	scale  []float64
}

// inverse returns the inverse of the matrix as it was. It reports false where there is none.
func (f *factors) inverse() (*mat.SymDense, bool) {
	n := len(f.scale)
	out := mat.NewSymDense(n, nil)
	if f.normal.InverseTo(out) != nil {
		return nil, false
	}
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, out.At(i, j)*f.scale[i]*f.scale[j])
		}
	}
	return out, true
}

package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// The height of the hinge's axis, of which the wing sheet says nothing. About an axis below the middle of the depth, an
// aileron that is turned down moves forward as well, and with it the tail, to which the tape was laid at neutral. On the
// skins that is a step at the hinge line: the aileron stands back a little on both, or out on both, where they taper. So
// the polish has the height among its unknowns, together with what else makes such steps, an aileron that was built a
// little too thick.

const (
	hingeColumns  = 2    // unknowns of the polish that an aileron brings
	hingeMismatch = 0.03 // mm by which each skin of an aileron may stand off as a step (standard deviation; common practice, no source)
	hingeDoubt    = 1.3  // times the fit's standard deviation by which what it tells may be off
)

// hingePlaces are where builders put the axis, depths above the middle of the section, how far about it, and the share of
// wings that have it there (common practice, no source).
var hingePlaces = [...]struct{ at, sd, share float64 }{{0, 0.05, 0.8}, {0.5, 0.08, 0.1}, {-0.5, 0.08, 0.1}}

// ownColumns returns how many unknowns of a step's polish are no form: the free parameters, and those of the hinge.
func ownColumns(s step) int {
	n := len(freeIndex(s.free))
	if s.free[deflectPar] {
		n += hingeColumns
	}
	return n
}

// hingeRow returns by how much the distance of a point on the skin changes for each millimetre of the height of the
// hinge's axis, and for each that the aileron's skins are built too thin. neutral is its place in the unit section.
func (f *fitter) hingeRow(neutral r2.Vec, r *residual) [hingeColumns]float64 {
	if neutral.X <= f.Hinge {
		return [hingeColumns]float64{}
	}
	sin, cos := sincos(f.Deflection)
	n := turnBy(f.Twist * r.station).noseDown(r2.Vec{X: r.gradient.X, Y: r.gradient.Z}) // as the aileron lies
	n = turnBy(f.Deflection).noseDown(n)
	return [hingeColumns]float64{n.X*sin + n.Y*(1-cos), 1}
}

// hingeMiddle returns the middle of the section's depth at the hinge line and the depth, chords.
func (m *model) hingeMiddle() (middle, depth float64) {
	upper, lower := heightAt(m.field.outline[:m.field.nose+1], m.Hinge), heightAt(m.field.outline[m.field.nose:], m.Hinge)
	return (upper + lower) / 2, upper - lower
}

// hingePriors adds what is expected of the unknowns that an aileron brings, from column at on: an axis anywhere within
// the depth alike, which has a standard deviation of the depth over the root of 12 (JCGM 100:2008, 4.3.7).
func (f *fitter) hingePriors(lhs *mat.SymDense, rhs *mat.VecDense, at int) {
	middle, depth := f.hingeMiddle()
	w := 12 / math.Pow(depth*f.Chord, 2)
	lhs.SetSym(at, at, lhs.At(at, at)+w)
	rhs.SetVec(at, rhs.AtVec(at)-w*(f.HingeZ-middle)*f.Chord)
	lhs.SetSym(at+1, at+1, lhs.At(at+1, at+1)+1/(hingeMismatch*hingeMismatch))
}

// likelyHinge weighs what the skins tell of the axis's height with where builders put it: in the middle of the depth, or on
// one of the skins. higher is by how much it lies above where it was taken to lie, mm, as the fit says with the
// expectation of hingePriors, and variance is that of the fit. It returns the mean and the standard deviation.
func (f *fitter) likelyHinge(higher, variance float64) (mean, sd float64) {
	middle, depth := f.hingeMiddle()
	depth *= f.Chord
	from := (f.HingeZ - middle) * f.Chord // mm above the middle
	// What the skins alone tell: the fit less its expectation.
	told := math.Max(1/variance-12/(depth*depth), 1e-9)
	at := (from + higher) / variance / told
	told /= hingeDoubt * hingeDoubt
	var weight, sum, square float64
	for _, place := range hingePlaces {
		own := 1 / math.Pow(place.sd*depth, 2)
		both := own + told
		m := (own*place.at*depth + told*at) / both
		off := place.at*depth - at
		w := place.share * math.Sqrt(own/both) * math.Exp(-off*off*own*told/both/2)
		weight, sum, square = weight+w, sum+w*m, square+w*(m*m+1/both)
	}
	mean = sum / weight
	return mean - from, math.Sqrt(math.Max(square/weight-mean*mean, 0))
}

// settle takes one of the unknowns for known, and lets the others follow.
func (o *formed) settle(unknown int, value float64) {
	off := (value - o.x[unknown]) / o.cov.At(unknown, unknown)
	for j := range o.x {
		o.x[j] += off * o.cov.At(j, unknown)
	}
}

package airfoil

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"
	"gonum.org/v1/gonum/spatial/r2"
)

const (
	mostBack     = 0.002 // chord: how far x may go back along a surface
	crossedTail  = 0.9   // chord: surfaces that cross aft of this are a slip of the tail, ahead of it a refusal
	crossedDepth = 0.005 // chord: how deep they may cross there
	thinnest     = 0.01  // chord: outlines thinner or thicker than this are no wing section
	thickest     = 0.7
	tooBent      = 1.3 // camber over thickness: a table whose lower ordinates lost their sign has 1.5 and more,
	veryBent     = 0.7 // the bent sections of the families have up to 0.5 (common practice, no source),
	mostBent     = 4.0 // and bent plates have 2 and more
)

// surfaces returns the points of both surfaces from the nose to the tail.
func (f *outlineFile) surfaces() (upper, lower []sample) {
	nose := foremostPoint(f.points)
	upper = slices.Clone(f.points[:nose+1])
	slices.Reverse(upper)
	return upper, f.points[nose:]
}

// finite refuses an outline whose numbers are so unlike that a chord cannot be laid through them.
func (f *outlineFile) finite() error {
	for _, p := range f.points {
		if v := p.X + p.Y; math.IsNaN(v) || math.IsInf(v, 0) {
			return f.refuse(p.line, mendText, "the points reach so far that no chord can be laid through them")
		}
	}
	return nil
}

// forward refuses an outline that goes back on itself.
func (f *outlineFile) forward() error {
	upper, lower := f.surfaces()
	for _, surface := range [][]sample{upper, lower} {
		if len(surface) < 3 {
			return f.refuse(surface[0].line, mendOrder, "one surface has no points between the nose and the trailing edge")
		}
		far := surface[0].X
		for _, p := range surface {
			if p.X < far-mostBack {
				return f.refuse(p.line, mendShape, "x goes back from %.5g to %.5g of the chord on the way from the nose to the trailing edge", far, p.X)
			}
			far = math.Max(far, p.X)
		}
	}
	return nil
}

// heights returns a surface's ordinate over x, straight between its points.
func heights(surface []sample) func(x float64) float64 {
	var xs, zs []float64
	for _, p := range surface {
		if len(xs) == 0 || p.X > xs[len(xs)-1] {
			xs, zs = append(xs, p.X), append(zs, p.Y)
		}
	}
	if len(xs) < 2 {
		return func(float64) float64 { return zs[0] }
	}
	var line interp.PiecewiseLinear
	if err := line.Fit(xs, zs); err != nil {
		return func(float64) float64 { return math.NaN() }
	}
	return line.Predict
}

// tail refuses surfaces that cross, and closes a tail whose surfaces cross by a trifle.
func (f *outlineFile) tail() error {
	upper, lower := f.surfaces()
	top, bottom := heights(upper), heights(lower)
	from := math.Inf(1)
	for _, p := range f.points {
		gap := top(p.X) - bottom(p.X)
		if gap >= -same {
			continue
		}
		if p.X < crossedTail || gap < -crossedDepth {
			return f.refuse(p.line, mendShape, "upper and lower surface cross: at x = %.5g the upper lies %.4g of the chord below the lower", p.X, -gap)
		}
		from = math.Min(from, p.X)
	}
	if math.IsInf(from, 1) {
		return nil
	}
	for i, p := range f.points {
		if p.X >= from {
			f.points[i].Y = (top(p.X) + bottom(p.X)) / 2
		}
	}
	f.dropRepeats(1)
	if len(f.points) < fewest {
		return f.refuse(0, mendShape, "upper and lower surface run into each other along the tail")
	}
	f.caution("airfoil-tail", "In %s upper and lower surface cross ahead of the trailing edge, at %.1f per cent of the chord; "+
		"from there on the line midway between them was taken for both.", f.name, 100*from)
	return nil
}

// plausible refuses an outline that is too thin, too thick or too bent for a wing.
func (f *outlineFile) plausible() error {
	upper, lower := f.surfaces()
	top, bottom := heights(upper), heights(lower)
	var thick, camber float64
	for _, p := range f.points {
		thick = math.Max(thick, top(p.X)-bottom(p.X))
		camber = math.Max(camber, math.Abs(top(p.X)+bottom(p.X))/2)
	}
	if thick < thinnest || thick > thickest {
		return f.refuse(0, mendText, "an outline %.3g per cent of the chord thick is no wing section", 100*thick)
	}
	const sign = "Look whether the minus signs of one surface are missing"
	switch bent := camber / thick; {
	case bent > mostBent, bent > tooBent && signsLost(upper, lower):
		return f.refuse(0, sign, "an outline %.3g per cent of the chord thick with %.3g per cent of camber is no wing section", 100*thick, 100*camber)
	case bent > veryBent:
		f.caution("airfoil-bent", "%s has much camber (%.3g per cent of the chord) for its thickness (%.3g per cent). %s.", f.name, 100*camber, 100*thick, sign)
	}
	return nil
}

// signsLost reports whether the inner surface of a bent outline rises from the nose as steeply as a nose is round:
// twice as steep as the mean line of any section, while the inner side of a bent plate runs along its mean line.
func signsLost(upper, lower []sample) bool {
	const steep, from = 0.5, 0.005
	rises := func(surface []sample, sign float64) bool {
		i := slices.IndexFunc(surface, func(p sample) bool { return p.X >= from })
		return i >= 0 && sign*surface[i].Y > steep*surface[i].X
	}
	return rises(upper, 1) && rises(lower, 1) || rises(upper, -1) && rises(lower, -1)
}

// Bounds for one point that stands off the smooth line of its neighbours, in chords. The nose has its own,
// since the first stations of a published table (1.25, 2.5, 5 % of the chord) lie far apart for its radius.
const (
	noseZone    = 0.10
	blunder     = 0.01
	blunderNose = 0.02
	blunderTip  = 0.028 // of the foremost point, which stands before its neighbours by a first station of up to 2.5 %
	doubtful    = 0.001
	outstanding = 10.0 // times the middle one of all deviations
	bySpacing   = 0.03 // share of the distance between its neighbours: a coarse file deviates by up to 0.02 of it
	coarse      = 0.005
	wide        = 0.032 // chord: a step about the nose that no published table takes
	toCurve     = 13.0  // a point's deviation over the error of a curve that has the point, at most (30 points a side of a 6 % section)
)

// smooth refuses a point that stands far off the line of its neighbours, and cautions about a doubtful one and
// about a nose with too few points.
func (f *outlineFile) smooth() error {
	off := make([]float64, len(f.points))
	nose, aft := 0, 0 // the worst of either zone; 0, the tail, deviates by nothing
	for i := 1; i < len(off)-1; i++ {
		off[i] = f.deviation(i)
		if f.points[i].X < noseZone {
			nose = larger(off, nose, i)
		} else {
			aft = larger(off, aft, i)
		}
	}
	typical := slices.Sorted(slices.Values(off))[len(off)/2]
	for _, c := range []struct {
		i     int
		limit float64
	}{{aft, blunder}, {nose, blunderNose}} {
		p := f.points[c.i]
		if c.i == foremostPoint(f.points) {
			c.limit = blunderTip
		}
		if step := f.step(c.i); p.X < noseZone && off[c.i] > c.limit && step > wide {
			return f.refuse(p.line, "Add points ahead of 10 per cent of the chord",
				"about x = %.5g of the chord the points stand %.2g per cent apart, too far to tell the nose", p.X, 100*step)
		}
		if off[c.i] > max(c.limit, outstanding*typical) {
			return f.refuse(p.line, mendShape, "the point at x = %.5g, z = %.5g of the chord stands %.2g per cent of the chord off the line of its neighbours",
				p.X, p.Y, 100*off[c.i])
		}
	}
	if p := f.points[aft]; off[aft] > max(doubtful, outstanding*typical, bySpacing*f.gap(aft)) {
		f.caution("airfoil-point", "%s, line %d: the point at x = %.5g, z = %.5g stands %.2g per cent of the chord off the line of its neighbours; "+
			"compare it with the drawing.", f.name, p.line, p.X, p.Y, 100*off[aft])
	}
	if p := f.points[nose]; off[nose] > coarse {
		f.caution("airfoil-coarse", "%s, line %d: about x = %.4g the points stand too far apart for the curve of the nose, or one is wrong; "+
			"the outline there is uncertain by about %.2g per cent of the chord. Add points ahead of 10 per cent.", f.name, p.line, p.X, 100*off[nose]/toCurve)
	}
	return nil
}

// gap returns the distance between the neighbours of a point, 0 at an end.
func (f *outlineFile) gap(i int) float64 {
	if i == 0 || i == len(f.points)-1 {
		return 0
	}
	return r2.Norm(r2.Sub(f.points[i+1].Vec, f.points[i-1].Vec))
}

// step returns the mean distance of a point to its neighbours, 0 at an end.
func (f *outlineFile) step(i int) float64 {
	if i == 0 || i == len(f.points)-1 {
		return 0
	}
	return (r2.Norm(r2.Sub(f.points[i].Vec, f.points[i-1].Vec)) + r2.Norm(r2.Sub(f.points[i+1].Vec, f.points[i].Vec))) / 2
}

// larger returns the index of the greater of two values.
func larger(values []float64, i, j int) int {
	if values[j] > values[i] {
		return j
	}
	return i
}

// deviation returns how far an inner point lies from the cubic through its two neighbours on either side.
func (f *outlineFile) deviation(i int) float64 {
	const steps = 16
	lo := min(max(i-2, 0), len(f.points)-5)
	var near []r2.Vec
	for j := lo; j < lo+5; j++ {
		if j != i {
			near = append(near, f.points[j].Vec)
		}
	}
	t := make([]float64, 4)
	for j := 1; j < 4; j++ {
		t[j] = t[j-1] + r2.Norm(r2.Sub(near[j], near[j-1]))
	}
	before := i - 1 - lo // index in near of the neighbour ahead of the gap
	best, last := math.Inf(1), near[before]
	for k := range steps {
		q := lagrange(t, near, t[before]+(t[before+1]-t[before])*float64(k+1)/steps)
		best = math.Min(best, distance(f.points[i].Vec, last, q))
		last = q
	}
	return best
}

// lagrange returns the polynomial through points at parameters t.
func lagrange(t []float64, points []r2.Vec, at float64) r2.Vec {
	var sum r2.Vec
	for i, p := range points {
		w := 1.0
		for j := range t {
			if j != i {
				w *= (at - t[j]) / (t[i] - t[j])
			}
		}
		sum = r2.Add(sum, r2.Scale(w, p))
	}
	return sum
}

// distance returns the distance of p from the straight piece from a to b.
func distance(p, a, b r2.Vec) float64 {
	ab, ap := r2.Sub(b, a), r2.Sub(p, a)
	l := r2.Norm2(ab)
	if l == 0 {
		return r2.Norm(ap)
	}
	u := math.Min(1, math.Max(0, r2.Dot(ab, ap)/l))
	return r2.Norm(r2.Sub(ap, r2.Scale(u, ab)))
}

// taut refuses a curve that bulges between two points of the file as no section does: the points are too
// uneven to be joined smoothly. A half circle bulges by half its chord.
func (f *outlineFile) taut(c *spline) error {
	const mostBulge = 0.6
	for i := 1; i < len(f.points); i++ {
		a, b := f.points[i-1].Vec, f.points[i].Vec
		mid := r2.Scale(0.5, r2.Add(a, b))
		if t := (c.knots[i-1] + c.knots[i]) / 2; r2.Norm(r2.Sub(c.along(t), mid)) > mostBulge*r2.Norm(r2.Sub(b, a)) {
			return f.refuse(f.points[i].line, mendShape, "no smooth outline runs through the points before and after this line")
		}
	}
	return nil
}

// apart refuses a smooth outline whose surfaces cross although the given points do not.
func (f *outlineFile) apart(a *Airfoil) error {
	const steps, trifle, ends = 400, 1e-4, 0.05
	const none = "no smooth outline runs through these points"
	for i := range steps + 1 {
		x := float64(i) / steps
		gap := a.Upper(x) - a.Lower(x)
		if gap < -trifle {
			return f.refuse(0, mendShape, "the smooth outline through the points crosses itself at x = %.3g", x)
		}
		if math.IsNaN(gap) && x > ends && x < 1-ends { // it does not reach there, as when all of it falls into one point
			return f.refuse(0, mendShape, none)
		}
	}
	for _, p := range a.Outline(steps) {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return f.refuse(0, mendShape, none)
		}
	}
	return nil
}

package section

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section/airfoil"
)

// The wing's own section. Where no airfoil is known, a smooth outline is fitted to the scan itself and stands in
// for the nominal. The outline is written as x = t², z = a sum of Chebyshev polynomials in t, with t from -1 at
// the tail of the lower skin through 0 at the nose to 1 at the tail of the upper: a round nose lies in the
// parameter, not in the coefficients, and even and odd terms are camber and thickness. (The same thought as in
// Kulfan's class functions, Journal of Aircraft 45 (2008) 142, with one series for both skins.)

const (
	ownTerms    = 17     // polynomials: the shortest wave of the outline is about a fifth of the chord long
	ownRounds   = 12     // of feet and fit
	ownPoints   = 60_000 // points that the outline is fitted to, at most
	ownGate     = 0.03   // chords: how far a point may lie off the outline in the first round
	ownLastGate = 0.008  // the same in the last
	ownDamping  = 1e-9   // of the normal equations, against terms that no point holds
	ownOutline  = 241    // points of the outline that is handed on
	tailLook    = 1.5    // chords aft of the nose up to which the tail is looked for
	tailBin     = 0.01   // chords
	tailStarved = 0.2    // share of the skin's usual points at which it has ended
	tailHeight  = 0.12   // chords above and below the mean line in which the tail is looked for
	bluntEnd    = 0.1    // chords from either end at which the thicknesses tell nose from tail
	bluntAt     = 0.95   // chords at which a wing's section ...
	bluntShare  = 0.35   // ... is no deeper than so much of its depth: an ellipse is 0.44, a thick tail 0.3
)

// ownCurve is an outline in the frame of the candidate it was fitted in, chords of it.
type ownCurve struct {
	nose, tail r2.Vec // ends of the frame's x axis
	terms      [ownTerms]float64
	hinge      r2.Vec  // of the aileron, in the candidate's unit section; X 0 without one
	deflection float64 // rad; the outline is that with the aileron turned back by it
}

// point returns the outline at t in its own frame: x from 0 to 1.
func (o *ownCurve) point(t float64) r2.Vec {
	var z float64
	for k, v := range chebyshev(t) {
		z += o.terms[k] * v
	}
	return r2.Vec{X: t * t, Y: z}
}

func chebyshev(t float64) (v [ownTerms]float64) {
	v[0], v[1] = 1, t
	for k := 2; k < ownTerms; k++ {
		v[k] = 2*t*v[k-1] - v[k-2]
	}
	return v
}

// toOwn and fromOwn turn points between the candidate's unit section and the outline's frame.
func (o *ownCurve) toOwn(q r2.Vec) r2.Vec {
	d, v := r2.Sub(o.tail, o.nose), r2.Sub(q, o.nose)
	n := r2.Norm2(d)
	return r2.Vec{X: r2.Dot(v, d) / n, Y: (d.X*v.Y - d.Y*v.X) / n}
}

func (o *ownCurve) fromOwn(p r2.Vec) r2.Vec {
	d := r2.Sub(o.tail, o.nose)
	return r2.Add(o.nose, r2.Vec{X: p.X*d.X - p.Y*d.Y, Y: p.X*d.Y + p.Y*d.X})
}

// ownSection fits an outline to the points of a candidate between two stations, starting from the field's own.
// It reports false where the skin does not show one.
func (c *candidate) ownSection(lo, hi float64) (*ownCurve, bool) {
	points := c.unitPoints(lo, hi)
	tail, ok := tailEnd(points)
	if !ok {
		return nil, false
	}
	o := &ownCurve{tail: r2.Vec{X: tail}, hinge: r2.Vec{X: c.Hinge, Y: c.HingeZ}, deflection: c.Deflection}
	o.start(c.field)
	if !o.fit(points) {
		return nil, false
	}
	return o, true
}

// unitPoints returns points as the unit section sees them, taper and twist taken out, about ownPoints of them.
func (c *candidate) unitPoints(lo, hi float64) (out []r2.Vec) {
	stride := max(len(c.points)/(4*ownPoints), 1)
	for i := 0; i < len(c.points); i += stride {
		p := c.wingFromPoints.Apply(c.points.at(i))
		if y := p.Y * c.inboard; y < lo || y > hi {
			continue
		}
		q := c.place(p).q
		if q.X > -0.3 && q.X < tailLook && math.Abs(q.Y) < 0.4 {
			out = append(out, q)
		}
	}
	return out
}

// tailEnd walks aft along the chord line until the skin ends.
func tailEnd(points []r2.Vec) (float64, bool) {
	counts := make([]float64, int(tailLook/tailBin))
	for _, q := range points {
		if k := int(q.X / tailBin); q.X > 0 && k < len(counts) && math.Abs(q.Y) < tailHeight {
			counts[k]++
		}
	}
	from, to := int(0.5/tailBin), int(0.8/tailBin)
	usual := median(append([]float64(nil), counts[from:to]...))
	if usual < 5 {
		return 0, false
	}
	for k := from; k+1 < len(counts); k++ {
		if counts[k] < tailStarved*usual && counts[k+1] < tailStarved*usual {
			return float64(k) * tailBin, true
		}
	}
	return 0, false
}

// start gives the outline the shape of a field's section.
func (o *ownCurve) start(f *field) {
	var fit ownFit
	for _, p := range f.outline {
		q := o.toOwn(p)
		t := math.Sqrt(math.Max(q.X, 0))
		if q.Y < 0 {
			t = -t
		}
		if q.X <= 1 {
			row := chebyshev(t)
			fit.add(row[:], q.Y, 1)
		}
	}
	if x, ok := fit.solve(ownTerms); ok {
		copy(o.terms[:], x)
	}
}

// turnedBack returns a point of the unit section with the aileron at neutral. It reports false beside the hinge.
func (o *ownCurve) turnedBack(q r2.Vec) (r2.Vec, bool) {
	v := r2.Sub(q, o.hinge)
	if o.hinge.X > 0 && v.X > 0 {
		v = turnBy(o.deflection).noseDown(v)
	}
	return r2.Add(o.hinge, v), o.hinge.X <= 0 || math.Abs(v.X) > hingeGap
}

// fit moves the outline onto the points, by their distances square to it. An aileron is turned with it: what kinks at the
// hinge is its deflection, since the outline does not.
func (o *ownCurve) fit(points []r2.Vec) bool {
	scale := ownGate / biweight
	for range ownRounds {
		feet := o.feet()
		var fit ownFit
		var abs []float64
		gate := math.Max(biweight*scale, ownLastGate)
		hinge := o.toOwn(o.hinge)
		for _, q := range points {
			q, beside := o.turnedBack(q)
			if !beside {
				continue
			}
			p := o.toOwn(q)
			foot, ok := feet.nearest(p)
			if !ok || math.Abs(foot.distance) > gate {
				continue
			}
			abs = append(abs, math.Abs(foot.distance))
			u := foot.distance / gate
			w := (1 - u*u) * (1 - u*u)
			row := chebyshev(foot.t)
			var moves [ownTerms + 2]float64
			for k, v := range row {
				moves[k] = foot.normal.Y * v
			}
			moves[ownTerms] = foot.normal.X // the nose moves fore and aft
			if o.hinge.X > 0 && q.X > o.hinge.X {
				moves[ownTerms+1] = foot.normal.X*(p.Y-hinge.Y) - foot.normal.Y*(p.X-hinge.X)
			}
			fit.add(moves[:], foot.distance, w)
		}
		n := ownTerms + 1
		if o.hinge.X > 0 {
			n++
		}
		x, ok := fit.solve(n)
		if !ok || len(abs) < 40*ownTerms {
			return false
		}
		for k := range ownTerms {
			o.terms[k] += x[k]
		}
		o.nose = o.fromOwn(r2.Vec{X: x[ownTerms]})
		if o.hinge.X > 0 {
			o.deflection += x[ownTerms+1]
		}
		scale = math.Max(madScale*median(abs), 1e-4)
	}
	return true
}

// ownFit gathers normal equations of any size.
type ownFit struct {
	lhs [ownTerms + 2][ownTerms + 2]float64
	rhs [ownTerms + 2]float64
}

func (f *ownFit) add(row []float64, d, w float64) {
	for i, a := range row {
		f.rhs[i] += w * a * d
		for j, b := range row {
			f.lhs[i][j] += w * a * b
		}
	}
}

func (f *ownFit) solve(n int) ([]float64, bool) {
	lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	var trace float64
	for i := range n {
		trace += f.lhs[i][i]
	}
	for i := range n {
		rhs.SetVec(i, f.rhs[i])
		for j := i; j < n; j++ {
			lhs.SetSym(i, j, f.lhs[i][j])
		}
		lhs.SetSym(i, i, lhs.At(i, i)+ownDamping*trace)
	}
	x, _, ok := solve(lhs, rhs)
	if !ok {
		return nil, false
	}
	return x.RawVector().Data, true
}

// ownFeet finds feet on the outline: a polyline even in t, in the field that the loft uses too.
type ownFeet struct {
	field *field
	t     []float64
}

type ownFoot struct {
	distance, t float64
	normal      r2.Vec
}

func (o *ownCurve) feet() *ownFeet {
	const n = 601
	f := &ownFeet{t: make([]float64, n)}
	line := make([]r2.Vec, n)
	for i := range n {
		f.t[i] = 1 - 2*float64(i)/(n-1)
		line[i] = o.point(f.t[i])
	}
	f.field = newField(line, roughCell)
	return f
}

func (f *ownFeet) nearest(p r2.Vec) (ownFoot, bool) {
	ft, ok := f.field.at(p)
	if !ok || ft.end {
		return ownFoot{}, false
	}
	// The arc tells the place between two vertices.
	lo, hi := 0, len(f.field.arc)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; f.field.arc[mid] <= ft.arc {
			lo = mid
		} else {
			hi = mid
		}
	}
	share := (ft.arc - f.field.arc[lo]) / math.Max(f.field.arc[hi]-f.field.arc[lo], 1e-12)
	return ownFoot{ft.distance, f.t[lo] + share*(f.t[hi]-f.t[lo]), ft.normal}, true
}

// airfoil returns the outline as a section of chord 1, from the middle of the tail to the point farthest from it,
// and that chord line's ends in the candidate's unit section. The upper side is where the outline's own is.
func (o *ownCurve) airfoil() (a *airfoil.Airfoil, nose, tail r2.Vec, err error) {
	tailOwn := r2.Scale(0.5, r2.Add(o.point(1), o.point(-1)))
	noseOwn := tailOwn
	for i := range 2001 {
		if p := o.point(float64(i-1000) / 2000); r2.Norm2(r2.Sub(p, tailOwn)) > r2.Norm2(r2.Sub(noseOwn, tailOwn)) {
			noseOwn = p
		}
	}
	frame := &ownCurve{nose: noseOwn, tail: tailOwn}
	var b strings.Builder
	fmt.Fprintln(&b, ownName)
	for i := range ownOutline {
		t := 1 - 2*float64(i)/(ownOutline-1)
		p := frame.toOwn(o.point(t))
		fmt.Fprintf(&b, "%.7f %.7f\n", p.X, p.Y)
	}
	a, err = airfoil.Read(strings.NewReader(b.String()), ownName)
	return a, o.fromOwn(noseOwn), o.fromOwn(tailOwn), err
}

// blunt reports whether the outline is about as deep near the tail as in its middle: a post, an arm, or a person, but no
// wing.
func (o *ownCurve) blunt() bool {
	most := 0.0
	for i := range 10 {
		most = math.Max(most, o.thickness(float64(i)/10))
	}
	return o.thickness(bluntAt) > bluntShare*most
}

// thickness returns how deep the outline is at a share of its length.
func (o *ownCurve) thickness(x float64) float64 {
	t := math.Sqrt(x)
	return o.point(t).Y - o.point(-t).Y
}

// tailFirst reports whether the outline is blunter at its tail than at its nose: it lies the wrong way round.
func (o *ownCurve) tailFirst() bool {
	return o.thickness(1-bluntEnd) > o.thickness(bluntEnd)
}

// hollow reports whether the outline's mean line lies below its chord: it lies upside down.
func (o *ownCurve) hollow() bool {
	var sum float64
	tail := o.point(1).Y + o.point(-1).Y
	for i := 1; i < 20; i++ {
		x := float64(i) / 20
		t := math.Sqrt(x)
		sum += o.point(t).Y + o.point(-t).Y - x*tail - (1-x)*2*o.point(0).Y
	}
	return sum < 0
}

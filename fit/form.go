package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The form is the long-wave part of the departures. Wavelengths along the arc are parted by a penalised
// regression: cubic B-splines far closer than the waves, with a penalty on the fourth derivative (P-splines:
// Eilers & Marx, Stat. Sci. 11 (1996) 89), fitted once and then once more to what is left (twicing: Tukey,
// Exploratory Data Analysis, 1977). On a full grid a wave of length L passes to the form by
//
//	T(L) = 1 - (1 - P)², P(L) = 1 / (1 + (cut/L)^8)
//
// With a cut of 0.27 chords that is 0.998 at 0.4 chords, 0.91 at 0.3, a half at 0.242, 0.16 at 0.2 and 0.02
// at 0.15: a regression filter as in ISO 16610-31, with the 50 per cent point as ISO 16610-21 defines the
// cut-off but steeper than its Gaussian, which needs 2.7 times the cut-off to pass 0.9. Along the station the
// form is a low polynomial. Three features have shorter waves: the nose, where the curve itself is short; a
// step and kink at the hinge line, if they are more than noise; and a sag between the ribs that runs along
// the whole chord.
//
// All that holds from 0.4 chords of arc from the leading edge on. Nearer to it the penalty is eased, since a nose that is
// rounder or blunter than drawn is a short wave that must not pass for a spot: there the wave of which half passes is
// 0.2 chords at 0.22 chords from the leading edge, 0.15 at 0.12, 0.1 at 0.05 and about 0.055 at the edge itself,
// where the two shifts of the whole section help. ISO 16610-21 has one cut-off for a whole profile and the regression
// filter of ISO 16610-31 one too; the change of the cut-off along the arc is ours. So between the leading edge and a tenth
// of the chord only what is taken out as a region is kept out of the form; a dent there that is too shallow for one
// passes to the form and to the target.
//
// As in the robust filters of ISO 16610-31, what does not belong to the form must not pull at it. That
// standard weighs each point by its own residual; a low spot 150 mm wide would hold such a filter down
// together. So whole regions that stand out are taken out, and the fit is made again on what is left until
// the regions stand still; points are weighed by Tukey's biweight besides (c = 4.685). A spot that was taken
// out leaks into the form by less than a hundredth of its depth, one too shallow to be found by up to a
// quarter (200 mm wide on a panel of 300 mm).
const (
	formCut      = 0.27 // chords, where half of a wave passes to the form
	knotShare    = 0.2  // knots per cut
	levelCut     = 24.0 // mm: a weak penalty on the slope, felt only in gaps, which it crosses level
	biweight     = 4.685
	madScale     = 1.4826 // of a normal distribution: standard deviation over median absolute deviation
	lineSpan     = 80.0   // mm of span that a slope along the station needs
	quadSpan     = 0.4    // chords of span that a curvature along the station needs,
	cubicSpan    = 0.55   // a third
	quarticSpan  = 0.75   // and a fourth order
	mostOrders   = 5
	alongCut     = 1.6  // cuts
	alongSize    = 0.7  // mm: expected change of the form along one chord of station (common practice, no source)
	breakSize    = 3.0  // mm: a step at the hinge line is not expected larger
	shiftSize    = 3.0  // mm: nor a shift of the whole section
	noseCut      = 0.42 // of the cut that holds round the nose,
	noseCore     = 0.05 // up to so many chords from the leading edge, growing to the whole
	noseEase     = 0.30 // at so many
	gapReach     = 0.10 // chords over which the form can be guessed across a gap
	leastFormVar = 0.3  // mm, standard deviation of a form that shows none
)

// form is a fitted form.
//
// Where the loft was placed a little off, or the wing is not as straight as the loft, the skin departs by the
// shift times the normal's component along it. That changes as fast as the normal turns: at the nose within a
// radius, far faster than the spline bends, so that what is left of it would pass for a spot. So the form has
// the two components of the normal among its functions.
type form struct {
	basis     bspline
	orders    int     // 1 constant, 2 and slope, 3 and curvature along the station, up to mostOrders
	lo, hi    float64 // mm of station
	chord     float64
	hinge     [2]float64
	breaks    [2]bool // step and kink at the hinge line on the upper and the lower surface
	coef      []float64
	chol      *envelope // factor of the last normal equations
	room      *formRoom // see ownRoom
	cov       *mat.SymDense
	shared    float64 // how much more of the noise's variance is in it than of cells that share none
	gaps      gaps
	column    []strip               // across at each column of the panel ...
	tabulated [2]bool               // ... with these breaks
	rows      [][mostOrders]float64 // along at each row
	nose      float64               // mm of arc
	skin      *contour              // of the nominal
	shifted   bool                  // the section as a whole may be shifted
	turn      turn                  // of the aileron against where the loft has it
	laps      *laps                 // steps of the skin, which the fitted departures are without
	sags      bool                  // the skin sags between ribs along the whole chord
	ribs      bspline               // of the station, for the sag of each surface
	profiles  [2]profile            // of the sag along the chord
}

// mostEntries holds four functions of the spline, a break, two shifts and a turn, each of every order, and a sag.
const mostEntries = 9*mostOrders + 4

// entries are the few numbers that the form at one place depends on.
type entries struct {
	n     int
	index [mostEntries]int
	value [mostEntries]float64
}

func (e *entries) add(i int, v float64) {
	if v != 0 {
		e.index[e.n], e.value[e.n] = i, v
		e.n++
	}
}

// functions returns the number of functions of the arc: those of the spline, four breaks, two shifts
// and the aileron's turn.
func (f *form) functions() int { return f.shifts() + 3 }

// shifts returns the index of the first shift.
func (f *form) shifts() int { return f.basis.size() + 4 }

// size returns the number of coefficients: those of the functions of the arc for each order, and those of
// the two surfaces' sags.
func (f *form) size() int {
	n := f.functions() * f.orders
	if f.sags {
		n += 2 * f.ribs.size()
	}
	return n
}

// along returns the Legendre polynomials of the station over the span of the rows.
func (f *form) along(station float64) [mostOrders]float64 {
	t := 2*(station-f.lo)/(f.hi-f.lo) - 1
	q := t * t
	return [mostOrders]float64{1, t, (3*q - 1) / 2, t * (5*q - 3) / 2, ((35*q-30)*q + 3) / 8}
}

// strip holds the functions of the arc that are not nought at one: at most four of the spline, a step and a kink, two
// shifts and a turn.
type strip struct {
	n     int
	index [9]int
	value [9]float64
}

func (e *strip) add(i int, v float64) {
	if v != 0 {
		e.index[e.n], e.value[e.n] = i, v
		e.n++
	}
}

// across fills the functions of the arc: four of the spline, those of the breaks and those of the shifts.
func (f *form) across(arc float64) (e strip) {
	first, v := f.basis.at(arc)
	for i, b := range v {
		e.add(first+i, b)
	}
	n := f.basis.size()
	if f.breaks[0] && arc < f.hinge[0] {
		e.add(n, 1)
		e.add(n+1, (f.hinge[0]-arc)/f.hinge[0])
	}
	if f.breaks[1] && arc > f.hinge[1] {
		e.add(n+2, 1)
		e.add(n+3, (arc-f.hinge[1])/(f.basis.length-f.hinge[1]))
	}
	if f.shifted {
		_, normal := f.skin.at(arc / f.basis.length)
		e.add(n+4, normal.X)
		e.add(n+5, normal.Y)
	}
	e.add(n+6, f.turn.at(arc))
	return e
}

func (f *form) row(arc, station float64) (e entries) {
	a, s := f.across(arc), f.along(station)
	for i := range a.n {
		for k := range f.orders {
			e.add(a.index[i]*f.orders+k, a.value[i]*s[k])
		}
	}
	if f.sags {
		f.addSag(&e, arc, station)
	}
	return e
}

// at returns the form's departure at an arc and a station, mm.
func (f *form) at(arc, station float64) float64 {
	a, s := f.across(arc), f.along(station)
	return f.atStrip(&a, &s, arc, station)
}

// atStrip is at for known functions of the arc and the station.
func (f *form) atStrip(a *strip, s *[mostOrders]float64, arc, station float64) (sum float64) {
	if f.laps != nil {
		sum = f.laps.stands(arc, station)
	}
	for i, v := range a.value[:a.n] {
		for k, c := range f.coef[a.index[i]*f.orders:][:f.orders] {
			sum += v * s[k] * c
		}
	}
	if f.sags {
		var e entries
		f.addSag(&e, arc, station)
		for i := range e.n {
			sum += e.value[i] * f.coef[e.index[i]]
		}
	}
	return sum
}

// strips returns the functions of the arc at the points that outlines of a contour are drawn through, whose arc in all is
// the given length.
func (f *form) strips(c *contour, length float64) []strip {
	out := make([]strip, 0, outlinePoints)
	for _, p := range c.drawn() {
		out = append(out, f.across(p.share*length))
	}
	return out
}

// u returns the form's standard uncertainty at an arc and a station, mm.
func (f *form) u(arc, station float64) float64 {
	e := f.row(arc, station)
	return f.uOf(&e, arc, station)
}

func (f *form) uOf(e *entries, arc, station float64) float64 {
	return math.Sqrt(f.variance(e) + square(f.gaps.u(arc)) + square(f.untold(station)))
}

// untold returns the standard uncertainty from the orders along the station that the span was too short
// for: a slope or curvature of the expected size.
func (f *form) untold(station float64) float64 {
	t := (station - (f.lo+f.hi)/2) / f.chord
	switch f.orders {
	case 1:
		return alongSize / 2 * math.Abs(t)
	case 2:
		return alongSize / 4 * math.Abs(t*t-square((f.hi-f.lo)/f.chord)/12)
	}
	return 0
}

func (f *form) variance(e *entries) (sum float64) {
	n, data := f.cov.SymmetricDim(), f.cov.RawSymmetric().Data // its upper half
	for i, a := range e.index[:e.n] {
		for j, b := range e.index[:e.n] {
			sum += e.value[i] * e.value[j] * data[min(a, b)*n+max(a, b)]
		}
	}
	return math.Max(sum, 0)
}

// uMean returns the standard uncertainty of the form's mean over places with weights that add up to 1.
func (f *form) uMean(arcs, stations, weights []float64) float64 {
	sum := make([]float64, len(f.coef))
	gap := 0.0
	for k := range arcs {
		e := f.row(arcs[k], stations[k])
		for i := range e.n {
			sum[e.index[i]] += weights[k] * e.value[i]
		}
		gap += weights[k] * f.gaps.u(arcs[k])
	}
	v := mat.NewVecDense(len(sum), sum)
	return math.Hypot(math.Sqrt(math.Max(mat.Inner(v, f.cov, v), 0)), gap)
}

func newForm(p *panel, cut float64) *form {
	f := &form{lo: 0, hi: p.span(), chord: p.chord, hinge: p.hinge, nose: p.nose, skin: p.contour, shifted: true, turn: newTurn(p), laps: p.laps}
	f.ribs = bspline{p.span(), max(int(p.span()/ribKnots+0.5), 3)}
	f.basis = bspline{p.length, max(int(p.length/(knotShare*cut)+0.5), 6)}
	span := p.span() - (p.station[0] - p.height[0]/2)
	switch {
	case span >= quarticSpan*p.chord && p.rows() >= 12:
		f.orders = 5
	case span >= cubicSpan*p.chord && p.rows() >= 10:
		f.orders = 4
	case span >= quadSpan*p.chord && p.rows() >= 8:
		f.orders = 3
	case span >= lineSpan && p.rows() >= 4:
		f.orders = 2
	default:
		f.orders = 1
	}
	return f
}

// gaps tells how far each column is from skin that bears on the form.
type gaps struct {
	arc      []float64
	distance []float64 // mm along the arc
	reach    []float64 // mm, how far the form can be guessed there
	size     float64   // mm, standard deviation of the form about its mean
}

// u returns the standard uncertainty of a guess across a gap.
func (g *gaps) u(arc float64) float64 {
	if g.size == 0 {
		return 0
	}
	n := len(g.arc)
	j := min(max(int(arc/(g.arc[n-1]+g.arc[0])*float64(n)), 0), n-1)
	d := g.distance[j] / g.reach[j]
	return g.size * (1 - math.Exp(-d*d/2))
}

// measureGaps notes where the form was guessed. A column counts if a fifth of its rows bear weight.
func (f *form) measureGaps(p *panel, weights []float64) {
	n := p.columns()
	f.gaps = gaps{arc: p.arc, distance: make([]float64, n), reach: make([]float64, n)}
	good := make([]bool, n)
	var sum, sum2, count float64
	for j, arc := range p.arc {
		f.gaps.reach[j] = gapReach * p.chord * f.cutShare(arc) // shorter waves run away sooner
		seen := 0
		for i := range p.station {
			if weights[i*n+j] > 0 {
				seen++
			}
		}
		good[j] = seen > 0 && 5*seen >= p.rows()
		if good[j] {
			v := f.atStrip(&f.column[j], &f.rows[0], arc, p.station[0])
			sum, sum2, count = sum+v, sum2+v*v, count+1
		}
	}
	if count > 0 {
		sum /= count
		f.gaps.size = math.Max(math.Sqrt(math.Max(sum2/count-sum*sum, 0)), leastFormVar)
	}
	distances(f.gaps.distance, good, p.dArc)
}

// distances fills d with how far each place is from the nearest good one.
func distances(d []float64, good []bool, step float64) {
	far := math.Inf(1)
	for j := range d {
		far += step
		if good[j] {
			far = 0
		}
		d[j] = far
	}
	far = math.Inf(1)
	for j := len(d) - 1; j >= 0; j-- {
		far += step
		if good[j] {
			far = 0
		}
		d[j] = math.Min(d[j], far)
	}
}

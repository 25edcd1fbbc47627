package fit

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Skins sag between ribs: a wave along the station, far shorter than the low polynomials of the form, that
// runs along the whole chord of a surface. It belongs to the form, since it stays, and if it were left out
// every bay between two ribs would be one low spot. Near the nose the skin is stiff and holds its shape.
const (
	ribKnots = 30.0 // mm of station between the knots of a sag
	ribCut   = 60.0 // mm, wave along the station of which half passes to a sag (penalty on the second derivative)
	ribSize  = 3.0  // mm: a sag is not expected larger
	ribFade  = 0.1  // chords of arc from the leading edge over which a sag grows to its full depth
	ribEase  = 0.1  // of the penalty counts near the ends: the tip rib, where a sag is sharpest bent, is one
	ribLeast = 0.12 // mm: smaller sags are left to the detection limit
	ribSigma = 6.0  // standard errors of a row's mean that make a sag
)

// addSag adds the functions of the sag at a place.
func (f *form) addSag(e *entries, arc, station float64) {
	fade := f.fade(arc)
	first, v := f.ribs.at(station)
	base := f.functions()*f.orders + first
	if arc > f.nose {
		base += f.ribs.size()
	}
	for i, b := range v {
		e.add(base+i, fade*b)
	}
}

// fade returns how much of a sag there is at an arc.
func (f *form) fade(arc float64) float64 {
	t := math.Min(math.Abs(arc-f.nose)/(ribFade*f.chord), 1)
	return t * t * (3 - 2*t)
}

// sag returns the sag's departure at an arc and a station, mm.
func (f *form) sag(arc, station float64) (sum float64) {
	if !f.sags {
		return 0
	}
	var e entries
	f.addSag(&e, arc, station)
	for i := range e.n {
		sum += e.value[i] * f.coef[e.index[i]]
	}
	return sum
}

// sagDepth returns how much the sag at an arc varies over the panel, mm, its slope along the station apart:
// that is shared with the rest of the form.
func (f *form) sagDepth(arc float64) float64 {
	const steps = 200
	var sy, sxy, sxx float64
	for i := range steps + 1 {
		x := float64(i)/steps - 0.5
		v := f.sag(arc, f.lo+(x+0.5)*(f.hi-f.lo))
		sy, sxy, sxx = sy+v, sxy+x*v, sxx+x*x
	}
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range steps + 1 {
		x := float64(i)/steps - 0.5
		v := f.sag(arc, f.lo+(x+0.5)*(f.hi-f.lo)) - sy/(steps+1) - x*sxy/sxx
		lo, hi = math.Min(lo, v), math.Max(hi, v)
	}
	return hi - lo
}

// gatherSags adds to the normal equations what the sags have in them, cell by cell.
func (f *form) gatherSags(p *panel, weights []float64, lhs *mat.SymDense, rhs *mat.VecDense) {
	from := f.functions() * f.orders
	for i, st := range p.station {
		for j, arc := range p.arc {
			k := i*p.columns() + j
			if weights[k] == 0 {
				continue
			}
			e := f.row(arc, st)
			for b := range e.n {
				if e.index[b] < from {
					continue
				}
				wb := weights[k] * e.value[b]
				rhs.SetVec(e.index[b], rhs.AtVec(e.index[b])+wb*p.y[k])
				for a := range e.n {
					if e.index[a] <= e.index[b] {
						lhs.SetSym(e.index[a], e.index[b], lhs.At(e.index[a], e.index[b])+wb*e.value[a])
					}
				}
			}
		}
	}
}

func (f *form) penaliseSags(p *panel, usual []float64, lhs *mat.SymDense) {
	var density [2]float64 // weight per mm of station on the upper and the lower surface
	for k, w := range usual {
		arc := p.arc[k%p.columns()]
		side := 0
		if arc > f.nose {
			side = 1
		}
		density[side] += w * square(f.fade(arc)) / p.span()
	}
	ease := func(station float64) float64 {
		if math.Min(station, p.span()-station) < 2.5*f.ribs.spacing() {
			return ribEase
		}
		return 1
	}
	for side, d := range density {
		from := f.functions()*f.orders + side*f.ribs.size()
		add := func(i, j int, v float64) { lhs.SetSym(from+i, from+j, lhs.At(from+i, from+j)+v) }
		f.ribs.roughness(2, ease, func(i, j int, v float64) { add(i, j, d*math.Pow(ribCut/(2*math.Pi), 4)*v) })
		for i := range f.ribs.size() {
			add(i, i, 1/(ribSize*ribSize))
		}
	}
}

// findSags looks whether whole rows of a surface stand off together; it reports whether any do, and then
// allows the form its sags.
func (out *parted) findSags(p *panel) bool {
	f := out.form
	nc := p.columns()
	for side := range 2 {
		for i := range p.rows() {
			var v, se []float64
			for j, arc := range p.arc {
				if k := i*nc + j; p.w[k] > 0 && (arc > f.nose) == (side == 1) && f.fade(arc) == 1 {
					v, se = append(v, out.residual[k]), append(se, p.se[k])
				}
			}
			if len(v) < nc/8 {
				continue
			}
			m := median(v)
			for k := range v {
				v[k] = math.Abs(v[k] - m)
			}
			// Neighbours are not independent, and spots widen the spread: both go into the row's own spread.
			const together = 10 // columns that err as one
			u := math.Max(madScale*median(v), median(se)) * math.Sqrt(together/float64(len(v)))
			if math.Abs(m) > math.Max(ribLeast, ribSigma*u) {
				f.sags = true
				return true
			}
		}
	}
	return false
}

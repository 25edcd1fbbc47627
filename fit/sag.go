package fit

import "math"

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
	base := f.ribBase(arc) + first
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

// ribRow holds the functions of a sag at one row: the number of the first, and the values of the four that are
// not zero.
type ribRow struct {
	first int
	value [4]float64
}

func (f *form) ribRows(p *panel) []ribRow {
	out := make([]ribRow, p.rows())
	for i, st := range p.station {
		out[i].first, out[i].value = f.ribs.at(st)
	}
	return out
}

// ribBase returns the index of the first coefficient of the sag at an arc.
func (f *form) ribBase(arc float64) int {
	return f.functions()*f.orders + f.side(arc)*f.ribs.size()
}

// side returns 0 for the upper surface and 1 for the lower.
func (f *form) side(arc float64) int {
	if arc > f.nose {
		return 1
	}
	return 0
}

// sagRows returns the full depth of the sags of the upper and the lower surface at each row; nil without any.
func (f *form) sagRows(p *panel) [][2]float64 {
	if !f.sags {
		return nil
	}
	out := make([][2]float64, p.rows())
	for i, r := range f.ribRows(p) {
		for side := range 2 {
			c := f.coef[f.functions()*f.orders+side*f.ribs.size()+r.first:]
			for a, v := range r.value {
				out[i][side] += v * c[a]
			}
		}
	}
	return out
}

// gatherSags adds to the normal equations what the sags have in them, column by column.
func (f *form) gatherSags(p *panel, weights []float64, lhs *envelope, rhs []float64) {
	nc, n := p.columns(), f.ribs.size()
	rows := f.ribRows(p)
	for j, arc := range p.arc {
		fade, base := f.fade(arc), f.ribBase(arc)
		cross := make([][mostOrders]float64, n) // of each function of the sag with each polynomial
		for i := range rows {
			k, r := i*nc+j, &rows[i]
			w := weights[k] * fade
			if w == 0 {
				continue
			}
			for a, va := range r.value {
				row := base + r.first + a
				rhs[row] += w * va * p.y[k]
				for b := range a + 1 {
					lhs.row[row][base+r.first+b] += w * fade * va * r.value[b]
				}
				for o := range f.orders {
					cross[r.first+a][o] += w * va * f.rows[i][o]
				}
			}
		}
		e := &f.column[j]
		for a := range cross {
			for u := range e.n {
				for o := range f.orders {
					lhs.row[base+a][e.index[u]*f.orders+o] += e.value[u] * cross[a][o]
				}
			}
		}
	}
}

func (f *form) penaliseSags(p *panel, usual []float64, lhs *envelope) {
	var density [2]float64 // weight per mm of station on the upper and the lower surface
	for k, w := range usual {
		arc := p.arc[k%p.columns()]
		density[f.side(arc)] += w * square(f.fade(arc)) / p.span()
	}
	ease := func(station float64) float64 {
		if math.Min(station, p.span()-station) < 2.5*f.ribs.spacing() {
			return ribEase
		}
		return 1
	}
	for side, d := range density {
		from := f.functions()*f.orders + side*f.ribs.size()
		add := func(i, j int, v float64) { lhs.add(from+i, from+j, v) }
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
				if k := i*nc + j; p.w[k] > 0 && f.side(arc) == side && f.fade(arc) == 1 {
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

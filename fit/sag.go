package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Skins sag between ribs: a wave along the station, far shorter than the low polynomials of the form, that
// runs along the whole chord of a surface. It belongs to the form, since it stays, and if it were left out
// every bay between two ribs would be one low spot. Near the nose the skin is stiff and holds its shape.
const (
	ribKnots   = 30.0 // mm of station between the knots of a sag
	ribCut     = 60.0 // mm, wave along the station of which half passes to a sag (penalty on the second derivative)
	ribSize    = 3.0  // mm: a sag is not expected larger
	ribFade    = 0.1  // chords of arc from the leading edge over which a sag grows to its full depth
	ribEase    = 0.1  // of the penalty counts near the ends: the tip rib, where a sag is sharpest bent, is one
	ribLeast   = 0.04 // mm, half the depth of a sag: smaller ones are left to the detection limit
	ribTaken   = 0.4  // of a surface: when regions take up more of it ...
	ribRegions = 4    // ... and are so many, they count for a sag
	ribSigma   = 8.0  // standard errors of a wave that make a sag

	ribStretch              = 100.0       // mm of arc that are looked at together for a sag
	ribFewest               = 6           // such stretches that may tell one
	ribShortest, ribLongest = 90.0, 700.0 // mm between ribs that are looked for,
	ribStep                 = 1.15        // each so many times the one before
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
	return t * t * (3 - 2*t) * f.profiles[f.side(arc)].at(arc)
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

// alongRange returns the least and the most of a departure at an arc over the panel and what it is at the tip rib, mm, its
// mean and its slope along the station apart: a sag shares these with the rest of the form.
func (f *form) alongRange(of func(arc, station float64) float64, arc float64) (lo, hi, tip float64) {
	const steps = 200
	var sy, sxy, sxx float64
	v := make([]float64, steps+1)
	for i := range v {
		x := float64(i)/steps - 0.5
		v[i] = of(arc, f.lo+(x+0.5)*(f.hi-f.lo))
		sy, sxy, sxx = sy+v[i], sxy+x*v[i], sxx+x*x
	}
	for i := range v {
		v[i] -= sy/(steps+1) + (float64(i)/steps-0.5)*sxy/sxx
	}
	return slices.Min(v), slices.Max(v), v[0]
}

// sagDepth returns how much the sag varies over the panel where it is deepest, mm.
func (f *form) sagDepth() (most float64) {
	for share := range 10 {
		for _, end := range [...]float64{0, f.basis.length} {
			lo, hi, _ := f.alongRange(f.sag, f.nose+(end-f.nose)*float64(share)/10)
			most = math.Max(most, hi-lo)
		}
	}
	return most
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

func (f *form) penaliseSags(p *panel, lhs *envelope) {
	var density [2]float64 // weight per mm of station on the upper and the lower surface
	for k, w := range p.w {
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

// findSags looks whether stretches of a surface's skin wave along the station together, as they do where it sags between
// ribs; it reports whether they do, and then allows the form its sags. A spot waves one stretch alone, and noise that
// neighbours share waves each stretch in another way.
func (out *parted) findSags(p *panel) bool {
	var each [2][]stretch
	for side := range each {
		share, regions := out.takenUp(p, side)
		each[side] = out.stretches(p, side, share > ribTaken && regions >= ribRegions)
	}
	for length := ribShortest; length < math.Min(ribLongest, p.span()); length *= ribStep {
		wave := p.waveOf(length)
		upper, lower := alongWaves(each[0], p, wave), alongWaves(each[1], p, wave)
		if together(upper) || together(lower) || together(slices.Concat(upper, lower)) {
			out.form.sags = true
			return true
		}
	}
	return out.findProfiles(p)
}

// stretch is a part of a surface some way along the arc: where it lies, its mean residual in each row, mm, and the weights of
// the means.
type stretch struct {
	arc          float64
	mean, weight []float64
}

// stretches parts a surface, the stiff nose left out, and leaves out what regions take up, unless they take up so much of
// it that they may be the wave's own crests and hollows: then it takes the whole.
func (out *parted) stretches(p *panel, side int, whole bool) (all []stretch) {
	nc := p.columns()
	at := -1
	for j, arc := range p.arc {
		if out.form.side(arc) != side || out.form.fade(arc) < 1 {
			continue
		}
		if n := int(arc / ribStretch); n != at {
			at = n
			all = append(all, stretch{(float64(n) + 0.5) * ribStretch, make([]float64, p.rows()), make([]float64, p.rows())})
		}
		s := &all[len(all)-1]
		for i := range p.rows() {
			if k := i*nc + j; p.w[k] > 0 && (whole || out.found.owner[k] == 0) {
				s.mean[i] += p.w[k] * out.residual[k]
				s.weight[i] += p.w[k]
			}
		}
	}
	for _, s := range all {
		for i, w := range s.weight {
			s.mean[i] /= math.Max(w, math.SmallestNonzeroFloat64)
		}
	}
	return all
}

// takenUp returns the share of a surface that regions take up, and how many they are.
func (out *parted) takenUp(p *panel, side int) (share float64, regions int) {
	seen, taken := 0.0, 0.0
	for k, w := range p.w {
		if w > 0 && out.form.side(p.arc[k%p.columns()]) == side {
			seen++
			if out.found.owner[k] > 0 {
				taken++
			}
		}
	}
	for i := range out.found.regions {
		if out.form.side(p.arc[out.found.regions[i].cells[0]%p.columns()]) == side {
			regions++
		}
	}
	return taken / math.Max(seen, 1), regions
}

// alongWaves fits a wave along the station, of which waveOf tells, to each stretch that was seen in most rows; real and
// imaginary part are what goes with cosine and sine, mm.
func alongWaves(all []stretch, p *panel, wave [][2]float64) (out []complex128) {
	for _, s := range all {
		normal, rhs := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		n, r := normal.RawSymmetric().Data, rhs.RawVector().Data
		seen := 0
		for i, w := range s.weight {
			if w == 0 {
				continue
			}
			seen++
			cos, sin := wave[i][0], wave[i][1]
			n[0] += w
			n[1] += cos * w
			n[2] += sin * w
			n[4] += cos * (cos * w)
			n[5] += sin * (cos * w)
			n[8] += sin * (sin * w)
			y := w * s.mean[i]
			r[0] += y
			r[1] += y * cos
			r[2] += y * sin
		}
		var x mat.VecDense
		if seen > p.rows()*2/3 && x.SolveVec(normal, rhs) == nil {
			out = append(out, complex(x.AtVec(1), x.AtVec(2)))
		}
	}
	return out
}

// waveOf returns cosine and sine of a wave of a length at each row.
func (p *panel) waveOf(length float64) [][2]float64 {
	out := make([][2]float64, p.rows())
	for i, st := range p.station {
		sin, cos := math.Sincos(2 * math.Pi * st / length)
		out[i] = [2]float64{cos, sin}
	}
	return out
}

// together reports whether waves are surely the same.
func together(waves []complex128) bool {
	if len(waves) < ribFewest {
		return false
	}
	var middle, spread [2]float64
	for i, part := range []func(complex128) float64{func(c complex128) float64 { return real(c) }, func(c complex128) float64 { return imag(c) }} {
		v := make([]float64, len(waves))
		for k, c := range waves {
			v[k] = part(c)
		}
		middle[i] = median(v)
		for k := range v {
			v[k] = math.Abs(v[k] - middle[i])
		}
		spread[i] = madScale * median(v)
	}
	size := math.Hypot(middle[0], middle[1])
	u := math.Max(spread[0], spread[1]) * math.Sqrt(math.Pi/2/float64(len(waves)))
	return size > math.Max(ribLeast, ribSigma*u)
}

package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// The polish. A plain least-squares fit takes the form of the wing for a change of pose: a wave along the
// aileron turns the aileron, a fuller nose makes a longer chord. So the loft's parameters are settled a
// second time, on the map of departures, together with a smooth form: cosine waves along the arc, longer
// than 0.3 chords, each with an expectation of its size. What is smooth goes to the form; what no smooth
// form can make, such as the bend at the hinge line, goes to the parameters. The covariance of both
// together then says how far the form leaves a parameter in doubt.

const (
	formWaves     = 14     // cosine waves along the arc; the shortest is 2·(2.05 chords)/14 long
	formSize      = 0.0006 // chords: expected size of the longest waves (0.7 mm at 1200 mm; common practice, no source)
	formKnee      = 4      // waves from here on are expected smaller, as the inverse square of their number
	formAlong     = 0.35   // expected change of a wave over the panel's span, as a share of its size
	formCount     = 2*(formWaves+1) + tailRamps
	tailRamps     = 4     // a tail built thicker than drawn: both skins stand off by a ramp from 60, 70, 80 or 90 % on
	rampSize      = 0.002 // chords, at the tail (2.4 mm at 1200 mm; common practice, no source)
	oneVoice      = 16    // cells that err together, until the scan has told: what the loft cannot follow is the same for whole neighbourhoods
	leastSE       = 0.03  // mm: an exact mesh is no closer to the loft than the loft is to a wing
	huberTurns    = 5
	polishTurns   = 5
	settledMisfit = 0.003 // mm: a turn that moves no misfit by more changes nothing
	huber         = 1.345 // cut-off of Huber's weights in standard deviations (95 % efficiency)
)

// polished is the outcome of the polish: the standard uncertainty of each parameter, and the size of the form, mm, 0
// where nothing tells it.
type polished struct {
	u      [parameters]float64
	form   float64
	growth float64 // 1/mm, by which share of it the form changes along the span; the usual one at least, as a nose may change by itself
	hinge  float64 // mm, standard uncertainty of the height of the hinge's axis
}

// polish settles the free parameters on the map; tails pin the chord and its taper. Deflection, chord and
// taper come from the joint fit. Where the loft lies (pitch, shifts, twist) is then settled by bringing it as
// close to the skin as it will go, without the form, so that a departure is never larger than it need be; how far
// aft it lies is the mean of what both say. drawn tells that the loft is the drawing's and not the scan's own outline,
// which hides the form at the tip.
func (f *fitter) polish(m *Map, s step, tails []tailBand, drawn bool) polished {
	rows := f.polishTable(m, s)
	index := freeIndex(s.free)
	k := rows.own
	together, ok := f.withForm(rows, index, s, tails, drawn)
	if !ok {
		return polished{}
	}
	var change [parameters]float64
	p := polished{form: together.size * f.Chord, growth: 2 * math.Max(together.along, formAlong) / f.Chord}
	higher := 0.0 // mm, the hinge's axis than before
	if h := len(index); k > h {
		higher, p.hinge = f.likelyHinge(together.x[h], together.cov.At(h, h))
		together.settle(h, higher)
		rows.settle(h, higher)
	}
	lie := []int{k} // unknowns of the second fit: the constant offset, and what places the loft
	for i, par := range index {
		p.u[par] = math.Sqrt(together.cov.At(i, i))
		switch par {
		case deflectPar, chordPar, taperPar:
			change[par] = together.x[i]
			rows.settle(i, together.x[i])
		default:
			lie = append(lie, i)
		}
	}
	for i := range tailRamps {
		lie = append(lie, k+2*(formWaves+1)+i)
	}
	alone, ok := f.withoutForm(rows, lie)
	if ok {
		aft := slices.IndexFunc(lie, func(unknown int) bool { return unknown < len(index) && index[unknown] == xPar })
		x := alone.given(aft, (alone.x.AtVec(aft)+together.x[lie[aft]])/2)
		for i, unknown := range lie {
			if unknown >= len(index) {
				continue
			}
			switch par := index[unknown]; par {
			case pitchPar, xPar, zPar:
				change[par] = x[i]
			default: // along the span the place aft tells nothing
				change[par] = alone.x.AtVec(i)
			}
		}
	}
	f.HingeZ += higher / f.Chord
	f.apply(change)
	return p
}

// withForm settles all parameters together with the form.
func (f *fitter) withForm(rows *polishTable, index []int, s step, tails []tailBand, drawn bool) (formed, bool) {
	first := rows.own
	n := first + formCount
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	sizes := func(size, along float64) []float64 {
		waves := waveSizes(size*f.Chord, along*(s.hi-s.lo)/f.Chord)
		waves[0] = formSize * f.Chord // a constant offset is the laminate's and tells nothing of the waves
		return waves
	}
	bareLHS, bareRHS := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	f.polishPriors(bareLHS, bareRHS, index, s, tails)
	usual := mat.NewSymDense(n, nil)
	usual.CopySym(bareLHS)
	for i, v := range sizes(formSize, formAlong) {
		usual.SetSym(first+i, first+i, usual.At(first+i, first+i)+1/square(v))
	}
	fit, ok := robust(rows, all, usual, bareRHS)
	if !ok {
		return formed{}, false
	}
	if drawn {
		surer := oneVoice / rows.voice(fit.misfits, fit.weight, n)
		fit.data.ScaleSym(surer, fit.data)
		bareLHS.AddSym(bareLHS, fit.data)
		bareRHS.AddScaledVec(bareRHS, surer, fit.right)
		if out, ok := weighSizes(bareLHS, bareRHS, first, sizes); ok {
			return out, true
		}
	}
	return formed{x: fit.x.RawVector().Data, cov: fit.inverse}, true
}

// withoutForm settles the given unknowns on the skin as it is.
func (f *fitter) withoutForm(rows *polishTable, asked []int) (robustFit, bool) {
	few := len(asked)
	lhs, rhs := mat.NewSymDense(few, nil), mat.NewVecDense(few, nil)
	for i := range few {
		lhs.SetSym(i, i, 1e-12)
	}
	return robust(rows, asked, lhs, rhs)
}

// robustFit is a fit of some unknowns to the rows: the solution and the inverse of the equations' matrix, what the data
// alone add to them, and what is left of each row with the weight that this was given last.
type robustFit struct {
	x             *mat.VecDense
	inverse, data *mat.SymDense
	right         *mat.VecDense
	misfits       []float64
	weight        func(misfit float64) float64
}

// given returns the solution where unknown i is known to have a value.
func (r *robustFit) given(i int, value float64) []float64 {
	off := value - r.x.AtVec(i)
	out := make([]float64, r.x.Len())
	for j := range out {
		out[j] = r.x.AtVec(j) + off*r.inverse.At(i, j)/r.inverse.At(i, i)
	}
	return out
}

// robust solves for the unknowns of the rows that are asked for by iterated least squares, starting from the prior's normal
// equations, which it does not change. Huber's weights come first: they have one optimum, to which a board that
// lies against the skin cannot pull the form; Tukey's biweight, which needs a start near the answer, then drops
// what is not skin altogether (the order of an MM-estimate: Yohai, Annals of Statistics 15 (1987) 642, from
// memory).
func robust(rows *polishTable, asked []int, priorLHS *mat.SymDense, priorRHS *mat.VecDense) (fit robustFit, ok bool) {
	n, u := len(asked), rows.unknowns(asked)
	misfits, abs := make([]float64, rows.count), make([]float64, rows.count)
	fit.misfits = misfits
	weight := func(float64) float64 { return 1 }
	gentle, left := true, huberTurns
	var by *factors
	for ; left > 0; left-- {
		fit.data, fit.right, fit.weight = mat.NewSymDense(n, nil), mat.NewVecDense(n, nil), weight
		rows.add(u, misfits, weight, fit.data, fit.right)
		lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		lhs.AddSym(fit.data, priorLHS)
		rhs.AddVec(fit.right, priorRHS)
		if fit.x, by, ok = solve(lhs, rhs); !ok {
			return fit, false
		}
		moved := rows.misfits(u, misfits, fit.x.RawVector().Data)
		for i, e := range misfits {
			abs[i] = math.Abs(e)
		}
		scale := math.Max(madScale*median(abs), 1e-4)
		switch settled := moved < settledMisfit; {
		case gentle && (settled || left == 1):
			gentle, left = false, polishTurns+1
		case settled:
			left = 1
		}
		if gentle {
			weight = func(e float64) float64 { return min(1, huber*scale/math.Abs(e)) }
			continue
		}
		weight = func(e float64) float64 {
			t := e / (biweight * scale)
			t = max(1-t*t, 0)
			return t * t
		}
	}
	fit.inverse, ok = by.inverse()
	return fit, ok
}

func freeIndex(free [parameters]bool) (index []int) {
	for a, ok := range free {
		if ok && a != offsetPar { // the form's first wave is the offset
			index = append(index, a)
		}
	}
	return index
}

// mean returns the weighted mean departure and station of the cells of one column in the rows from first on and before
// end, as far as they lie between stations lo and hi, and its standard error, 0 where none was seen.
func (m *Map) mean(first, end, column int, lo, hi float64) (departure, station, se float64) {
	var sum float64
	for i := first; i < end; i++ {
		c := m.At(i, column)
		if c.N == 0 || m.Station[i] < lo || m.Station[i] > hi {
			continue
		}
		own := math.Max(c.SE, leastSE)
		w := 1 / (own * own)
		sum, departure, station = sum+w, departure+w*c.Departure, station+w*m.Station[i]
	}
	if sum == 0 {
		return 0, 0, 0
	}
	return departure / sum, station / sum, 1 / math.Sqrt(sum)
}

// polishPriors adds what is expected before looking, but for the form's waves: the priors of the step, the tail, and its
// ramps.
func (f *fitter) polishPriors(lhs *mat.SymDense, rhs *mat.VecDense, index []int, s step, tails []tailBand) {
	now, own := f.values(), ownColumns(s)
	if own > len(index) {
		f.hingePriors(lhs, rhs, len(index))
	}
	for i, a := range index {
		if p := s.prior[a]; p > 0 && a >= chordPar {
			lhs.SetSym(i, i, lhs.At(i, i)+1/(p*p))
			rhs.SetVec(i, rhs.AtVec(i)-(now[a]-s.mean[a])/(p*p))
		}
	}
	for _, t := range tails {
		chord := f.ChordAt(t.station)
		w := 1 / (t.u * t.u * chord * chord)
		slope := [parameters]float64{chordPar: 1, taperPar: t.station}
		for i, a := range index {
			rhs.SetVec(i, rhs.AtVec(i)+w*slope[a]*(t.at-1)*chord)
			for j := i; j < len(index); j++ {
				lhs.SetSym(i, j, lhs.At(i, j)+w*slope[a]*slope[index[j]])
			}
		}
	}
	for k := range tailRamps {
		a, size := own+2*(formWaves+1)+k, rampSize*f.Chord
		lhs.SetSym(a, a, lhs.At(a, a)+1/(size*size))
	}
}

// waveSizes returns the expected sizes of the form's waves and of their changes from one end of the panel to its middle,
// in turn, mm: of a form whose longest waves are size large and change by a share along.
func waveSizes(size, along float64) (out []float64) {
	for k := range formWaves + 1 {
		wave := size
		if k > formKnee {
			wave *= float64(formKnee*formKnee) / float64(k*k)
		}
		out = append(out, wave, wave*along)
	}
	return out
}

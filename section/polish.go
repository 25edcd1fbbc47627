package section

import (
	"math"

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
	oneVoice      = 16    // cells that err together: what the loft cannot follow is the same for whole neighbourhoods
	leastSE       = 0.03  // mm: an exact mesh is no closer to the loft than the loft is to a wing
	huberTurns    = 5
	polishTurns   = 5
	settledMisfit = 0.003 // mm: a turn that moves no misfit by more changes nothing
	huber         = 1.345 // cut-off of Huber's weights in standard deviations (95 % efficiency)
)

// polished is the outcome of the polish: the standard uncertainty of each parameter.
type polished struct {
	u [parameters]float64
}

// polish settles the free parameters on the map; tails pin the chord and its taper. Deflection, chord and
// taper come from the joint fit. Where the loft lies (pitch, shifts, twist) is then settled by bringing it as
// close to the skin as it will go, without the form, so that a departure is never larger than it need be.
func (f *fitter) polish(m *Map, s step, tails []tailBand) polished {
	rows := f.polishTable(m, s)
	index := freeIndex(s.free)
	k := len(index)
	all := make([]int, k+formCount)
	for i := range all {
		all[i] = i
	}
	lhs, rhs := mat.NewSymDense(len(all), nil), mat.NewVecDense(len(all), nil)
	f.polishPriors(lhs, rhs, index, s, tails)
	x, inv, ok := robust(rows, all, lhs, rhs)
	if !ok {
		return polished{}
	}
	var change [parameters]float64
	var p polished
	lie := []int{k} // columns of the second fit: the constant offset, and what places the loft
	for i, par := range index {
		p.u[par] = math.Sqrt(inv.At(i, i))
		switch par {
		case deflectPar, chordPar, taperPar:
			change[par] = x.AtVec(i)
			rows.settle(i, x.AtVec(i))
		default:
			lie = append(lie, i)
		}
	}
	for i := range tailRamps {
		lie = append(lie, k+2*(formWaves+1)+i)
	}
	few := len(lie)
	lhs, rhs = mat.NewSymDense(few, nil), mat.NewVecDense(few, nil)
	for i := range few {
		lhs.SetSym(i, i, 1e-12)
	}
	if x, _, ok = robust(rows, lie, lhs, rhs); ok {
		for i, column := range lie {
			if column < k {
				change[index[column]] = x.AtVec(i)
			}
		}
	}
	f.apply(change)
	return p
}

// robust solves for the unknowns of the rows that are asked for by iterated least squares, starting from the prior's normal
// equations, which it does not change. Huber's weights come first: they have one optimum, to which a board that
// lies against the skin cannot pull the form; Tukey's biweight, which needs a start near the answer, then drops
// what is not skin altogether (the order of an MM-estimate: Yohai, Annals of Statistics 15 (1987) 642, from
// memory).
func robust(rows *polishTable, asked []int, priorLHS *mat.SymDense, priorRHS *mat.VecDense) (x *mat.VecDense, inv *mat.SymDense, ok bool) {
	n, u := len(asked), rows.unknowns(asked)
	misfits, abs := make([]float64, rows.count), make([]float64, rows.count)
	weight := func(float64) float64 { return 1 }
	gentle, left := true, huberTurns
	for ; left > 0; left-- {
		lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		lhs.CopySym(priorLHS)
		rhs.CopyVec(priorRHS)
		rows.add(u, misfits, weight, lhs, rhs)
		if x, inv, ok = solve(lhs, rhs); !ok {
			return nil, nil, false
		}
		moved := rows.misfits(u, misfits, x.RawVector().Data)
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
			weight = func(e float64) float64 { return math.Min(1, huber*scale/math.Abs(e)) }
			continue
		}
		weight = func(e float64) float64 {
			t := e / (biweight * scale)
			t = math.Max(1-t*t, 0)
			return t * t
		}
	}
	return x, inv, true
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

// polishPriors adds what is expected before looking: small waves, the priors of the step, and the tail.
func (f *fitter) polishPriors(lhs *mat.SymDense, rhs *mat.VecDense, index []int, s step, tails []tailBand) {
	now := f.values()
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
		a, size := len(index)+2*(formWaves+1)+k, rampSize*f.Chord
		lhs.SetSym(a, a, lhs.At(a, a)+1/(size*size))
	}
	for k := range formWaves + 1 {
		size := formSize * f.Chord
		if k > formKnee {
			size *= float64(formKnee*formKnee) / float64(k*k)
		}
		a := len(index) + 2*k
		lhs.SetSym(a, a, lhs.At(a, a)+1/(size*size))
		size *= formAlong * (s.hi - s.lo) / f.Chord
		lhs.SetSym(a+1, a+1, lhs.At(a+1, a+1)+1/(size*size))
	}
}

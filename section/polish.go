package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r3"
)

// The polish. A plain least-squares fit takes the form of the wing for a change of pose: a wave along the
// aileron turns the aileron, a fuller nose makes a longer chord. So the loft's parameters are settled a
// second time, on the map of departures, together with a smooth form: cosine waves along the arc, longer
// than 0.4 chords, each with an expectation of its size. What is smooth goes to the form; what no smooth
// form can make, such as the bend at the hinge line, goes to the parameters. The covariance of both
// together then says how far the form leaves a parameter in doubt.

const (
	formWaves   = 10     // cosine waves along the arc; the shortest is 2·(2.05 chords)/10 long
	formSize    = 0.0006 // chords: expected size of the longest waves (0.7 mm at 1200 mm; common practice, no source)
	formKnee    = 4      // waves from here on are expected smaller, as the inverse square of their number
	formAlong   = 0.35   // expected change of a wave over the panel's span, as a share of its size
	formCount   = 2 * (formWaves + 1)
	polishTurns = 8
)

// polished is the outcome of the polish: the standard uncertainty of each parameter.
type polished struct {
	u [parameters]float64
}

// formRow fills the values of the form's waves at an arc (share of the outline) and a station.
func formRow(row []float64, share, along float64) {
	for k := range formWaves + 1 {
		w := math.Cos(float64(k) * math.Pi * share)
		row[2*k], row[2*k+1] = w, w*along
	}
}

// polish settles the free parameters on the map; tails pin the chord and its taper.
func (f *fitter) polish(m *Map, s step, tails []tailBand) polished {
	rows := f.polishRows(m, s)
	index := freeIndex(s.free)
	k := len(index)
	n := k + formCount
	var x *mat.VecDense
	var inv *mat.SymDense
	scale := math.Inf(1)
	for range polishTurns {
		lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
		f.polishPriors(lhs, rhs, index, s, tails)
		for _, r := range rows {
			e := r.departure
			if x != nil {
				for a := range n {
					e += r.row[a] * x.AtVec(a)
				}
			}
			w := 1 / (r.se * r.se)
			if !math.IsInf(scale, 1) {
				t := e / (biweight * scale)
				if math.Abs(t) >= 1 {
					continue
				}
				w *= (1 - t*t) * (1 - t*t)
			}
			for a := range n {
				wa := w * r.row[a]
				if wa == 0 {
					continue
				}
				rhs.SetVec(a, rhs.AtVec(a)-wa*r.departure)
				for b := a; b < n; b++ {
					lhs.SetSym(a, b, lhs.At(a, b)+wa*r.row[b])
				}
			}
		}
		var ok bool
		if x, inv, ok = solve(lhs, rhs); !ok {
			return polished{}
		}
		abs := make([]float64, 0, len(rows))
		for _, r := range rows {
			e := r.departure
			for a := range n {
				e += r.row[a] * x.AtVec(a)
			}
			abs = append(abs, math.Abs(e))
		}
		scale = math.Max(madScale*median(abs), 1e-4)
	}
	var change [parameters]float64
	var p polished
	for i, a := range index {
		change[a] = x.AtVec(i)
		p.u[a] = math.Sqrt(inv.At(i, i))
	}
	f.apply(change)
	return p
}

func freeIndex(free [parameters]bool) (index []int) {
	for a, ok := range free {
		if ok && a != offsetPar { // the form's first wave is the offset
			index = append(index, a)
		}
	}
	return index
}

// polishRow is one cell of the map: its departure and how parameters and form change it.
type polishRow struct {
	departure, se float64
	row           []float64
}

func (f *fitter) polishRows(m *Map, s step) []polishRow {
	index := freeIndex(s.free)
	gap := hingeGap * f.Chord
	span := math.Max(s.hi-s.lo, 1)
	var rows []polishRow
	thin := f.thinColumns(m)
	for i, station := range m.Station {
		if station < s.lo || station > s.hi {
			continue
		}
		for j, arc := range m.Arc {
			c := m.At(i, j)
			if c.N == 0 || thin[j] || math.Abs(arc-m.HingeArc[0]) < gap || math.Abs(arc-m.HingeArc[1]) < gap {
				continue
			}
			px, pz, _ := f.surfacePoint(arc/m.Length*f.field.length(), station)
			r, ok := f.at(r3.Vec{X: px, Y: station * f.inboard, Z: pz}, true)
			if !ok {
				continue
			}
			row := make([]float64, len(index)+formCount)
			for a, p := range index {
				row[a] = r.jacobian[p]
			}
			formRow(row[len(index):], arc/m.Length, 2*(station-s.lo)/span-1)
			for a := len(index); a < len(row); a++ {
				row[a] = -row[a]
			}
			rows = append(rows, polishRow{c.Departure, math.Max(c.SE, 1e-3), row})
		}
	}
	return rows
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

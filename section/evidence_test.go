package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// waved makes the equations of a slope among waves of the given size that change along the span by a share of it, each
// observed directly with the given noise, and of the slope as it leaks into the changes.
func waved(r *rand.Rand, size, along, noise float64) (lhs *mat.SymDense, rhs *mat.VecDense, slope float64) {
	const waves = formWaves + 1
	slope = r.NormFloat64()
	n := 1 + 2*waves
	lhs, rhs = mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	observe := func(row []float64, value float64) {
		v := mat.NewVecDense(n, row)
		lhs.SymRankOne(lhs, 1/square(noise), v)
		rhs.AddScaledVec(rhs, (value+noise*r.NormFloat64())/square(noise), v)
	}
	for k, s := range waveSizes(size, along) {
		wave := s * r.NormFloat64()
		row := make([]float64, n)
		row[1+k] = 1
		if k%2 == 1 { // a change along the span looks like the slope, each to its own extent
			row[0] = 1 / float64(k)
		}
		observe(row, wave+row[0]*slope)
	}
	return lhs, rhs, slope
}

// The scan tells how large the form is, and the slope's uncertainty follows: the truth lies within two standard
// uncertainties in nineteen of twenty cases or so, whether the form is large or small and changes along the span or not,
// and where it is small or does not change, the uncertainty is a fraction of what it is where it does.
func TestUncertaintyFollowsTheForm(t *testing.T) {
	const tries, noise, unit = 60, 0.004, 1000.0 // of chord, mm
	sizes := func(size, along float64) []float64 { return waveSizes(size*unit, along) }
	usual := map[string]float64{}
	for _, c := range []struct {
		name        string
		size, along float64
	}{{"large", 0.6, 0.5}, {"the same along the span", 0.6, 0.01}, {"small", 0.02, 0.3}} {
		r := rand.New(rand.NewPCG(3, 7))
		var z2, u, told, within float64
		for range tries {
			lhs, rhs, slope := waved(r, c.size, c.along, noise)
			out, ok := weighSizes(lhs, rhs, 1, sizes)
			if !ok {
				t.Fatal("the equations have no solution")
			}
			sd := math.Sqrt(out.cov.At(0, 0))
			z2, u, told = z2+square((out.x[0]-slope)/sd)/tries, u+sd/tries, told+math.Log(out.size*unit/c.size)/tries
			if math.Abs(out.x[0]-slope) < 2*sd {
				within++
			}
		}
		usual[c.name] = u
		t.Logf("%s: u %.4f, errors over it %.2f rms, %g of %d within 2u, size told %.2f times", c.name, u, math.Sqrt(z2), within, tries, math.Exp(told))
		if within < 0.88*tries || math.Sqrt(z2) < 0.5 || math.Sqrt(z2) > 1.4 {
			t.Errorf("%s: errors over u %.2f rms, %g of %d within 2u", c.name, math.Sqrt(z2), within, tries)
		}
		if math.Abs(told) > math.Log(1.5) {
			t.Errorf("%s: the form is told %.2f times as large as it is", c.name, math.Exp(told))
		}
	}
	if usual["small"] > usual["large"]/3 || usual["the same along the span"] > usual["large"]/3 {
		t.Errorf("standard uncertainties %v", usual)
	}
}

// Where nothing is observed the form is what is usual, and so is its doubt.
func TestNothingSeenLeavesTheUsualForm(t *testing.T) {
	n := 1 + 2*(formWaves+1)
	lhs, rhs := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	lhs.SetSym(0, 0, 1)
	out, ok := weighSizes(lhs, rhs, 1, func(size, along float64) []float64 { return waveSizes(size, along) })
	if !ok || out.size < formSize/2 || out.size > 2*formSize {
		t.Errorf("size %.5f, usual is %.5f (%v)", out.size, formSize, ok)
	}
}

// Cells that err each by itself have a voice of one; where whole neighbourhoods err together, it is that of their number.
func TestVoiceOfNeighbourhoods(t *testing.T) {
	const columns, rows, se = 240, 48, 0.2
	for _, c := range []struct{ arcs, stations, least, most float64 }{{1, 1, 1, 1.4}, {5, 4, 12, 28}} {
		r := rand.New(rand.NewPCG(1, 9))
		shared := make([]float64, columns*rows)
		for i := range shared {
			shared[i] = r.NormFloat64()
		}
		table := make([]polishColumn, columns)
		var misfits []float64
		for j := range table {
			for i := range rows {
				at := int(float64(j)/c.arcs)*rows + int(float64(i)/c.stations)
				misfits = append(misfits, se*shared[at])
				table[j].rows = append(table[j].rows, polishRow{se: se * math.Sqrt(oneVoice), along: 2*(float64(i)+0.5)/rows - 1})
			}
		}
		got := newPolishTable(table, 0).voice(misfits, func(float64) float64 { return 1 }, 2)
		if got < c.least || got > c.most {
			t.Errorf("%g by %g cells that err together: voice %.2f, want %g to %g", c.arcs, c.stations, got, c.least, c.most)
		}
	}
}

package section

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

// How large a wing's form is, and how much of it changes along the span, nobody knows beforehand: a moulded skin has next
// to none, a hand-laid one a millimetre. The scan tells it. Each pair of sizes makes the departures as likely as the
// linear model with normal waves of these sizes does (the evidence; empirical Bayes: MacKay, Neural Computation 4 (1992)
// 415, from memory), and what is told of a parameter is its mean over all pairs, each weighted by its evidence, with the
// scatter between them in the uncertainty. What common practice lets expect stays in as a weak expectation of the sizes,
// so that a scan that tells little of them is treated as usual.
const (
	leastForm, mostForm   = 1e-5, 2.5e-3 // chords: sizes tried
	leastAlong, mostAlong = 0.01, 2.5    // changes along the span tried
	formTries, alongTries = 9, 7
	formDoubt             = 1.5  // standard deviation of the logarithm of either about what is usual: a factor of 4.5 (common practice, no source)
	leastShare            = 1e-3 // of the weight of the likeliest pair: what weighs less is left out
)

// formed is what is known of the unknowns: their means and covariance, the size of the form, chords, and the share of it
// by which it changes over a chord of span.
type formed struct {
	x           []float64
	cov         *mat.SymDense
	size, along float64
}

// trial is a pair of sizes with what it leads to.
type trial struct {
	size, along, logWeight float64
	x, scale               []float64 // x in units of scale
	normal                 mat.Cholesky
}

// weighSizes weighs the sizes of the form by their evidence. lhs and rhs are the normal equations without the form's expectation, sizes
// gives the standard deviations of the form's waves, which begin at unknown first, for a size and a change along the
// span. It reports false where the equations say nothing.
func weighSizes(lhs *mat.SymDense, rhs *mat.VecDense, first int, sizes func(size, along float64) []float64) (out formed, ok bool) {
	trials, held := make([]*trial, formTries*alongTries), make([]bool, formTries*alongTries)
	scan.OnAllProcessors(len(trials), func(k int) {
		size, along := tried(leastForm, mostForm, k/alongTries, formTries), tried(leastAlong, mostAlong, k%alongTries, alongTries)
		t, ok := weigh(lhs, rhs, first, sizes(size, along))
		if !ok {
			return
		}
		t.size, t.along = size, along
		t.logWeight -= (square(math.Log(size/formSize)) + square(math.Log(along/formAlong))) / (2 * formDoubt * formDoubt)
		trials[k], held[k] = t, true
	})
	top := math.Inf(-1)
	for k, t := range trials {
		if !held[k] {
			return out, false
		}
		top = math.Max(top, t.logWeight)
	}
	return average(trials, top)
}

// tried returns the i-th of n values from least to most, each the same multiple of the one before.
func tried(least, most float64, i, n int) float64 {
	return least * math.Pow(most/least, float64(i)/float64(n-1))
}

// weigh solves the equations for one pair of sizes. The logarithm of the evidence is, but for what all pairs share,
// half of what the waves explain, less half the logarithm of how much the data narrow them.
func weigh(lhs *mat.SymDense, rhs *mat.VecDense, first int, sizes []float64) (t *trial, ok bool) {
	n := rhs.Len()
	t = &trial{x: make([]float64, n), scale: make([]float64, n)}
	diagonal := make([]float64, n)
	for i := range n {
		diagonal[i] = lhs.At(i, i)
		if k := i - first; k >= 0 && k < len(sizes) {
			diagonal[i] += 1 / square(sizes[k])
			t.logWeight -= math.Log(sizes[k])
		}
		if !(diagonal[i] > 0) {
			return nil, false
		}
		t.scale[i] = 1 / math.Sqrt(diagonal[i])
		t.logWeight += math.Log(t.scale[i])
	}
	scaled, right := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		right.SetVec(i, rhs.AtVec(i)*t.scale[i])
		scaled.SetSym(i, i, 1)
		for j := i + 1; j < n; j++ {
			scaled.SetSym(i, j, lhs.At(i, j)*t.scale[i]*t.scale[j])
		}
	}
	x := mat.NewVecDense(n, t.x)
	if !t.normal.Factorize(scaled) || t.normal.SolveVecTo(x, right) != nil {
		return nil, false
	}
	t.logWeight += (mat.Dot(x, right) - t.normal.LogDet()) / 2
	return t, true
}

// average returns the mean over the trials by their weights, with the scatter between them in the covariance.
func average(trials []*trial, top float64) (out formed, ok bool) {
	n := len(trials[0].x)
	out = formed{x: make([]float64, n), cov: mat.NewSymDense(n, nil)}
	var kept []*trial
	sum := 0.0
	for _, t := range trials {
		if w := math.Exp(t.logWeight - top); w > leastShare {
			kept, sum = append(kept, t), sum+w
		}
	}
	var inverse mat.SymDense
	for _, t := range kept {
		w := math.Exp(t.logWeight-top) / sum
		if t.normal.InverseTo(&inverse) != nil {
			return out, false
		}
		out.size += w * t.size
		out.along += w * t.along
		for i := range n {
			out.x[i] += w * t.x[i] * t.scale[i]
			for j := i; j < n; j++ {
				both := t.scale[i] * t.scale[j]
				out.cov.SetSym(i, j, out.cov.At(i, j)+w*both*(inverse.At(i, j)+t.x[i]*t.x[j]))
			}
		}
	}
	for i := range n {
		for j := i; j < n; j++ {
			out.cov.SetSym(i, j, out.cov.At(i, j)-out.x[i]*out.x[j])
		}
	}
	return out, len(kept) > 0
}

// What the form cannot follow errs together over whole neighbourhoods: noise that neighbours share, spots, sags between
// ribs. How much, the means of the misfits over blocks of skin tell, whose scatter is held against that of cells that
// err each by itself.
var voiceBlocks = [...][2]int{{24, 6}, {16, 4}} // along the arc and the span

// voice returns how many cells err together by what a fit has left of the rows, 1 at least.
func (t *polishTable) voice(misfits []float64, weight func(misfit float64) float64, unknowns int) float64 {
	most := 1.0
	for _, b := range voiceBlocks {
		v, ok := t.voiceOf(b[0], b[1], misfits, weight, float64(unknowns)/2)
		if !ok {
			return oneVoice
		}
		most = math.Max(most, v)
	}
	return most
}

// voiceOf asks blocks of one size; taken is how many of their means the fit follows. It reports false where too few
// blocks were seen.
func (t *polishTable) voiceOf(arcs, stations int, misfits []float64, weight func(misfit float64) float64, taken float64) (voice float64, ok bool) {
	type block struct{ sum, expected float64 }
	blocks := make([]block, arcs*stations)
	for j := range t.columns {
		c := &t.columns[j]
		at := j * arcs / len(t.columns) * stations
		for i := range c.rows {
			r, e := &c.rows[i], misfits[c.first+i]
			w := weight(e) / (r.se * r.se)
			b := &blocks[at+min(max(int((r.along+1)/2*float64(stations)), 0), stations-1)]
			b.sum += w * e
			b.expected += w * w * r.se * r.se / oneVoice
		}
	}
	seen := 0.0
	for _, b := range blocks {
		if b.expected > 0 {
			voice += b.sum * b.sum / b.expected
			seen++
		}
	}
	if seen < 2*taken {
		return 0, false
	}
	return voice / (seen - taken), true
}

func square(x float64) float64 { return x * x }

package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// The covariance of the fitted parameters. The points of one scan are not independent: fusion and drift
// shift whole neighbourhoods together, and the form of the wing itself is not in the loft. So the scores
// are summed over blocks of skin before they are squared (the cluster-robust or "sandwich" covariance of
// Liang and Zeger, Biometrika 73 (1986) 13, from memory): what moves a block moves it once.

const (
	blockArcs     = 24
	blockStations = 6
)

// certainty returns the standard uncertainty of every free parameter of a step, 0 for the others.
func (f *fitter) certainty(s step) (u [parameters]float64) {
	var index []int
	for a, ok := range s.free {
		if ok {
			index = append(index, a)
		}
	}
	k := len(index)
	if k == 0 {
		return u
	}
	n, scores := f.scores(s)
	inverse := 1 / (f.scale * f.scale)
	bread := mat.NewSymDense(k, nil)
	for i, a := range index {
		for j := i; j < k; j++ {
			b := index[j]
			bread.SetSym(i, j, n.jtj[min(a, b)][max(a, b)]*inverse)
		}
		if p := s.prior[a]; p > 0 {
			bread.SetSym(i, i, bread.At(i, i)+1/(p*p))
		}
	}
	meat := mat.NewSymDense(k, nil)
	filled := 0
	for _, g := range scores {
		if g == ([parameters]float64{}) {
			continue
		}
		filled++
		v := mat.NewVecDense(k, nil)
		for i, a := range index {
			v.SetVec(i, g[a]*inverse)
		}
		meat.SymRankOne(meat, 1, v)
	}
	// Few blocks leave few degrees of freedom; the usual correction widens the answer.
	widen := 1.0
	if filled > k+1 {
		widen = float64(filled) / float64(filled-k)
	}
	_, by, ok := solve(bread, mat.NewVecDense(k, nil))
	if !ok {
		return u
	}
	inv, ok := by.inverse()
	if !ok {
		return u
	}
	var half, cov mat.Dense
	half.Mul(inv, meat)
	cov.Mul(&half, inv)
	for i, a := range index {
		// Never below what the points' own noise leaves.
		u[a] = math.Sqrt(math.Max(widen*cov.At(i, i), inv.At(i, i)))
	}
	return u
}

// scores returns the normal equations and the score of every block of skin.
func (f *fitter) scores(s step) (normal, [][parameters]float64) {
	type part struct {
		n      normal
		blocks [][parameters]float64
	}
	cut := biweight * f.scale
	length := f.field.length()
	sum := reduce(len(f.points), func(lo, hi int) (p part) {
		p.blocks = make([][parameters]float64, blockArcs*blockStations)
		var q found
		for i := lo; i < hi; i++ {
			if !f.usable(i, &s, &q) || math.Abs(q.d) >= cut {
				continue
			}
			d := q.d
			t := 1 - d*d/(cut*cut)
			jacobian := q.jacobian(q.p)
			p.n.add(jacobian[:], d, t*t)
			a := min(int(q.arc/length*blockArcs), blockArcs-1)
			b := min(max(int((q.station-s.lo)/(s.hi-s.lo)*blockStations), 0), blockStations-1)
			for k := range parameters {
				p.blocks[b*blockArcs+a][k] += t * t * d * jacobian[k]
			}
		}
		return p
	}, func(into *part, p part) {
		if into.blocks == nil {
			into.blocks = make([][parameters]float64, len(p.blocks))
		}
		into.n.join(p.n)
		for i := range p.blocks {
			for k := range parameters {
				into.blocks[i][k] += p.blocks[i][k]
			}
		}
	})
	return sum.n, sum.blocks
}

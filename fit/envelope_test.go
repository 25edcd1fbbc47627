package fit

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"

	"tipwright/section"
)

// dense writes an envelope out in full.
func (e *envelope) dense() *mat.SymDense {
	out := mat.NewSymDense(len(e.row), nil)
	for i, r := range e.row {
		for k, v := range r {
			out.SetSym(i, e.first[i]+k, v)
		}
	}
	return out
}

// The envelope's Cholesky says what gonum's says of the full matrix.
func TestEnvelope(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "size")
		first := make([]int, n)
		for i := range first {
			first[i] = rapid.IntRange(0, i).Draw(t, "first")
		}
		e := newEnvelope(first)
		for i := range n {
			for j := first[i]; j < i; j++ {
				e.add(j, i, rapid.Float64Range(-1, 1).Draw(t, "v"))
			}
			e.add(i, i, float64(n))
		}
		b := rapid.SliceOfN(rapid.Float64Range(-5, 5), n, n).Draw(t, "b")
		full, got := e.dense(), newEnvelope(first)
		copy(got.all, e.all)
		if !got.factor() {
			t.Fatal("a positive definite matrix is refused")
		}
		x := got.solve(b)
		for i, v := range e.mul(x) {
			if math.Abs(v-b[i]) > 1e-9 {
				t.Fatalf("row %d: %g, want %g", i, v, b[i])
			}
		}
		var chol mat.Cholesky
		var want mat.SymDense
		if !chol.Factorize(full) || chol.InverseTo(&want) != nil {
			t.Skip("gonum will not")
		}
		for k, v := range got.inverse(nil) {
			if math.Abs(v-want.At(k/n, k%n)) > 1e-9 {
				t.Fatalf("inverse %d: %g, want %g", k, v, want.At(k/n, k%n))
			}
		}
	})
	if newEnvelope([]int{0, 0}).factor() {
		t.Error("a matrix of noughts has a factor")
	}
}

// The tables by column and row add up to the same equations, residuals and uncertainties as the functions taken
// cell by cell, with sags and without.
func TestEquationsByColumns(t *testing.T) {
	t.Parallel()
	for _, sags := range []bool{false, true} {
		w := small()
		w.hinge = 0.75
		p, err := newPanel(w.survey(t, 3), 300)
		if err != nil {
			t.Fatal(err)
		}
		cut := formCut * w.chord
		f := newForm(p, cut)
		f.sags, f.breaks = sags, [2]bool{true, false}
		if !f.solve(p, p.w, cut) {
			t.Fatal("the form's equations cannot be solved")
		}
		lhs, rhs := newEnvelope(f.envelope()), make([]float64, f.size())
		f.gather(p, p.w, lhs, rhs, func(column) {})
		if sags {
			f.gatherSags(p, p.w, lhs, rhs)
		}
		out := &parted{form: f}
		out.settle(p)
		out.finish(p, p.w)
		want, wantRHS := mat.NewSymDense(f.size(), nil), make([]float64, f.size())
		for k, weight := range p.w {
			arc, st := p.arc[k%p.columns()], p.station[k/p.columns()]
			e := f.row(arc, st)
			for a := range e.n {
				wantRHS[e.index[a]] += weight * e.value[a] * p.y[k]
				for b := range e.n {
					if i, j := e.index[a], e.index[b]; i <= j {
						want.SetSym(i, j, want.At(i, j)+weight*e.value[a]*e.value[b])
					}
				}
			}
			if weight > 0 && math.Abs(out.residual[k]-(p.y[k]-f.at(arc, st))) > 1e-9 {
				t.Fatalf("cell %d: residual %g, want %g", k, out.residual[k], p.y[k]-f.at(arc, st))
			}
			if row := k / p.columns(); row%4 == 0 && math.Abs(out.uForm[k]-f.u(arc, st)) > 1e-9 {
				t.Fatalf("cell %d: uncertainty %g, want %g", k, out.uForm[k], f.u(arc, st))
			}
		}
		full := lhs.dense()
		for i := range f.size() {
			if math.Abs(rhs[i]-wantRHS[i]) > 1e-9*(1+math.Abs(wantRHS[i])) {
				t.Fatalf("right side %d: %g, want %g", i, rhs[i], wantRHS[i])
			}
			for j := range f.size() {
				if math.Abs(full.At(i, j)-want.At(i, j)) > 1e-9*(1+math.Abs(want.At(i, j))) {
					t.Fatalf("entry %d, %d: %g, want %g", i, j, full.At(i, j), want.At(i, j))
				}
			}
		}
	}
}

// The covariance is the sandwich of its doc comment, made here with full matrices.
func TestCovarianceIsSandwich(t *testing.T) {
	t.Parallel()
	w := small()
	p, err := newPanel(w.survey(t, 4), 300)
	if err != nil {
		t.Fatal(err)
	}
	cut := formCut * w.chord
	f := newForm(p, cut)
	if !f.solve(p, p.w, cut) {
		t.Fatal("the form's equations cannot be solved")
	}
	out := &parted{form: f}
	out.settle(p)
	n := f.size()
	scores := map[[2]int]*mat.VecDense{}
	for k, r := range out.residual {
		arc, st := p.arc[k%p.columns()], p.station[k/p.columns()]
		b := [2]int{int(arc / blockArc), int(st / blockStation)}
		if scores[b] == nil {
			scores[b] = mat.NewVecDense(n, nil)
		}
		e := f.row(arc, st)
		for a := range e.n {
			scores[b].SetVec(e.index[a], scores[b].AtVec(e.index[a])+p.w[k]*r*e.value[a])
		}
	}
	bread := mat.NewSymDense(n, nil)
	for k, v := range f.chol.inverse(nil) {
		bread.SetSym(min(k/n, k%n), max(k/n, k%n), v)
	}
	want := mat.NewSymDense(n, nil)
	const shared = 2.5
	want.ScaleSym(shared, bread)
	for _, g := range scores {
		var v mat.VecDense
		v.MulVec(bread, g)
		want.SymRankOne(want, 1, &v)
	}
	f.cluster(p, p.w, out.residual, shared, nil)
	for i := range n {
		for j := range n {
			if scale := math.Sqrt(want.At(i, i) * want.At(j, j)); math.Abs(f.cov.At(i, j)-want.At(i, j)) > 1e-6*scale {
				t.Fatalf("covariance %d, %d: %g, want %g", i, j, f.cov.At(i, j), want.At(i, j))
			}
		}
	}
}

// A value picked out of a list is the one that sorting would put there, and the median keeps the list.
func TestNth(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-2, 2).AsAny(), 1, 60).Draw(t, "v")
		s := make([]float64, len(v))
		for i, x := range v {
			s[i] = math.Round(4*x.(float64)) / 4 // many alike
		}
		sorted := slices.Sorted(slices.Values(s))
		before := slices.Clone(s)
		if want, got := sorted[len(s)/2]/2+sorted[(len(s)-1)/2]/2, median(s); got != want || !slices.Equal(s, before) {
			t.Fatalf("median %g of %v, want %g", got, s, want)
		}
		k := rapid.IntRange(0, len(s)-1).Draw(t, "k")
		if got := section.Nth(s, k); got != sorted[k] {
			t.Fatalf("number %d of %v: %g, want %g", k, before, got, sorted[k])
		}
	})
}

package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/blas/blas64"
)

// envelope is a symmetric matrix of which each row is kept from its first entry that may differ from zero up to
// the diagonal. A spline's equations are a narrow band with a border of the few functions that reach
// everywhere, and Cholesky's factor keeps to the same envelope (George & Liu, Computer Solution of Large Sparse
// Positive Definite Systems, 1981, from memory): a tenth of the work that the full matrix takes.
type envelope struct {
	first []int       // column of the first entry of each row
	row   [][]float64 // from first up to the diagonal
	all   []float64   // the rows, one after another
}

func newEnvelope(first []int) *envelope {
	e := &envelope{first: first, row: make([][]float64, len(first))}
	size := 0
	for i, f := range first {
		size += i - f + 1
	}
	all := make([]float64, size)
	e.all = all
	for i, f := range first {
		n := i - f + 1
		e.row[i], all = all[:n:n], all[n:]
	}
	return e
}

// add adds v to the entry at a row and a column of the envelope, in either order.
func (e *envelope) add(i, j int, v float64) {
	if i < j {
		i, j = j, i
	}
	e.row[i][j-e.first[i]] += v
}

// emptied returns an envelope of noughts with the given first columns, in the place of e if that has them.
func (e *envelope) emptied(first []int) *envelope {
	if e == nil || !slices.Equal(e.first, first) {
		return newEnvelope(first)
	}
	clear(e.all)
	return e
}

// mul returns the matrix times x.
func (e *envelope) mul(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, r := range e.row {
		f := e.first[i]
		last := len(r) - 1
		sum := r[last] * x[i]
		for k, v := range r[:last] {
			sum += v * x[f+k]
			y[f+k] += v * x[i]
		}
		y[i] += sum
	}
	return y
}

// factor replaces the matrix by its Cholesky factor; it reports false unless it is positive definite. Rows that begin in the
// same column are gone through together.
func (e *envelope) factor() bool {
	const most = 4
	for from := 0; from < len(e.row); {
		to, fi := from+1, e.first[from]
		for to < len(e.row) && to-from < most && e.first[to] == fi {
			to++
		}
		if to-from == most {
			e.eliminate4((*[most][]float64)(e.row[from:to]), fi, from)
		} else {
			for i := from; i < to; i++ {
				e.eliminate(e.row[i], fi, fi, from)
			}
		}
		for i := from; i < to; i++ {
			ri := e.row[i]
			e.eliminate(ri, fi, max(from, fi), i)
			last := len(ri) - 1
			d := ri[last] - dot(ri[:last], ri)
			if !(d > 0) || math.IsInf(d, 0) {
				return false
			}
			ri[last] = math.Sqrt(d)
		}
		from = to
	}
	return true
}

// eliminate works out the factor's entries of a row that begins in column fi, from one column on and before another.
func (e *envelope) eliminate(ri []float64, fi, from, to int) {
	for j := from; j < to; j++ {
		rj, fj := e.row[j], e.first[j]
		k := max(fi, fj)
		ri[j-fi] = (ri[j-fi] - dot(ri[k-fi:j-fi], rj[k-fj:])) / rj[j-fj]
	}
}

// eliminate4 is eliminate for four rows from their first column on: four sums at once take hardly longer than one.
func (e *envelope) eliminate4(r *[4][]float64, fi, to int) {
	for j := fi; j < to; j++ {
		rj, fj := e.row[j], e.first[j]
		k := max(fi, fj)
		line := rj[k-fj : j-fj]
		a, b, c, d := r[0][k-fi:], r[1][k-fi:], r[2][k-fi:], r[3][k-fi:]
		a, b, c, d = a[:len(line)+1], b[:len(line)+1], c[:len(line)+1], d[:len(line)+1]
		var sa, sb, sc, sd float64
		for k, v := range line {
			sa += a[k] * v
			sb += b[k] * v
			sc += c[k] * v
			sd += d[k] * v
		}
		last, diagonal := len(line), rj[j-fj]
		a[last] = (a[last] - sa) / diagonal
		b[last] = (b[last] - sb) / diagonal
		c[last] = (c[last] - sc) / diagonal
		d[last] = (d[last] - sd) / diagonal
	}
}

// dot returns the sum of a[k]·b[k]; b is at least as long as a.
func dot(a, b []float64) (sum float64) {
	b = b[:len(a)]
	for k, v := range a {
		sum += v * b[k]
	}
	return sum
}

// cleared returns n noughts, in the place of x if that has room for them.
func cleared(x []float64, n int) []float64 {
	if cap(x) < n {
		return make([]float64, n)
	}
	x = x[:n]
	clear(x)
	return x
}

// solve returns A⁻¹·b, where the envelope is the factor of A.
func (e *envelope) solve(b []float64) []float64 {
	x := append([]float64(nil), b...)
	for i, r := range e.row {
		last := len(r) - 1
		x[i] = (x[i] - dot(r[:last], x[e.first[i]:])) / r[last]
	}
	for i := len(e.row) - 1; i >= 0; i-- {
		r := e.row[i]
		last := len(r) - 1
		x[i] /= r[last]
		for k, v := range r[:last] {
			x[e.first[i]+k] -= v * x[i]
		}
	}
	return x
}

// inverse fills x with A⁻¹, where the envelope is the factor of A, by rows, and returns it. Unless x is as long, it makes
// another.
func (e *envelope) inverse(x []float64) []float64 {
	n := len(e.row)
	x = cleared(x, n*n)
	line := func(i, to int) blas64.Vector { return blas64.Vector{N: to, Inc: 1, Data: x[i*n : i*n+to]} }
	for i, r := range e.row {
		// Row i of the inverse factor reaches no farther than the diagonal.
		last := len(r) - 1
		for k, v := range r[:last] {
			if v != 0 {
				blas64.Axpy(-v, line(e.first[i]+k, e.first[i]+k+1), line(i, e.first[i]+k+1))
			}
		}
		x[i*n+i] = 1
		blas64.Scal(1/r[last], line(i, i+1))
	}
	for i := n - 1; i >= 0; i-- {
		r := e.row[i]
		last := len(r) - 1
		blas64.Scal(1/r[last], line(i, n))
		for k, v := range r[:last] {
			if v != 0 {
				blas64.Axpy(-v, line(i, n), line(e.first[i]+k, n))
			}
		}
	}
	return x
}

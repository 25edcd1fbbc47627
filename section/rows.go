package section

import (
	"math"

	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

// rowChunk is how many rows are summed at a time; the sums of the chunks are added in their order.
const rowChunk = 256

// columned holds some columns of the polish's rows, in chunks of rows: within a chunk each column's values stand one after
// the other, so that two columns are multiplied at the speed of the processor.
type columned struct {
	rows   []polishRow
	n      int // columns, the departures not counted, which stand last
	values []float64
}

func newColumned(rows []polishRow, columns []int) *columned {
	c := &columned{rows, len(columns), make([]float64, len(rows)*(len(columns)+1))}
	scan.OnAllProcessors(c.chunks(), func(k int) {
		lo, m := c.chunk(k)
		for i := range m {
			r := &rows[lo+i]
			for j, column := range columns {
				c.column(k, j)[i] = r.row[column]
			}
			c.column(k, c.n)[i] = r.departure
		}
	})
	return c
}

func (c *columned) chunks() int { return (len(c.rows) + rowChunk - 1) / rowChunk }

// chunk returns the first row of a chunk and how many it has.
func (c *columned) chunk(k int) (first, count int) {
	return k * rowChunk, min(rowChunk, len(c.rows)-k*rowChunk)
}

// column returns the values of column j in a chunk.
func (c *columned) column(k, j int) []float64 {
	first, count := c.chunk(k)
	at := first*(c.n+1) + j*count
	return c.values[at : at+count]
}

// add adds the rows, each weighted, to the normal equations.
func (c *columned) add(weight func(i int) float64, lhs *mat.SymDense, rhs *mat.VecDense) {
	parts := make([][]float64, c.chunks())
	scan.OnAllProcessors(len(parts), func(k int) {
		first, count := c.chunk(k)
		var weights, weighted [rowChunk]float64
		for i := range count {
			se := c.rows[first+i].se
			weights[i] = weight(first+i) / (se * se)
		}
		sum := make([]float64, 0, (c.n+1)*(c.n+2)/2)
		for i := range c.n {
			for at, v := range c.column(k, i) {
				weighted[at] = weights[at] * v
			}
			x := blas64.Vector{N: count, Inc: 1, Data: weighted[:count]}
			for j := i; j <= c.n; j++ {
				sum = append(sum, blas64.Dot(x, c.vector(k, j)))
			}
		}
		parts[k] = sum
	})
	for _, sum := range parts {
		for i := range c.n {
			for j := i; j < c.n; j++ {
				lhs.SetSym(i, j, lhs.At(i, j)+sum[j-i])
			}
			rhs.SetVec(i, rhs.AtVec(i)-sum[c.n-i])
			sum = sum[c.n-i+1:]
		}
	}
}

// misfits fills in what is left of each row's departure with the values x of the columns, and returns by how much the
// one that changed most changed.
func (c *columned) misfits(out, x []float64) (moved float64) {
	most := make([]float64, c.chunks())
	scan.OnAllProcessors(len(most), func(k int) {
		first, count := c.chunk(k)
		var room [rowChunk]float64
		left := room[:count]
		copy(left, c.column(k, c.n))
		for j := range c.n {
			blas64.Axpy(x[j], c.vector(k, j), blas64.Vector{N: count, Inc: 1, Data: left})
		}
		for i, e := range left {
			most[k] = math.Max(most[k], math.Abs(e-out[first+i]))
			out[first+i] = e
		}
	})
	for _, m := range most {
		moved = math.Max(moved, m)
	}
	return moved
}

// vector is column as the library for linear algebra takes it.
func (c *columned) vector(k, j int) blas64.Vector {
	v := c.column(k, j)
	return blas64.Vector{N: len(v), Inc: 1, Data: v}
}

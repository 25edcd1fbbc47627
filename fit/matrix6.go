package fit

import "math"

// The six terms of a quadratic in two variables: 1, s, t, s², st, t².
type (
	vector6 [6]float64
	matrix6 [6][6]float64 // symmetric
)

// form returns xᵀ·m·x.
func (m *matrix6) form(x *vector6) (sum float64) {
	for a := range x {
		for b := range x {
			sum += x[a] * m[a][b] * x[b]
		}
	}
	return sum
}

// factor replaces the lower half by Cholesky's factor; it reports false unless m is positive definite.
func (m *matrix6) factor() bool {
	for i := range 6 {
		for j := range i + 1 {
			s := m[i][j]
			for k := range j {
				s -= m[i][k] * m[j][k]
			}
			if i != j {
				m[i][j] = s / m[j][j]
				continue
			}
			if !(s > 0) {
				return false
			}
			m[i][i] = math.Sqrt(s)
		}
	}
	return true
}

// solve returns the solution for a right-hand side, where the lower half is the factor.
func (m *matrix6) solve(b *vector6) (x vector6) {
	for i := range 6 {
		s := b[i]
		for k := range i {
			s -= m[i][k] * x[k]
		}
		x[i] = s / m[i][i]
	}
	for i := 5; i >= 0; i-- {
		s := x[i]
		for k := i + 1; k < 6; k++ {
			s -= m[k][i] * x[k]
		}
		x[i] = s / m[i][i]
	}
	return x
}

package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"tipwright/scan/outside"
)

// closeTo fails unless got lies within tolerance of want.
func closeTo(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: %.8g, want %.8g within %g", what, got, want, tolerance)
	}
}

// Robust cut-offs keep 95 % efficiency and quantiles are those of the printed tables: the upper quartile of the
// normal distribution is 0.6745, the median of chi-squared with one degree of freedom 0.455 (printed tables in any
// handbook, from memory), both by scipy too.
func TestOutsideStatistics(t *testing.T) {
	t.Parallel()
	z := []float64{-6, -3, -1.96, -1, 0, 0.5, 1.645, 2.326, 5}
	var scipy struct {
		Biweight, Huber, Mad float64
		Cumulative, Integral []float64
	}
	outside.Script(t, "testdata/statistics.py", map[string]any{"biweight": biweight, "huber": huber, "z": z}, &scipy, "scipy")
	closeTo(t, "efficiency of the biweight", scipy.Biweight, 0.95, 1e-4)
	closeTo(t, "efficiency of Huber's weights", scipy.Huber, 0.95, 1e-4)
	closeTo(t, "standard deviation over median deviation", madScale, scipy.Mad, 5e-6)
	closeTo(t, "the same by the printed quartile", madScale, 1/0.6745, 1e-4)
	for i, v := range z {
		closeTo(t, "distribution function", cumulative(v), scipy.Cumulative[i], 1e-13)
		closeTo(t, "its integral", ramp(v), scipy.Integral[i], 1e-9)
	}
	for z, printed := range map[float64]float64{1: 0.8413, 1.645: 0.95, 1.96: 0.975, 2: 0.9772, 3: 0.99865} {
		closeTo(t, "distribution function as printed", cumulative(z), printed, 6e-5)
	}
}

// What neighbouring cells differ more than their points' noise explains is found by the median of squares: were the
// median of chi-squared wrong by a hundredth, the part that cells do not share would come out wrong by as much.
func TestOutsideCommonNoise(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(8, 2))
	m := Map{Arc: make([]float64, 400), Station: make([]float64, 100)}
	const white, common = 0.05, 0.12
	for range len(m.Arc) * len(m.Station) {
		m.Cells = append(m.Cells, Cell{Departure: math.Hypot(white, common) * r.NormFloat64(), SE: white, N: 9})
	}
	closeTo(t, "noise beside the points' own", m.correlate(), common, 0.015*common)
	closeTo(t, "standard error with it", m.At(5, 5).SE, math.Hypot(white, common), 0.015*common)
}

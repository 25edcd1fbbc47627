package section

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"

	"tipwright/scan/outside"
)

// The robust regression of the polish and the robust means of the map are what scipy's least squares finds with
// Tukey's biweight for loss, with a fifth of the rows spoilt on one side as a board on the skin spoils them.
func TestOutsideRobustRegression(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(31, 7))
	truth := []float64{0.4, -0.3, 0.2, 0.1}
	var question struct {
		Rows   [][]float64 `json:"rows"`
		Values []float64   `json:"values"`
		Cells  [][]float32 `json:"cells"`
		Middle []float64   `json:"middle"`
		Cut    float64     `json:"cut"`
	}
	var rows []polishRow
	const n = 3000
	for i := range n {
		u := 2*float64(i)/n - 1
		row := []float64{1, u, math.Cos(5 * u), u * u}
		d := 0.1 * r.NormFloat64()
		if i%5 == 0 {
			d += 0.5 + r.ExpFloat64()
		}
		for k, v := range row {
			d += truth[k] * v
		}
		question.Rows, question.Values = append(question.Rows, row), append(question.Values, d)
		rows = append(rows, polishRow{departure: -d, se: 0.1, own: row}) // what a row is short of is its misfit
	}
	const noise = 0.5
	question.Cut = biweight * noise
	for range 20 {
		var ds []float32
		for i := range 40 {
			d := noise * r.NormFloat64()
			if i%8 == 0 {
				d += 6 * r.Float64()
			}
			ds = append(ds, float32(d))
		}
		sorted := slices.Sorted(slices.Values(ds))
		question.Cells, question.Middle = append(question.Cells, ds), append(question.Middle, float64(sorted[len(sorted)/2]))
	}
	var scipy struct{ X, SE, Locations []float64 }
	outside.Script(t, "testdata/robust.py", question, &scipy, "scipy")

	fit, ok := robust(newPolishTable([]polishColumn{{rows: rows}}, 4), []int{0, 1, 2, 3}, mat.NewSymDense(4, nil), mat.NewVecDense(4, nil))
	if !ok {
		t.Fatal("the regression has no solution")
	}
	for k, want := range scipy.X {
		closeTo(t, "coefficient", fit.x.AtVec(k), want, 0.05*scipy.SE[k])
		closeTo(t, "scipy's coefficient", want, truth[k], 5*scipy.SE[k])
	}
	for i, ds := range question.Cells {
		got := biweightMean(ds, question.Middle[i], noise, noise)
		closeTo(t, "mean of a cell", got.Departure, scipy.Locations[i], 0.1*got.SE) // three rounds come as near as that
	}
}

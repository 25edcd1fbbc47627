package accuracy

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"
)

// hitMiss are invented targets; what belongs to them was computed with scipy 1.15 (BFGS and Nelder-Mead on the
// log-likelihood, brentq on its profile).
func hitMiss() []Trial {
	sizes := []float64{.05, .08, .1, .12, .15, .15, .18, .2, .2, .22, .25, .25, .28, .3, .3, .32, .35, .4, .4, .45, .5, .55, .6, .7, .8, .9, 1.0, 1.2}
	hit := "0000010010101011101111111111"
	var out []Trial
	for i, a := range sizes {
		out = append(out, Trial{a, hit[i] == '1'})
	}
	return out
}

func TestOutsidePODAgreesWithScipy(t *testing.T) {
	c, err := FitPOD(hitMiss())
	if err != nil {
		t.Fatal(err)
	}
	for _, v := range []struct {
		what      string
		got, want float64
	}{
		{"b0", c.B0, 4.7551354}, {"b1", c.B1, 3.29101901},
		{"variance of b0", c.Cov[0][0], 3.351287672689046}, {"covariance", c.Cov[0][1], 2.2511060219849486}, {"variance of b1", c.Cov[1][1], 1.6530616991722562},
		{"log-likelihood", c.LogLikelihood, -10.848992215309003},
		{"a50", c.A50, 0.2357738043782567}, {"a90", c.A90, 0.4596730690675565},
		{"a90/95, Wald", c.A9095Wald, 0.728853998410633}, {"a90/95, likelihood ratio", c.A9095, 0.9345023534358962},
	} {
		if math.Abs(v.got-v.want) > 2e-7*math.Max(1, math.Abs(v.want)) {
			t.Errorf("%s is %.9g, scipy says %.9g", v.what, v.got, v.want)
		}
	}
	if c.Hits != 17 || c.Trials != 28 || c.LeastA != .05 || c.MostA != 1.2 {
		t.Errorf("%d hits of %d, %g to %g mm", c.Hits, c.Trials, c.LeastA, c.MostA)
	}
}

func TestNoCurveWithoutOverlap(t *testing.T) {
	for _, trials := range [][]Trial{
		nil, {{1, true}}, {{0.1, false}, {1, true}}, {{1, true}, {2, true}}, {{1, false}, {2, false}},
		{{0.1, true}, {0.2, true}, {0.5, false}, {1, false}}, // the larger, the harder to see: no such curve
	} {
		if _, err := FitPOD(trials); !errors.Is(err, errNoCurve) {
			t.Errorf("%v: %v", trials, err)
		}
	}
}

// The bound holds a90 in about 95 of 100 tests.
func TestA9095HoldsA90(t *testing.T) {
	const b0, b1, tests = 3.0, 2.5, 150
	true90 := math.Exp((logOdds90 - b0) / b1)
	r := rand.New(rand.NewPCG(4, 4))
	held := 0
	for range tests {
		var trials []Trial
		for range 100 {
			a := 0.05 * math.Pow(40, r.Float64())
			trials = append(trials, Trial{a, r.Float64() < 1/(1+math.Exp(-b0-b1*math.Log(a)))})
		}
		c, err := FitPOD(trials)
		if err != nil {
			t.Fatal(err)
		}
		if c.A9095 >= true90 {
			held++
		}
	}
	if share := float64(held) / tests; share < 0.91 || share > 0.99 {
		t.Errorf("the bound holds a90 in %.3f of the tests", share)
	}
}

// Sizes in another unit give the same curve in that unit, and the order does not matter.
func TestPODKnowsNoUnit(t *testing.T) {
	one, err := FitPOD(hitMiss())
	if err != nil {
		t.Fatal(err)
	}
	for i, k := range []float64{0.01, 1 / 25.4, 1, 73} {
		trials := hitMiss()
		rand.New(rand.NewPCG(uint64(i), 1)).Shuffle(len(trials), func(i, j int) { trials[i], trials[j] = trials[j], trials[i] })
		for i := range trials {
			trials[i].Size *= k
		}
		other, err := FitPOD(trials)
		if err != nil {
			t.Fatal(err)
		}
		for _, v := range [][2]float64{{one.A50, other.A50}, {one.A90, other.A90}, {one.A9095, other.A9095}, {one.A9095Wald, other.A9095Wald}} {
			if math.Abs(v[1]/v[0]/k-1) > 1e-6 {
				t.Errorf("%g mm become %g in a unit of %g", v[0], v[1], k)
			}
		}
	}
}

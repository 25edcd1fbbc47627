package accuracy

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Probability of detection from hits and misses, as MIL-HDBK-1823A (2009) analyses them: ln(p/(1-p)) = b₀ + b₁ ln a
// by maximum likelihood over all targets, none binned. a90 is the size that is found nine times in ten, a90/95 its
// upper 95 % confidence bound.

// Trial is one target of a known size, mm, and whether it was found.
type Trial struct {
	Size float64 `json:"size"`
	Hit  bool    `json:"hit"`
}

// Curve is the fitted probability of detection.
type Curve struct {
	B0, B1         float64
	Cov            [2][2]float64 // of B0 and B1, the inverse of the observed information
	LogLikelihood  float64
	A50, A90       float64 // mm
	A9095          float64 // mm, by the likelihood ratio
	A9095Wald      float64 // mm, by the normal approximation; tighter and less to be trusted where targets are few
	Hits, Trials   int
	LeastA, MostA  float64 // mm, the sizes tried
	logSize, score []float64
}

const (
	oneSided95 = 1.6448536269514722 // of the normal distribution
	podRounds  = 100
	podSettled = 1e-12
	farAbove   = 1e4 // times a90: no bound was found below
)

var logOdds90 = math.Log(9)

// errNoCurve says that the targets do not tell a curve: all hit, all missed, or hits and misses parted at one size.
var errNoCurve = errors.New("accuracy: hits and misses do not overlap, so that no curve can be fitted")

// FitPOD fits the curve. Sizes must be positive.
func FitPOD(trials []Trial) (*Curve, error) {
	c := &Curve{Trials: len(trials), LeastA: math.Inf(1)}
	for _, t := range trials {
		c.logSize = append(c.logSize, math.Log(t.Size))
		y := 0.0
		if t.Hit {
			y = 1
			c.Hits++
		}
		c.score = append(c.score, y)
		c.LeastA, c.MostA = math.Min(c.LeastA, t.Size), math.Max(c.MostA, t.Size)
	}
	if !overlap(trials) {
		return nil, errNoCurve
	}
	if err := c.climb(); err != nil {
		return nil, err
	}
	c.A50, c.A90 = math.Exp(-c.B0/c.B1), math.Exp((logOdds90-c.B0)/c.B1)
	c.A9095, c.A9095Wald = c.byRatio(), c.byWald()
	return c, nil
}

// overlap reports whether some miss is larger than some hit; else the likelihood has no maximum.
func overlap(trials []Trial) bool {
	leastHit, mostMiss := math.Inf(1), math.Inf(-1)
	for _, t := range trials {
		if t.Hit {
			leastHit = math.Min(leastHit, t.Size)
		} else {
			mostMiss = math.Max(mostMiss, t.Size)
		}
	}
	return mostMiss > leastHit
}

// climb maximises the likelihood by Newton's method.
func (c *Curve) climb() error {
	b := [2]float64{0, 1}
	for range podRounds {
		next, err := c.uphill(b)
		if err != nil {
			return err
		}
		moved := math.Hypot(next[0]-b[0], next[1]-b[1])
		if b = next; moved < podSettled {
			break
		}
	}
	at, _, information := c.likelihood(b)
	var inverse mat.Dense
	if err := inverse.Inverse(information); err != nil || !(b[1] > 0) {
		return errNoCurve
	}
	c.B0, c.B1, c.LogLikelihood = b[0], b[1], at
	for i := range 2 {
		for j := range 2 {
			c.Cov[i][j] = inverse.At(i, j)
		}
	}
	return nil
}

// uphill takes one step of Newton's method, halved until it does not go down.
func (c *Curve) uphill(b [2]float64) ([2]float64, error) {
	at, gradient, information := c.likelihood(b)
	var step mat.VecDense
	if err := step.SolveVec(information, mat.NewVecDense(2, gradient[:])); err != nil {
		return b, errNoCurve
	}
	for share := 1.0; share > 1e-6; share /= 2 {
		next := [2]float64{b[0] + share*step.AtVec(0), b[1] + share*step.AtVec(1)}
		if to, _, _ := c.likelihood(next); to >= at {
			return next, nil
		}
	}
	return b, nil
}

// likelihood returns the logarithm of the likelihood, its gradient and the information.
func (c *Curve) likelihood(b [2]float64) (sum float64, gradient [2]float64, information *mat.SymDense) {
	var i00, i01, i11 float64
	for i, x := range c.logSize {
		e := b[0] + b[1]*x
		p := 1 / (1 + math.Exp(-e))
		sum += c.score[i]*e - softPlus(e)
		d, v := c.score[i]-p, p*(1-p)
		gradient[0] += d
		gradient[1] += d * x
		i00, i01, i11 = i00+v, i01+v*x, i11+v*x*x
	}
	return sum, gradient, mat.NewSymDense(2, []float64{i00, i01, i01, i11})
}

// softPlus is ln(1 + eˣ) without overflow.
func softPlus(x float64) float64 { return math.Max(x, 0) + math.Log1p(math.Exp(-math.Abs(x))) }

// byWald carries the covariance of the coefficients to ln a90 by its derivatives.
func (c *Curve) byWald() float64 {
	m := math.Log(c.A90)
	g := [2]float64{-1 / c.B1, -m / c.B1}
	v := g[0]*g[0]*c.Cov[0][0] + 2*g[0]*g[1]*c.Cov[0][1] + g[1]*g[1]*c.Cov[1][1]
	return math.Exp(m + oneSided95*math.Sqrt(v))
}

// byRatio returns the size up to which a90 is not refuted: where the best likelihood of all curves that pass through
// 90 % there has fallen by half the square of the normal distribution's 95 % point. Infinite if there is no such size.
func (c *Curve) byRatio() float64 {
	least := c.LogLikelihood - oneSided95*oneSided95/2
	lo, hi := math.Log(c.A90), math.Log(c.A90)+0.05
	for ; c.through(hi) > least; hi += 0.05 {
		if hi > math.Log(c.A90*farAbove) {
			return math.Inf(1)
		}
	}
	for range 35 { // to 1e-12
		if mid := (lo + hi) / 2; c.through(mid) > least {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}

// through returns the greatest log-likelihood of the curves with p = 0.9 at a log size. It is concave in the slope, so
// a golden-section search finds it.
func (c *Curve) through(logSize float64) float64 {
	at := func(b1 float64) float64 {
		sum, _, _ := c.likelihood([2]float64{logOdds90 - b1*logSize, b1})
		return sum
	}
	golden := (math.Sqrt(5) - 1) / 2
	lo, hi := 0.0, 100*c.B1
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	fa, fb := at(a), at(b)
	for range 55 { // to 1e-10 of the slope
		if fa > fb {
			hi, b, fb = b, a, fa
			a = hi - golden*(hi-lo)
			fa = at(a)
		} else {
			lo, a, fa = a, b, fb
			b = lo + golden*(hi-lo)
			fb = at(b)
		}
	}
	return math.Max(fa, fb)
}

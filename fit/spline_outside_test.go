package fit

import (
	"math"
	"testing"

	"tipwright/scan/outside"
)

// The form is a smoothing spline with a penalty on the fourth derivative, fitted twice. Along the arc it is the one
// that scipy's B-splines of degree 7 give, whose penalty is the integral itself and not a sum of differences, clear
// of nose and tail, where the form bends more freely.
func TestOutsideFormIsASmoothingSpline(t *testing.T) {
	t.Parallel()
	w := small()
	w.span, w.noise = 60, 0.5 // too short for a slope along the station
	w.form = func(arc, _ float64) float64 { return waves(5, w.chord, 0.7)(arc, 0) + 0.5*math.Cos(2*math.Pi*arc/250) }
	p, err := newPanel(w.survey(t, 2), 300)
	if err != nil {
		t.Fatal(err)
	}
	cut := formCut * w.chord
	f := newForm(p, cut)
	f.nose, f.shifted, f.orders = -10*w.chord, false, 1
	if !f.solve(p, p.w, cut) {
		t.Fatal("the form's equations cannot be solved")
	}
	var question struct {
		X      []float64 `json:"x"`
		Y      []float64 `json:"y"`
		W      []float64 `json:"w"`
		At     []float64 `json:"at"`
		Cut    float64   `json:"cut"`
		Length float64   `json:"length"`
	}
	for k, v := range p.w {
		if v > 0 {
			question.X, question.Y, question.W = append(question.X, p.arc[k%p.columns()]), append(question.Y, p.y[k]), append(question.W, v)
		}
	}
	for arc := 0.3 * p.length; arc < 0.7*p.length; arc += 3 {
		question.At = append(question.At, arc)
	}
	question.Cut, question.Length = cut, p.length
	var scipy []float64
	outside.Script(t, "testdata/spline.py", question, &scipy, "numpy", "scipy")
	worst, size := 0.0, 0.0
	for i, arc := range question.At {
		worst = math.Max(worst, math.Abs(f.at(arc, 30)-scipy[i]))
		size = math.Max(size, math.Abs(scipy[i]))
	}
	t.Logf("%.4f mm apart at worst, of a form of %.2f mm and a standard uncertainty of %.3f", worst, size, p.usualSE())
	if worst > 0.01 {
		t.Errorf("form and smoothing spline are %.4f mm apart", worst)
	}
}

// The Gaussian window of field.go is the filter of ISO 16610-21:2011, s(x) = exp(-π(x/(αλc))²)/(αλc) with α =
// √(ln 2/π) = 0.4697: it passes half of a wave of the cut-off's length and of the others what the standard's
// transmission, exp(-π(αλc/λ)²), says (facts.md 3). The window ends at 2.6 standard deviations and reaches over cells.
func TestOutsideGaussianTransmission(t *testing.T) {
	t.Parallel()
	alpha := math.Sqrt(math.Ln2 / math.Pi)
	if math.Abs(alpha-0.4697) > 5e-5 {
		t.Fatalf("alpha %.5f", alpha)
	}
	const sigma = 30.0
	cutoff := sigma * math.Sqrt(2*math.Pi) / alpha // the same window, written as the standard does
	w := small()
	w.noise, w.points = 0.01, 1e7
	w.span = 600 // the window must end within the panel
	for ratio, standard := range map[float64]float64{0.5: 0.0625, 1: 0.5000, 2: 0.8409, 3: 0.9259, 4: 0.9576} {
		length := ratio * cutoff
		w.form = func(arc, _ float64) float64 { return math.Cos(2 * math.Pi * arc / length) }
		p, err := newPanel(w.survey(t, 1), 300)
		if err != nil {
			t.Fatal(err)
		}
		smoothed := p.smooth(p.y, p.w, kernel{sigma, sigma}).mean
		var both, wave float64
		row := p.rows() / 2 * p.columns()
		for j := p.columns() / 4; j < p.columns()*3/4; j++ {
			c := w.form(p.arc[j], 0)
			both, wave = both+smoothed[row+j]*c, wave+c*c
		}
		if got := both / wave; math.Abs(got-standard) > 0.02 {
			t.Errorf("a wave of %g cut-offs passes by %.4f, in the standard %.4f", ratio, got, standard)
		}
	}
	// What the form keeps of a wave has the half at its own cut-off too, but falls more steeply than the Gaussian.
	half := 0.242
	if got := passed(t, half*small().chord); math.Abs(got-0.5) > 0.05 {
		t.Errorf("the form keeps %.3f of a wave of its cut-off's length", got)
	}
	for _, ratio := range []float64{0.62, 1.65} {
		gauss := math.Exp(-math.Pi * alpha * alpha / (ratio * ratio))
		if got := passed(t, ratio*half*small().chord); (got < gauss) != (ratio < 1) {
			t.Errorf("a wave of %g cut-offs passes by %.3f, through the standard's Gaussian by %.3f", ratio, got, gauss)
		}
	}
}

// The regression of order 2 with a Gaussian window (ISO 16610-31 weighs so, with its robust weights besides) passes of
// a wave what the window's moments say; the window ends at three standard deviations. The top of a round cosine dent
// sinks by no more than (2πa/λ)^4/6 of its depth, what a window without end would do to it: half of that is put back
// in spots.go, and the other half is its uncertainty.
func TestOutsideLocalRegression(t *testing.T) {
	t.Parallel()
	const a = 20.0
	w := small()
	w.noise, w.points, w.columns, w.rows = 0.01, 1e8, 2, 4
	at := func(form func(arc, station float64) float64) float64 {
		w.form = form
		p, err := newPanel(w.survey(t, 1), 300)
		if err != nil {
			t.Fatal(err)
		}
		return p.local(p.y, 700, 150, kernel{a, a}, 1e6, nil).c[0]
	}
	for _, length := range []float64{70, 90, 130, 200} {
		got := at(func(arc, _ float64) float64 { return math.Cos(2 * math.Pi * (arc - 700) / length) })
		if want := passedByOrderTwo(2 * math.Pi * a / length); math.Abs(got-want) > 0.008 {
			t.Errorf("a wave of %g mm passes by %.4f, want %.4f", length, got, want)
		}
	}
	for _, width := range []float64{170, 200, 260} {
		d := dent{700, 150, width, width, -1}
		if sunk, most := 1+at(d.at), math.Pow(2*math.Pi*a/width, 4)/6; sunk < 0.3*most || sunk > most {
			t.Errorf("the top of a dent %g mm wide sinks by %.4f of its depth, at most %.4f", width, sunk, most)
		}
	}
}

// passedByOrderTwo returns what a regression of order 2 under a Gaussian window from -3 to 3 standard deviations
// keeps of the crest of cos(ks): the value of the fitted parabola there, from moments by Simpson's rule.
func passedByOrderTwo(k float64) float64 {
	const steps = 600
	var m0, m2, m4, c0, c2 float64
	for i := range steps + 1 {
		s := 6*float64(i)/steps - 3
		g := math.Exp(-s*s/2) * float64(2+2*(i%2))
		if i == 0 || i == steps {
			g /= 2
		}
		m0, m2, m4 = m0+g, m2+g*s*s, m4+g*s*s*s*s
		c0, c2 = c0+g*math.Cos(k*s), c2+g*s*s*math.Cos(k*s)
	}
	return (m4*c0 - m2*c2) / (m4*m0 - m2*m2)
}

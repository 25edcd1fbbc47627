package accuracy

import (
	"errors"
	"math"
	"testing"

	"tipwright/fit"
	"tipwright/section"
	"tipwright/section/simulate"
)

// A chord taped wrong makes every measured length wrong by its share of the chord: what a drawn error of the tape adds is
// what a scan measured with it shows, to a twentieth, beside what a grid that lies otherwise on the skin changes.
func TestTapeStretchesAll(t *testing.T) {
	if testing.Short() {
		t.Skip("measures a scan twice")
	}
	base := Conditions()[0]
	c := base.New(Seed(0, 0))
	c.Scan.Points, c.Scan.Floor, c.Scan.Wall, c.Scan.Person = 60_000, false, false, false
	s, truth, err := simulate.Scan(c.Wing, c.Scan)
	if err != nil {
		t.Fatal(err)
	}
	measured := func(c *Case) *fit.Result {
		v, err := section.Measure(s, c.options(truth))
		r, err2 := fit.Fit(v, c.wishes())
		if err := errors.Join(err, err2); err != nil {
			t.Fatal(err)
		}
		return r
	}
	exact := measured(&c)
	drawn := c.tapeDrawn()
	if math.Abs(drawn) < tapeSigma/5 {
		t.Fatalf("the drawn error is only %.2f mm", drawn)
	}
	said := c.figures(exact, truth)
	saidOutlines := c.outlines(exact, truth)
	c.Tape = drawn
	wrong := measured(&c)
	for _, name := range []string{Chord, Scale} {
		got := c.figures(wrong, truth)[name].Error - said[name].Error
		if math.Abs(got-said[name].Tape) > 0.05*math.Abs(drawn)+0.05 {
			t.Errorf("%s: a tape %.2f mm wrong makes it %.3f mm wrong, expected %.3f", name, drawn, got, said[name].Tape)
		}
	}
	for name, m := range c.outlines(wrong, truth) {
		if was := saidOutlines[name]; math.Abs(m.RMS-was.Taped) > 0.2*math.Hypot(was.RMS, was.Taped) {
			t.Errorf("%s: rms %.4f mm with the tape wrong, expected %.4f, and %.4f with the tape exact", name, m.RMS, was.Taped, was.RMS)
		}
	}
	if c.tapeDrawn() != 0 || c.stretch(truth) != 0 {
		t.Error("a tape that errs of itself is given another error")
	}
}

// The drawn errors of the tape scatter as they are said to.
func TestDrawnTapes(t *testing.T) {
	const n = 400
	sum, sum2 := 0.0, 0.0
	for seed := range uint64(n) {
		c := Case{}
		c.Scan.Seed = seed
		e := c.tapeDrawn()
		sum, sum2 = sum+e/n, sum2+e*e/n
	}
	if math.Abs(sum) > 0.08 || math.Abs(math.Sqrt(sum2)-tapeSigma) > 0.06 { // three standard deviations of either
		t.Errorf("mean %.3f, rms %.3f mm", sum, math.Sqrt(sum2))
	}
}

package fit

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Spots 150 mm wide and 0.16 mm deep, which the form would take for its own waves by a third, are found at 0.5 mm of noise
// and a quarter of a point a square millimetre, and beside them nothing that is none.
func TestShallowSpots(t *testing.T) {
	t.Parallel()
	found, sought, none := 0, 0, 0
	for seed := range uint64(4) {
		r := rand.New(rand.NewPCG(seed, 41))
		w := usual()
		w.span, w.columns, w.rows = 420, 8, 12
		w.points = 0.25 * 2.05 * w.chord * w.span
		w.form = waves(seed+20, w.chord, 0.4)
		for i := range 5 {
			w.dents = append(w.dents, dent{arc: 330 + 430*float64(i) + 40*r.Float64(), station: 120 + 100*r.Float64(),
				length: 150, width: 150, depth: -0.16})
		}
		got := fitted(t, &w, seed, wishes())
		hits := 0
		for _, d := range w.dents {
			sought++
			if _, ok := find(got, d); ok {
				hits++
			}
		}
		found, none = found+hits, none+len(got.LowSpots)+len(got.HighSpots)-hits
	}
	t.Logf("%d of %d found, %d that are none", found, sought, none)
	if found < sought*4/5 || none > 0 {
		t.Errorf("%d of %d found, %d that are none", found, sought, none)
	}
}

// The finer a window, the more standard errors make a region; a white field smoothed by the window exceeds them about as
// seldom as is said.
func TestSureIsSeldomExceeded(t *testing.T) {
	t.Parallel()
	w := small()
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	before := math.Inf(1)
	for _, k := range []kernel{{7, 9}, {12, 12}, {20, 20}, {34, 34}, {55, 55}} {
		if u := p.sure(k); u >= before || u < 4 || u > 6 {
			t.Errorf("%v: %.2f standard errors, the finer window's are %.2f", k, u, before)
		} else {
			before = u
		}
	}
	// With a share of so many false regions a panel, half of all panels would have one: loud enough to be counted.
	k, share, panels := kernel{20, 20}, 0.5, 60
	peaks := p.length * p.span() / (2 * k.arc * k.station) / math.Pow(2*math.Pi, 1.5)
	level := p.sureOf(k, share)
	if e := peaks * level * math.Exp(-level*level/2); math.Abs(e-share) > 1e-3 {
		t.Errorf("%.3f peaks expected over %.2f, wanted %.1f", e, level, share)
	}
	over := 0
	r := rand.New(rand.NewPCG(5, 43))
	v := make([]float64, len(p.w))
	for range panels {
		for i := range v {
			v[i] = p.se[i] * r.NormFloat64()
		}
		f := p.smooth(v, p.w, k)
		for i, m := range f.mean {
			if m > level*f.se[i] {
				over++
				break
			}
		}
	}
	// One minus exp(-share) of the panels for a continuous field; the grid and the edges make it a little less or more.
	if got := float64(over) / float64(panels); got < 0.2 || got > 0.6 {
		t.Errorf("%.2f of panels have a mean over %.2f standard errors, expected about %.2f", got, level, 1-math.Exp(-share))
	}
}

// A spot that is narrower than the eye of the finest windows must be surer than a wide one.
func TestNarrowSpotsMustBeSurer(t *testing.T) {
	for _, c := range []struct {
		length, width, least float64
	}{{150, 120, 1}, {narrowest, 40, 1}, {narrowest - 1, 60, 2}, {60, narrowest - 1, 2}} {
		s := Spot{Length: c.length, Width: c.width}
		if got := s.leastSure(); got != c.least {
			t.Errorf("a spot of %g by %g mm must be %g times its uncertainty deep, want %g", c.length, c.width, got, c.least)
		}
	}
}

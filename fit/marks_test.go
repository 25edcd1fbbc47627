package fit

import (
	"math"
	"testing"
)

// The face of the tail and the edge of the skin's end, whose points are taken for low skin in one column or
// row, are no low spots; a ding a few rows wide is.
func TestEdgesAreNoSpots(t *testing.T) {
	t.Parallel()
	w := small()
	length := w.survey(t, 1).Map.Length
	smooth := w.form
	w.form = func(arc, station float64) float64 {
		switch {
		case math.Min(arc, length-arc) < 8:
			return smooth(arc, station) - 0.8
		case station < 12 && arc > 500 && arc < 660:
			return smooth(arc, station) - 2.5
		}
		return smooth(arc, station)
	}
	ding := dent{300, 150, 45, 45, -2}
	w.dents = []dent{ding}
	r := fitted(t, &w, 1, wishes())
	if _, ok := find(r, ding); !ok || len(r.LowSpots) != 1 || len(r.HighSpots) != 0 {
		t.Errorf("low spots %+v, high spots %+v; want the ding alone", r.LowSpots, r.HighSpots)
	}
	if text, n := message(r, "narrow-marks"); n != 1 {
		t.Errorf("the edge of the skin is told %d times: %s", n, text)
	}
	for _, s := range r.Sections {
		if s.Arc > 8 && s.Arc < length-8 && math.Abs(s.Target-smooth(s.Arc, 0)) > 0.12 {
			t.Fatalf("at %.0f mm the target lies %.2f mm off the form", s.Arc, s.Target-smooth(s.Arc, 0))
		}
	}
}

// A stand with a flat top touches the curved skin in one place and gapes elsewhere; at its edges no skin is
// seen. The target keeps to the form across it.
func TestStandUnderTheSkin(t *testing.T) {
	t.Parallel()
	w := small()
	w.form = waves(2, w.chord, 0.4)
	smooth := w.form
	over := func(arc, station float64) (x, y float64) { return (arc - 1400) / 160, (station - 130) / 60 }
	w.form = func(arc, station float64) float64 {
		if x, y := over(arc, station); math.Abs(x) < 1 && math.Abs(y) < 1 {
			return smooth(arc, station) + 1 + 5*square(x+0.4)
		}
		return smooth(arc, station)
	}
	w.hole = func(arc, station float64) bool {
		x, y := over(arc, station)
		return math.Max(math.Abs(x), math.Abs(y)) < 1.1 && (math.Abs(x) > 1 || math.Abs(y) > 1)
	}
	r := fitted(t, &w, 1, wishes())
	if len(r.LowSpots)+len(r.HighSpots) > 0 {
		t.Errorf("low spots %+v, high spots %+v", r.LowSpots, r.HighSpots)
	}
	if text, n := message(r, "on-the-skin"); n != 1 {
		t.Errorf("the stand is told %d times: %s", n, text)
	}
	for _, s := range r.Sections {
		if off := math.Abs(s.Target - smooth(s.Arc, 0)); off > 0.25 {
			t.Fatalf("at %.0f mm the target lies %.2f mm off the form", s.Arc, off)
		}
	}
}

// A board that leaves the scanner points below the skin on its far side makes no low spot: no skin dips so steeply; a low
// spot of a usual shape beside it stays one.
func TestSteepDipBesideABoard(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		dip  dent
		want int
	}{
		{dent{arc: 600, station: 159, length: 300, width: 54, depth: -3.9}, 0},
		{dent{arc: 600, station: 190, length: 160, width: 150, depth: -1.5}, 1},
	} {
		w := usual()
		w.columns, w.span = 8, 400
		w.plateaux = []dent{{arc: 600, station: 100, length: 500, width: 64, depth: 6}}
		if c.want == 0 {
			w.plateaux = append(w.plateaux, c.dip)
		} else {
			w.dents = []dent{c.dip}
		}
		if got := len(fitted(t, &w, 4, wishes()).LowSpots); got != c.want {
			t.Errorf("a dip of %.1f mm over %.0f mm beside a board: %d low spots, want %d", -c.dip.depth, c.dip.width, got, c.want)
		}
	}
}

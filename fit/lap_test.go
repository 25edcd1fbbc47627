package fit

import (
	"math"
	"strings"
	"testing"
)

// Steps of the skin along a line are told with their height and their place, and leave the spots beside them as they are.
func TestLaps(t *testing.T) {
	t.Parallel()
	nose := small().noseArc(t)
	upper := func(arc float64) bool { return arc < nose }
	for _, c := range []struct {
		name string
		step func(arc, station float64) float64 // added to the form
		says []string                           // one for each step
	}{
		{"none", func(_, _ float64) float64 { return 0 }, nil},
		{"along the span", func(arc, _ float64) float64 {
			if upper(arc) && arc < 540 {
				return -0.6
			}
			return 0
		}, []string{"upper skin lies 0.6 ± 0.1 mm lower aft of a line along the span, 4"}},
		{"along a rib on both skins", func(_, station float64) float64 {
			if station > 190 {
				return -0.5
			}
			return 0
		}, []string{"skin, above and below, lies 0.5 ± 0.1 mm lower inboard of a line along the chord, 1"}},
		{"a strip has two edges", func(arc, _ float64) float64 {
			if upper(arc) && arc > 500 && arc < 600 {
				return 0.5
			}
			return 0
		}, nil},
		{"a wave has none", func(arc, _ float64) float64 {
			if upper(arc) {
				return 0.4 * math.Sin(2*math.Pi*arc/120)
			}
			return 0
		}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := small()
			low, high := dent{300, 110, 150, 130, -1}, dent{1500, 120, 110, 110, 0.6}
			w.dents = []dent{low, high}
			form := w.form
			w.form = func(arc, station float64) float64 { return form(arc, station) + c.step(arc, station) }
			r := fitted(t, &w, 1, wishes())
			var said []string
			for _, m := range r.Messages {
				if m.Code == "skin-steps" {
					said = append(said, m.Text)
				}
			}
			if len(said) != len(c.says) {
				t.Fatalf("told %d steps, want %d: %q", len(said), len(c.says), said)
			}
			for i, want := range c.says {
				if !strings.Contains(said[i], want) {
					t.Errorf("said %q, want %q", said[i], want)
				}
			}
			if c.says == nil {
				return
			}
			for _, d := range w.dents {
				if s, ok := find(r, d); !ok || !within(s.Depth, math.Abs(d.depth)) {
					t.Errorf("the spot %+v was found: %v, %.2f ± %.2f mm", d, ok, s.Depth.Value, s.Depth.U)
				}
			}
			if n := len(r.LowSpots) + len(r.HighSpots); n != 2 {
				t.Errorf("%d spots, want 2", n)
			}
			if e := errorsAtRib(&w, r); e.skin > 0.06 {
				t.Errorf("the skin at the rib is off by %.3f mm rms", e.skin)
			}
		})
	}
}

// noseArc returns the arc of the leading edge, mm.
func (w wing) noseArc(t tester) float64 { return w.survey(t, 1).Map.NoseArc }

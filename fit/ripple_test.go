package fit

import (
	"math"
	"strings"
	"testing"
)

// A skin that ripples is told so, with height and length, along the chord and along the span; its crests and hollows are
// no spots, and the spots that there are stay. One that waves in any direction is told to be uneven.
func TestRipples(t *testing.T) {
	t.Parallel()
	nose := usual().noseArc(t)
	for _, c := range []struct {
		name string
		wave func(arc, station float64) float64
		code string
		says string
		only bool // the spots are told as if there were no ripple
	}{
		{"along the chord", func(arc, _ float64) float64 { return 0.4 * math.Sin(2*math.Pi*arc/100) }, "skin-rippled", "about 0.8 mm, from crest to crest about 10", true},
		{"along the span", func(_, station float64) float64 { return 0.4 * math.Sin(2*math.Pi*station/120) }, "skin-sags", "", true},
		{"askew", func(arc, station float64) float64 { return 0.4 * math.Sin(2*math.Pi*(arc+station)/170) }, "skin-uneven", "of the upper skin", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			w := usual()
			w.span, w.columns, w.rows, w.points = 400, 8, 12, 200e3
			w.dents = []dent{{450, 110, 150, 130, -1}, {1700, 150, 120, 120, -1.3}}
			form := w.form
			w.form = func(arc, station float64) float64 {
				if arc > nose {
					return form(arc, station)
				}
				fade := math.Min(math.Abs(arc-nose)/150, 1)
				return form(arc, station) + c.wave(arc, station)*fade*fade*(3-2*fade)
			}
			r := fitted(t, &w, 1, wishes())
			for _, code := range []string{"skin-rippled", "skin-sags", "skin-uneven"} {
				text, n := message(r, code)
				if (n == 1) != (code == c.code) || code == c.code && !strings.Contains(text, c.says) {
					t.Errorf("%s was said %d times: %q", code, n, text)
				}
			}
			if !c.only {
				return
			}
			for _, d := range w.dents {
				if s, ok := find(r, d); !ok || math.Abs(s.Depth.Value+d.depth) > 0.15 {
					t.Errorf("the spot %+v was found: %v, %.2f ± %.2f mm", d, ok, s.Depth.Value, s.Depth.U)
				}
			}
			if n := len(r.LowSpots) + len(r.HighSpots); n != len(w.dents) {
				t.Errorf("%d spots, want %d", n, len(w.dents))
			}
		})
	}
}

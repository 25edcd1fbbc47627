package fit

import (
	"math"
	"testing"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// shifted returns the departures of a section that lies off its loft by (x, z), mm, aft and up.
func shifted(w *wing, x, z func(station float64) float64) func(arc, station float64) float64 {
	a, err := airfoil.Parse(w.airfoil)
	if err != nil {
		panic(err)
	}
	c := newContour(&section.Loft{Airfoil: a, Chord: w.chord})
	length := polylineLength(c.points) * w.chord
	return func(arc, station float64) float64 {
		_, n := c.at(arc / length)
		return x(station)*n.X + z(station)*n.Y
	}
}

// A loft placed a millimetre off, or a wing that bends along its span as no loft does, makes no spot at the
// nose and no error of the form there; a real low spot at the nose is still found.
func TestShiftedLoftMakesNoSpotAtTheNose(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ x, z func(float64) float64 }{
		"aft":     {func(float64) float64 { return 1 }, func(float64) float64 { return 0 }},
		"forward": {func(float64) float64 { return -1 }, func(float64) float64 { return 0.3 }},
		"bent":    {func(float64) float64 { return 0.2 }, func(st float64) float64 { return 0.6 * (8*square(st/600-0.5) - 1) }},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			w := small()
			w.airfoil, w.span, w.points = "NACA 2412", 600, 320e3
			smooth, shift := w.form, shifted(&w, c.x, c.z)
			w.form = func(arc, station float64) float64 { return smooth(arc, station) + shift(arc, station) }
			r := fitted(t, &w, 1, wishes())
			if len(r.LowSpots)+len(r.HighSpots) > 0 {
				t.Errorf("low spots %+v, high spots %+v", r.LowSpots, r.HighSpots)
			}
			if e := errorsAtRib(&w, r); e.form > 0.04 || e.worstForm > 0.15 {
				t.Errorf("form off by %.3f mm rms, %.3f at worst", e.form, e.worstForm)
			}
			d := dent{r.Survey.Map.NoseArc + 5, 120, 110, 110, -1}
			w.dents = []dent{d}
			s, ok := find(fitted(t, &w, 2, wishes()), d)
			if !ok || math.Abs(s.Depth.Value-1) > s.Depth.U {
				t.Errorf("a low spot at the nose: found %v, %+v", ok, s.Depth)
			}
		})
	}
}

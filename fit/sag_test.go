package fit

import (
	"math"
	"testing"
)

// A sag of 0.3 mm between ribs 200 to 300 mm apart, which in single cells drowns in noise, is told, and depth and volume of a spot
// are those of the spot, not of the bay that it lies in. Noise that neighbours share is no sag.
func TestFaintSag(t *testing.T) {
	t.Parallel()
	const deep = 0.3
	for i, pitch := range []float64{200, 250, 300} {
		w := usual()
		w.span, w.columns, w.rows, w.points = 600, 8, 12, 100e3
		w.form = waves(uint64(i)+7, w.chord, 0.3)
		flat, nose := w.form, w.survey(t, 1).Map.NoseArc
		w.form = func(arc, station float64) float64 {
			fade := math.Min(math.Abs(arc-nose)/(0.1*w.chord), 1)
			s := math.Sin(math.Pi * station / pitch)
			return flat(arc, station) - deep*s*s*fade*fade*(3-2*fade)
		}
		d := dent{600, 160, 150, 150, -1}
		w.dents = []dent{d}
		r := fitted(t, &w, uint64(i), wishes())
		s, ok := find(r, d)
		if !r.work.parted.form.sags || !ok {
			t.Errorf("ribs %.0f mm apart: sag told %v, spot found %v", pitch, r.work.parted.form.sags, ok)
			continue
		}
		t.Logf("ribs %.0f mm apart: %.2f ± %.2f mm deep, %.1f ± %.1f ml of %.1f", pitch, s.Depth.Value, s.Depth.U, s.Volume.Value/1e3, s.Volume.U/1e3, d.volume()/1e3)
		if !within(s.Depth, 1) || math.Abs(s.Volume.Value/d.volume()-1) > 0.2 {
			t.Errorf("ribs %.0f mm apart: %.2f ± %.2f mm deep, %.1f ml of %.1f", pitch, s.Depth.Value, s.Depth.U, s.Volume.Value/1e3, d.volume()/1e3)
		}
	}
	for seed := range uint64(3) {
		w := usual()
		w.span, w.columns, w.rows, w.points, w.drift, w.reach = 600, 8, 12, 100e3, 0.2, 15+12*float64(seed)
		if fitted(t, &w, seed, wishes()).work.parted.form.sags {
			t.Errorf("seed %d: shared noise is taken for a sag", seed)
		}
	}
}

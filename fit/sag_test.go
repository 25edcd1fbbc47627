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

// A skin that sags by 0.8 mm in the middle of the chord and not at all at the nose and aft of a spar, in bays that are
// parabolas, is told as that: no rib is a high spot, no bay a low one, and the skin at the tip rib is that of the rib. Where the
// outermost rib lies off the skin's end, the target's uncertainty holds the level of the ribs.
func TestUnevenSag(t *testing.T) {
	t.Parallel()
	const deep, pitch = 0.8, 300.0
	for i, off := range []float64{0, 100} {
		w := usual()
		w.span, w.columns, w.rows, w.points = 900, 10, 15, 60e3
		w.form = waves(uint64(i)+7, w.chord, 0.2)
		flat, nose := w.form, w.survey(t, 1).Map.NoseArc
		w.form = func(arc, station float64) float64 {
			bay := math.Mod(station+off, pitch) / pitch
			along := math.Sin(math.Pi * math.Min(math.Max(math.Abs(arc-nose)/w.chord-0.05, 0)/0.7, 1))
			return flat(arc, station) - deep*along*4*bay*(1-bay)
		}
		r := fitted(t, &w, uint64(i), wishes())
		if !r.work.parted.form.sags || len(r.HighSpots) > 0 || len(r.LowSpots) > 0 {
			t.Errorf("ribs from %.0f mm off the end: sag told %v, %d low and %d high spots", off, r.work.parted.form.sags, len(r.LowSpots), len(r.HighSpots))
		}
		middle := nose - 0.4*w.chord
		below := deep * 4 * off / pitch * (1 - off/pitch)
		if got := r.work.parted.form.belowRibs(middle); math.Abs(got-below) > 0.25 { // the ribs' edges are rounded
			t.Errorf("ribs from %.0f mm off the end: the tip lies %.2f mm below the ribs, want %.2f", off, got, below)
		}
		if got := r.work.parted.form.at(middle, 0) - flat(middle, 0) + below; math.Abs(got) > 0.15 {
			t.Errorf("ribs from %.0f mm off the end: the form at the tip rib is %.2f mm off", off, got)
		}
	}
}

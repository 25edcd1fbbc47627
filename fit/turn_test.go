package fit

import (
	"math"
	"testing"
)

// A deflection that the loft has wrong by half a degree is put right by the kink that it leaves at the hinge
// line, and the target is that of the aileron at neutral; one that is right is left alone. A wave of the form
// that runs across the hinge line is no turn.
func TestTurnOfTheAileron(t *testing.T) {
	t.Parallel()
	for _, degrees := range []float64{0, -0.5, 0.3} {
		w := usual()
		w.hinge, w.deflect, w.form = 0.76, 0.02, waves(4, w.chord, 0.6)
		s := w.survey(t, 1)
		p, err := newPanel(s, 300)
		if err != nil {
			t.Fatal(err)
		}
		faired, turn, off := w.form, newTurn(p), degrees*math.Pi/180
		w.form = func(arc, station float64) float64 { return faired(arc, station) + off*turn.lever*turn.at(arc) }
		r := fitted(t, &w, 2, wishes())
		got := *r.Deflection
		if d := math.Abs(got.Value - w.deflect - off); d > got.U || got.U > 0.15*math.Pi/180 {
			t.Errorf("%g degrees: got %.3f ± %.3f", degrees, (got.Value-w.deflect)*180/math.Pi, got.U*180/math.Pi)
		}
		var sum float64
		for _, tr := range r.Sections {
			sum += square(tr.Target - faired(tr.Arc, 0))
		}
		if rms := math.Sqrt(sum / float64(len(r.Sections))); rms > 0.1 {
			t.Errorf("%g degrees: target off by %.3f mm rms", degrees, rms)
		}
	}
}

// The turn is what the loft does when its deflection grows.
func TestTurnFollowsTheLoft(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge = 0.75
	s := w.survey(t, 1)
	p, err := newPanel(s, 300)
	if err != nil {
		t.Fatal(err)
	}
	turn := newTurn(p)
	const small = 1e-6
	down := s.Loft
	down.Deflection = small
	for _, arc := range []float64{5, 100, p.hinge[0] - 10, p.hinge[0] + 10, p.nose, p.hinge[1] - 10, p.hinge[1] + 10, p.length - 5} {
		q, n := p.contour.at(arc / p.length)
		moved := (down.Deflect(q).X-q.X)*n.X + (down.Deflect(q).Y-q.Y)*n.Y
		if want := moved * w.chord / small / turn.lever; math.Abs(turn.at(arc)-want) > 1e-4 {
			t.Errorf("at %.0f mm: %g, want %g", arc, turn.at(arc), want)
		}
	}
}

// Waves of the form near the hinge line and the tail pass for turn no more: what was 0.11 degrees rms when the turn was
// read with the form's own cut alone stays below 0.07, and the truth lies within the uncertainty.
func TestTurnAmongWaves(t *testing.T) {
	t.Parallel()
	const wings = 6
	var sum, hits float64
	for seed := range uint64(wings) {
		w := usual()
		w.hinge, w.columns, w.rows, w.span = 0.77, 8, 12, 400
		w.form = waves(seed+20, w.chord, 0.6)
		d := fitted(t, &w, seed, wishes()).Deflection
		sum += square(degrees(d.Value))
		if math.Abs(d.Value) <= d.U {
			hits++
		}
	}
	rms := math.Sqrt(sum / wings)
	t.Logf("turn off by %.3f degrees rms, %g of %d within U", rms, hits, wings)
	if rms > 0.07 || hits < wings-1 {
		t.Errorf("turn off by %.3f degrees rms, %g of %d within U", rms, hits, wings)
	}
}

// Two readings that agree within noise give the less noisy one; two that noise cannot explain the less biased, and an
// uncertainty that is no smaller than its own.
func TestReconcile(t *testing.T) {
	t.Parallel()
	coarse, fine := reading{1, 0.01}, reading{1.05, 0.02}
	if v, sd := reconcile(coarse, fine); v != 1 || math.Abs(sd-0.1) > 1e-12 {
		t.Errorf("agreeing: %g ± %g", v, sd)
	}
	fine.value = 3
	if v, sd := reconcile(coarse, fine); math.Abs(v-3) > 0.01 || sd < fineBias*2 {
		t.Errorf("far apart: %g ± %g", v, sd)
	}
}

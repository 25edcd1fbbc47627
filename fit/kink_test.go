package fit

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tipwright/scan"
)

// unnamedAileron is a wing whose aileron stands off neutral by an angle, rad, and whose wing sheet does not say so.
func unnamedAileron(t *testing.T, seed uint64, hinge, angle float64) (wing, func(arc, station float64) float64) {
	t.Helper()
	w := usual()
	w.columns, w.rows, w.span = 9, 14, 400
	w.form = waves(seed, w.chord, 0.5)
	w.scatter(seed, 0.08, 300)
	known := w
	known.hinge = hinge
	p, err := newPanel(known.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	turn, faired := newTurn(p), w.form
	w.form = func(arc, station float64) float64 { return faired(arc, station) + angle*turn.lever*turn.at(arc) }
	return w, faired
}

// An aileron off neutral that the wing sheet does not name is told with its hinge line and its angle; a wing without
// one, with all its spots and waves, is not.
func TestAileronNotInSheet(t *testing.T) {
	t.Parallel()
	for i, c := range []struct{ hinge, angle float64 }{{0.78, 1.2}, {0.72, -2}, {0.80, 4}, {0.77, 0}, {0.75, 0}} {
		w, _ := unnamedAileron(t, uint64(i), c.hinge, c.angle*math.Pi/180)
		r := fitted(t, &w, uint64(i), wishes())
		k, ok := r.work.kink()
		if tail := math.Abs(c.angle) * math.Pi / 180 * (1 - c.hinge) * w.chord; r.TargetU < tail/3 || c.angle == 0 && r.TargetU > 0.5 {
			t.Errorf("hinge at %.2f turned by %g: the target's tail is off by %.1f mm, said ± %.2f", c.hinge, c.angle, tail, r.TargetU)
		}
		if told := slices.ContainsFunc(r.Messages, func(m scan.Message) bool { return m.Code == "aileron-not-in-sheet" && m.Level == scan.Caution }); told != (c.angle != 0) {
			t.Errorf("hinge at %.2f turned by %g: told %v", c.hinge, c.angle, told)
		}
		if ok && (math.Abs(k.hinge-c.hinge) > 0.021 || math.Abs(degrees(k.turn)-c.angle) > 0.25) {
			t.Errorf("hinge at %.2f turned by %g: found at %.2f, %.2f degrees", c.hinge, c.angle, k.hinge, degrees(k.turn))
		}
	}
}

// A strip that is low along the span on one skin alone, as a bad skin joint leaves it, is no aileron.
func TestStripIsNoAileron(t *testing.T) {
	t.Parallel()
	w := usual()
	w.columns, w.rows, w.span = 9, 14, 400
	smooth := w.form
	w.form = func(arc, station float64) float64 {
		return smooth(arc, station) - 2*math.Exp(-square((arc-250)/70))
	}
	for _, m := range fitted(t, &w, 3, wishes()).Messages {
		if strings.HasPrefix(m.Code, "aileron") {
			t.Errorf("said: %s", m.Text)
		}
	}
}

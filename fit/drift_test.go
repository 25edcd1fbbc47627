package fit

import (
	"math"
	"testing"
)

// Noise that neighbouring points share over 8, 25 and 50 mm is found with about its size, and form, skin and detection limit
// say how much worse they are known for it; where there is none, they are as sharp as ever.
func TestSharedNoise(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ size, reach, most float64 }{{0, 25, 0.07}, {0.15, 8, 0.3}, {0.15, 25, 0.6}, {0.15, 50, 0.9}} {
		const wings = 2
		var form, skin, count, size, u float64
		for seed := range uint64(wings) {
			w := usual()
			w.columns, w.rows, w.span, w.drift, w.reach = 8, 12, 420, c.size, c.reach
			w.form = waves(seed+3, w.chord, 0.4)
			r := fitted(t, &w, seed, wishes())
			e := errorsAtRib(&w, r)
			form, skin, count = form+e.formHits, skin+e.skinHits, count+e.count
			size += math.Sqrt(math.Max(r.work.parted.drift.size2, 0)) / wings
			u = math.Max(u, r.OutlineU)
		}
		form, skin = form/count, skin/count
		t.Logf("%.2f mm over %.0f mm: found %.2f mm; within U form %.3f, skin %.3f; U %.2f", c.size, c.reach, size, form, skin, u)
		if form < 0.88 || skin < 0.9 {
			t.Errorf("%.2f mm over %.0f mm: within U form %.3f, skin %.3f", c.size, c.reach, form, skin)
		}
		if size < 0.6*c.size || size > 1.5*c.size+0.03 || u > c.most {
			t.Errorf("%.2f mm over %.0f mm: found %.2f mm, U %.2f", c.size, c.reach, size, u)
		}
	}
}

// What the form's filter leaves of a field, as the doc comment has it: all of a short one under a narrow window, ever less
// of one that reaches as far as the form's own waves, and never more than a window passes.
func TestLeftOfAField(t *testing.T) {
	t.Parallel()
	w := small()
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	f := newForm(p, formCut*w.chord)
	before := 1.0
	for _, reach := range driftReaches() {
		left := f.leftOf(kernel{8, 8}, reach, formCut*w.chord, p.span())
		passed := square(reach) / (square(reach) + 2*8*8)
		if left > passed+1e-6 || reach < 20 && left < 0.75*passed || left/passed > before+1e-9 {
			t.Errorf("reach %.0f mm: %.3f left of %.3f passed", reach, left, passed)
		}
		before = left / passed
	}
	if before > 0.5 {
		t.Errorf("%.2f of the longest field is left", before)
	}
}

package fit

import (
	"errors"
	"testing"

	"tipwright/scan"
)

// What was not seen counts in what is said of the whole outline, and a scan that shows hardly any of it is refused.
func TestUncertaintyOfAnUnseenOutline(t *testing.T) {
	t.Parallel()
	w := small()
	whole := fitted(t, &w, 1, wishes())
	w.hole = func(arc, _ float64) bool { return arc > 1100 && arc < 1700 }
	r := fitted(t, &w, 1, wishes())
	if !(r.OutlineU > 2*whole.OutlineU) {
		t.Errorf("with 600 mm unseen the outline is said to be known to %.2f mm, with none to %.2f", r.OutlineU, whole.OutlineU)
	}
	w.hole = func(arc, station float64) bool { return station < 150 && arc > 150 }
	_, err := Fit(w.survey(t, 1), wishes())
	if refused(err) != "too-little-seen" {
		t.Errorf("a tip rib without points is not refused: %v", err)
	}
}

func refused(err error) string {
	var e *scan.RefusalError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

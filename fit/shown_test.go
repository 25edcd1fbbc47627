package fit

import (
	"errors"
	"math/rand/v2"
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

// A scan so sparse that three cells of four are empty shows the whole outline nevertheless, and a hole in it stays one.
func TestSeenInASparseScan(t *testing.T) {
	t.Parallel()
	const columns, rows = 300, 60
	r := rand.New(rand.NewPCG(2, 9))
	p := &panel{arc: make([]float64, columns), station: make([]float64, rows), w: make([]float64, columns*rows)}
	hole := func(i, j int) bool { return i < 20 && j >= 100 && j < 140 }
	for i := range rows {
		for j := range columns {
			if !hole(i, j) && r.IntN(4) == 0 {
				p.w[i*columns+j] = 1
			}
		}
	}
	p.round = p.lookRound()
	seen, inHole := 0, 0
	for j := range columns {
		switch {
		case j > 105 && j < 134:
			if p.seenNear(5, j) {
				inHole++
			}
		case !hole(5, j) && p.seenNear(5, j):
			seen++
		}
	}
	if seen < 250 || inHole > 0 {
		t.Errorf("of 260 columns that were scanned %d count as seen, of 28 in a hole %d", seen, inHole)
	}
}

func refused(err error) string {
	var e *scan.RefusalError
	if errors.As(err, &e) {
		return e.Code
	}
	return ""
}

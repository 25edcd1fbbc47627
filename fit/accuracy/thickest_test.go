package accuracy

import (
	"math"
	"testing"

	"tipwright/section/airfoil"
)

// TestThickest finds the greatest thickness of NACA 4412, 12 % by its name, on outlines however many points they have.
func TestThickest(t *testing.T) {
	a, err := airfoil.Parse("NACA 4412")
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []int{201, 802, 1601} {
		// Height is taken upright and thickness square to a mean line that is level where the section is thickest: the
		// two differ by less than 0.1 % of the chord.
		if got := thickest(a.Outline(n)); math.Abs(got-0.12) > 0.001 {
			t.Errorf("%d points: thickest %.4f, want 0.12", n, got)
		}
	}
}

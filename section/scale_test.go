package section

import (
	"math"
	"testing"
)

// TestHingeHeightU works the doubt about a hinge line's height by hand: NACA 0012 is 6.32 % of its chord deep at
// 75 % (NACA TR 460, table of ordinates), and the standard deviation of a rectangular distribution is its width over
// the root of twelve (JCGM 100:2008, 4.3.7).
func TestHingeHeightU(t *testing.T) {
	f := testFitter(t, "NACA 0012")
	f.Chord, f.Hinge, f.Deflection = 1000, 0.75, 0.05
	want := 2 * 63.2 * math.Sin(0.05) / math.Sqrt(12)
	if got := f.hingeHeightU(); math.Abs(got-want) > 0.02 {
		t.Errorf("U = %.3f mm, want %.3f", got, want)
	}
	f.Deflection = -0.05
	if got := f.hingeHeightU(); math.Abs(got-want) > 0.02 {
		t.Errorf("turned up: U = %.3f mm, want %.3f", got, want)
	}
	f.Hinge = 0
	if got := f.hingeHeightU(); got != 0 {
		t.Errorf("without an aileron: U = %.3f mm, want 0", got)
	}
}

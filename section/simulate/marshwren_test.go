package simulate

import (
	"math"
	"testing"

	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// thickest returns the greatest height between the skins at one place along the outline.
func thickest(t *Truth) float64 {
	best := 0.0
	for i := range outlineEven / 2 {
		best = max(best, t.Target[i].Y-t.Target[outlineEven-1-i].Y)
	}
	return best
}

func TestSheetTellsTheTruth(t *testing.T) {
	s, err := sheet.Parse([]byte(MarshWrenSheet()), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	a, err := airfoil.Parse(s.Airfoil)
	if err != nil {
		t.Fatal(err)
	}
	for _, side := range []section.Side{section.Left, section.Right} {
		w, scanner := MarshWren(side)
		if w.Side != side || w.Airfoil.Name != a.Name || w.Hinge != s.Hinge {
			t.Errorf("%v: the wing is not the one on the sheet", side)
		}
		truth := newTruth(newSkin(&w), section.Identity(), 0)
		// A tape is read to half a millimetre or so.
		if d := truth.Taped - s.Chord.MM(); math.Abs(d) > 0.6 {
			t.Errorf("%v: the sheet's chord is %.2f mm off the tape", side, d)
		}
		if d := thickest(truth) - s.Thickness.MM(); math.Abs(d) > 0.6 {
			t.Errorf("%v: the sheet's thickness is %.2f mm off", side, d)
		}
		if err := w.check(); err != nil {
			t.Error(err)
		}
		if err := scanner.check(); err != nil {
			t.Error(err)
		}
	}
}

func TestMarshWrenHasSomethingToFind(t *testing.T) {
	s, err := sheet.Parse([]byte(MarshWrenSheet()), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	left, _ := MarshWren(section.Left)
	right, _ := MarshWren(section.Right)
	for _, w := range []Wing{left, right} {
		low, high := 0, 0
		for _, b := range w.Spots {
			if b.Station+b.Width/2 > s.Band.MM() || b.Station-b.Width/2 < 0 {
				t.Errorf("%v: a spot reaches past the filler band: %+v", w.Side, b)
			}
			if b.Height <= -s.ActAbove.MM() {
				low++
			}
			if b.Height > s.SandLimit.MM() {
				high++
			}
		}
		if low != 2 || high != 1 {
			t.Errorf("%v: %d low and %d high spots", w.Side, low, high)
		}
	}
	if left.Deflection*right.Deflection >= 0 || left.Twist == right.Twist || left.Chord == right.Chord {
		t.Error("the two wings are too much alike")
	}
}

func TestMarshWrenScan(t *testing.T) {
	w, s := MarshWren(section.Right)
	out, truth := mustScan(t, w, s)
	if n := len(out.Points); n < 200_000 || n > 250_000 {
		t.Errorf("%d points", n)
	}
	near := 0
	for _, p := range back(out, truth) {
		if p.Y <= 1 && p.Y >= -w.Span-1 && p.X > -20 && p.X < w.Chord+20 && math.Abs(p.Z) < 150 {
			near++
		}
	}
	if share := float64(near) / float64(len(out.Points)); share < 0.6 || share > 0.8 {
		t.Errorf("the wing holds %.0f %% of the points", 100*share)
	}
}

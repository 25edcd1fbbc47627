package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// A wedge's normals lean aft: a thick skin on them would lengthen the section by a tenth of its thickness and more.
func TestOutlineEndsAtTheTail(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"NACA 23012", "NACA 0024"} {
		a, err := airfoil.Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		l := section.Loft{Airfoil: a, Chord: 1000}
		c := newContour(&l)
		for _, d := range []float64{0, 0.5, 3} {
			out := c.outline(&l, 0, func(int, float64) float64 { return d })
			first, last := out[0], out[len(out)-1]
			base := a.Outline(outlinePoints)
			if e := math.Max(math.Abs(first.X-1000*base[0].X), math.Abs(last.X-1000*base[len(base)-1].X)); e > 1e-6 {
				t.Errorf("%s, %.1f mm of skin: the ends lie at %v and %v", name, d, first, last)
			}
			_, up := c.at(0)
			thick := 1000*(base[0].Y-base[len(base)-1].Y) + d*2/up.Y // a wedge's skins laid parallel
			if e := first.Y - last.Y - thick; math.Abs(e) > 0.05 {
				t.Errorf("%s, %.1f mm of skin: the tail is %.3f mm thick, want %.3f", name, d, first.Y-last.Y, thick)
			}
		}
	}
}

func TestCutAft(t *testing.T) {
	t.Parallel()
	path := []r2.Vec{{X: 4, Y: 0}, {X: 3, Y: 1}, {X: 1, Y: 3}, {X: 0, Y: 4}}
	for _, c := range []struct {
		x     float64
		first r2.Vec
		left  int
	}{
		{5, r2.Vec{X: 4, Y: 0}, 4}, {4, r2.Vec{X: 4, Y: 0}, 4}, {3.5, r2.Vec{X: 3.5, Y: 0.5}, 4}, {2, r2.Vec{X: 2, Y: 2}, 3}, {-1, r2.Vec{X: 4, Y: 0}, 4},
	} {
		got := cutAft(append([]r2.Vec(nil), path...), c.x)
		if len(got) != c.left || r2.Norm(r2.Sub(got[0], c.first)) > 1e-12 {
			t.Errorf("cut at %.1f: %v, want %d points from %v", c.x, got, c.left, c.first)
		}
	}
}

package section_test

import (
	"math"
	"slices"
	"testing"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// TestNoseOfCoarseScannersMesh cautions about a scanner's mesh with facets as long as the nose's radius, gives the nose a
// wider uncertainty, and says nothing of a finer or an exact one.
func TestNoseOfCoarseScannersMesh(t *testing.T) {
	a, err := airfoil.Parse("NACA 0012")
	if err != nil {
		t.Fatal(err)
	}
	wing := simulate.Wing{Airfoil: a, Side: section.Left, Chord: 630, Span: 400, Taper: 0.05, TailThickness: 2}
	noseSE := map[bool]float64{}
	for _, c := range []struct {
		points int
		noise  float64
		want   bool
	}{{4000, 0.6, true}, {30000, 0.6, false}, {4000, 0, false}} {
		s, truth, err := simulate.Scan(wing, simulate.Scanner{Seed: 7, Points: c.points, Noise: c.noise, Unit: scan.Millimetre,
			RandomPose: true, RibFace: simulate.Closed, Mesh: true})
		if err != nil {
			t.Fatal(err)
		}
		v, err := section.Measure(s, section.Options{Airfoil: a, Chord: truth.Taped, Side: section.Left, Unit: scan.Millimetre})
		if err != nil {
			t.Fatal(err)
		}
		if got := told(v, "coarse-nose"); got != c.want {
			t.Errorf("%d points, noise %g mm: cautioned %v, want %v", c.points, c.noise, got, c.want)
		}
		var se []float64
		for i := range v.Map.Station {
			for j, arc := range v.Map.Arc {
				if c := v.Map.At(i, j); c.N > 0 && math.Abs(arc-v.Map.NoseArc) < 6 {
					se = append(se, c.SE)
				}
			}
		}
		slices.Sort(se)
		noseSE[c.want] = se[len(se)/2]
	}
	if noseSE[true] < 0.3 || noseSE[false] > 0.3 {
		t.Errorf("the nose's standard error is %.2f mm on the coarse mesh, %.2f on the fine one", noseSE[true], noseSE[false])
	}
}

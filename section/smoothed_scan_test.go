package section_test

import (
	"math"
	"testing"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// TestSmoothedMeshIsToldAndItsScaleHolds: smoothing takes millimetres off the tail; that must be said, and the scale's
// error stay within its uncertainty. A mesh as scanned must not be taken for smoothed.
func TestSmoothedMeshIsToldAndItsScaleHolds(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	w := simulate.Wing{Airfoil: a, Side: section.Left, Chord: 1100, Span: 400, Taper: 0.05, TailThickness: 2.5}
	for _, rounds := range []int{0, 5} {
		s, truth, err := simulate.Scan(w, simulate.Scanner{Seed: 3, Points: 70000, Noise: 0.5, Unit: scan.Millimetre,
			RandomPose: true, RibFace: simulate.Closed, Mesh: true, MeshSmooth: rounds})
		if err != nil {
			t.Fatal(err)
		}
		v, err := section.Measure(s, section.Options{Airfoil: a, Chord: truth.Taped, Side: w.Side})
		if err != nil {
			t.Fatal(err)
		}
		off := w.Chord * (v.WingFromScan.Scale/truth.WingFromScan.Scale - 1)
		if u := w.Chord * v.ScaleRel; math.Abs(off) > u || math.Abs(off) > 1.2 {
			t.Errorf("%d rounds: the scale is %.2f mm off on the chord, U is %.2f", rounds, off, u)
		}
		if got := told(v, "mesh-smoothed"); got != (rounds > 0) {
			t.Errorf("%d rounds of smoothing: told is %v", rounds, got)
		}
	}
}

package section_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// scene is one wing to find, and how it was scanned.
type scene struct {
	name string
	foil string
	wing simulate.Wing
	scan simulate.Scanner
}

var scenes = []scene{
	{name: "cloud in metres, closed rib, floor and stand", foil: "NACA 23012",
		wing: simulate.Wing{Side: section.Left, Chord: 1220, Span: 700, Taper: 0.06, Twist: 2e-5, Hinge: 0.78, Deflection: 0.02},
		scan: simulate.Scanner{Seed: 1, Points: 90000, Noise: 0.5, Unit: scan.Metre, RandomPose: true, Floor: true, Stand: true, Strays: 0.01, RibFace: simulate.Closed}},
	{name: "mesh in inches, open rib, thick tail", foil: "NACA 2412",
		wing: simulate.Wing{Side: section.Right, Chord: 900, Span: 800, Taper: 0.1, Sweep: 0.03, Dihedral: -0.05, TailThickness: 4, SkinOffset: 0.4},
		scan: simulate.Scanner{Seed: 2, Points: 90000, Noise: 0.5, Isotropic: true, Mesh: true, Unit: scan.Inch, RandomPose: true, Floor: true, Wall: true}},
	{name: "symmetric section, told by its rib's face", foil: "NACA 0012",
		wing: simulate.Wing{Side: section.Right, Chord: 1000, Span: 500},
		scan: simulate.Scanner{Seed: 3, Points: 60000, Noise: 0.3, Unit: scan.Millimetre, RandomPose: true, RibFace: simulate.Closed}},
	// The form hides the taper from the coarse cloud, and turned over the wing fits as well.
	{name: "symmetric section, told by a little taper", foil: "NACA 0012",
		wing: simulate.Wing{Side: section.Left, Chord: 1050, Span: 660, Taper: 0.017, Hinge: 0.78, Deflection: -0.002,
			Form: []simulate.Wave{{Surface: simulate.Lower, Amplitude: 0.683, Length: 938, Phase: 5.202, SpanLength: 1500},
				{Surface: simulate.Upper, Amplitude: 1.334, Length: 1360, Phase: 3.924, SpanLength: 1300}}},
		scan: simulate.Scanner{Seed: 4, Points: 60000, Noise: 0.15, Unit: scan.Metre, RandomPose: true, RibFace: simulate.Ragged}},
}

// TestMeasure holds pose, scale, twist and aileron to the truth of simulated scans.
func TestMeasure(t *testing.T) {
	for _, sc := range scenes {
		t.Run(sc.name, func(t *testing.T) {
			a, err := airfoil.Parse(sc.foil)
			if err != nil {
				t.Fatal(err)
			}
			sc.wing.Airfoil = a
			s, truth, err := simulate.Scan(sc.wing, sc.scan)
			if err != nil {
				t.Fatal(err)
			}
			opt := section.Options{Airfoil: a, Chord: truth.Taped, Hinge: sc.wing.Hinge, Side: sc.wing.Side}
			v, err := section.Measure(s, opt)
			if err != nil {
				t.Fatal(err)
			}
			for k, axis := range []string{"X", "Y", "Z"} {
				got, want := v.WingFromScan.R[k], truth.WingFromScan.R[k]
				dot := got[0]*want[0] + got[1]*want[1] + got[2]*want[2]
				if angle := math.Acos(math.Min(dot, 1)) * 180 / math.Pi; angle > 0.25 {
					t.Errorf("%s axis is off by %.3f degrees", axis, angle)
				}
			}
			origin := truth.WingFromScan.After(v.WingFromScan.Inverse()).Apply(r3.Vec{})
			if r3.Norm(origin) > 2.5 {
				t.Errorf("the origin lies at %.2f mm in the true wing frame", origin)
			}
			if off := (v.WingFromScan.Scale/truth.WingFromScan.Scale - 1) * sc.wing.Chord; math.Abs(off) > 1.5 {
				t.Errorf("the scale is off by %.2f mm on the chord", off)
			}
			if off := v.Twist.Value - sc.wing.Twist; math.Abs(off) > math.Max(2*v.Twist.U, 1e-6) {
				t.Errorf("twist is off by %.2g rad/mm, U %.2g", off, v.Twist.U)
			}
			if v.Deflection != nil && math.Abs(v.Deflection.Value-sc.wing.Deflection) > 2*v.Deflection.U {
				t.Errorf("deflection %.4f ± %.4f, truth %.4f", v.Deflection.Value, v.Deflection.U, sc.wing.Deflection)
			}
			if math.Abs(v.Noise-sc.scan.Noise) > 0.2*sc.scan.Noise {
				t.Errorf("noise %.3f mm, truth %.3f", v.Noise, sc.scan.Noise)
			}
		})
	}
}

// TestMeasureRefuses wants a refusal in words for scans that hold no such wing.
func TestMeasureRefuses(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	room := &scan.Scan{}
	for i := range 20000 {
		x, y := float32(i%141)*20, float32(i/141)*20
		room.Points = append(room.Points, [3]float32{x, y, 0}, [3]float32{x, 0, y / 2})
	}
	for name, s := range map[string]*scan.Scan{"a room": room, "nothing": {}} {
		_, err := section.Measure(s, section.Options{Airfoil: a, Chord: 1200, Side: section.Left})
		if _, ok := err.(*scan.RefusalError); !ok {
			t.Errorf("%s: want a refusal, got %v", name, err)
		}
	}
}

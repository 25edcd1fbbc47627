package section_test

import (
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// TestDoubledSkin scans a wing in two passes that lie apart, and in some cases with what lies on or near a skin that was
// seen once.
func TestDoubledSkin(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	wing := simulate.Wing{Airfoil: a, Side: section.Left, Chord: 900, Span: 420, Taper: 0.04, TailThickness: 2}
	hinged := wing
	hinged.Hinge = 0.75
	for _, c := range []struct {
		name  string
		wing  simulate.Wing
		more  simulate.Scanner
		drift r3.Vec
		want  bool
	}{
		{"one pass", wing, simulate.Scanner{}, r3.Vec{}, false},
		{"passes that agree", wing, simulate.Scanner{}, r3.Vec{X: 0.1, Z: 0.2}, false},
		{"drift across the skin", wing, simulate.Scanner{}, r3.Vec{Z: 3}, true},
		{"drift along the chord", wing, simulate.Scanner{}, r3.Vec{X: -3.5}, true},
		{"drift askew", wing, simulate.Scanner{}, r3.Vec{X: 2, Y: 2, Z: -2.5}, true},
		{"drift between meshes", wing, simulate.Scanner{Mesh: true}, r3.Vec{X: -2, Z: -2.5}, true},
		{"strips, tape and a hand", hinged, simulate.Scanner{Strips: true, Tape: true, Hand: true, Stand: true, Floor: true}, r3.Vec{}, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			one := c.more
			one.Points, one.Noise, one.Unit, one.RibFace = 30000, 0.45, scan.Millimetre, simulate.Closed
			one.Seed = 4
			s, truth, err := simulate.Scan(c.wing, one)
			if err != nil {
				t.Fatal(err)
			}
			if c.drift != (r3.Vec{}) {
				one.Seed = 5
				second, _, err := simulate.Scan(c.wing, one)
				if err != nil {
					t.Fatal(err)
				}
				add(s, second, c.drift)
			}
			v, err := section.Measure(s, section.Options{Airfoil: a, Chord: truth.Taped, Side: section.Left, Unit: scan.Millimetre})
			if err != nil {
				t.Fatal(err)
			}
			if got := told(v, "skin-doubled"); got != c.want {
				t.Errorf("told of two surfaces: %v, want %v", got, c.want)
			}
		})
	}
}

// add puts a second scan to the first, moved by a shift.
func add(s, second *scan.Scan, shift r3.Vec) {
	before := uint32(len(s.Points))
	for _, t := range second.Triangles {
		s.Triangles = append(s.Triangles, [3]uint32{t[0] + before, t[1] + before, t[2] + before})
	}
	for i := range second.Points {
		p := second.At(i)
		for k, d := range []float64{shift.X, shift.Y, shift.Z} {
			p[k] += d - s.Origin[k]
		}
		s.Points = append(s.Points, [3]float32{float32(p[0]), float32(p[1]), float32(p[2])})
	}
}

func told(v *section.Survey, code string) bool {
	return slices.ContainsFunc(v.Messages, func(m scan.Message) bool { return m.Code == code })
}

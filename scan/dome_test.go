package scan

import (
	"math"
	"path/filepath"
	"testing"

	"github.com/hschendel/stl"
)

// TestDome holds files that numpy laid down byte by byte (testdata/make_dome.py) to the formula of their surface.
func TestDome(t *testing.T) {
	const points, triangles = 7 * 9, 2 * 6 * 8
	for _, c := range []struct {
		file      string
		triangles int
		shift     [3]float64
		mm        float64 // of the file's unit
		tolerance float64 // mm; single precision at 600 mm steps by 6e-5, doubles near their origin by no more
		unit      Unit
		says      string
	}{
		{"dome-map.ply", triangles, [3]float64{450000.25, 5400000.5, 310.125}, 1, 1e-4, UnitUnknown, ""},
		{"dome-cloud.ply", 0, [3]float64{}, 1, 1e-4, UnitUnknown, "points-dropped"},
		{"dome-solid.stl", triangles, [3]float64{}, 1, 1e-4, UnitUnknown, ""},
		{"dome-table.csv", 0, [3]float64{}, 1000, 1e-4, Metre, ""},
	} {
		t.Run(c.file, func(t *testing.T) {
			s, err := Read(filepath.Join("testdata", c.file), DefaultLimits)
			if err != nil {
				t.Fatal(err)
			}
			sound(t, s)
			if len(s.Points) != points || len(s.Triangles) != c.triangles || s.Unit != c.unit {
				t.Errorf("%d points, %d triangles, unit %q", len(s.Points), len(s.Triangles), s.Unit)
			}
			if len(s.Messages) > 1 || (c.says == "") != (len(s.Messages) == 0) || c.says != "" && s.Messages[0].Code != c.says {
				t.Error(s.Messages)
			}
			for i := range s.Points {
				if d := fromDome(s.At(i), c.shift, c.mm); math.Abs(d) > c.tolerance {
					t.Fatalf("point %d lies %v mm off the dome", i, d)
				}
			}
			checkFacing(t, s, c.shift)
		})
	}
}

// fromDome returns how far a point lies from the ellipsoid, to first order, in mm.
func fromDome(p, shift [3]float64, mm float64) float64 {
	value, slope := -1.0, 0.0
	for i, axis := range [3]float64{600, 150, 70} {
		x := (p[i] - shift[i]) * mm / axis
		value += x * x
		slope += 4 * x * x / (axis * axis)
	}
	return value / math.Sqrt(slope)
}

// checkFacing wants every triangle to face outward, as written.
func checkFacing(t *testing.T, s *Scan, shift [3]float64) {
	t.Helper()
	for i, c := range s.Triangles {
		n := normal([3]stl.Vec3{s.Points[c[0]], s.Points[c[1]], s.Points[c[2]]})
		p, out := s.At(int(c[0])), 0.0
		for k := range p {
			out += float64(n[k]) * (p[k] - shift[k])
		}
		if out <= 0 {
			t.Fatalf("triangle %d faces inward", i)
		}
	}
}

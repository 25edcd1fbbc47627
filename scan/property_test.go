package scan

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/hschendel/stl"
	"pgregory.net/rapid"
)

// drawMesh draws a mesh or cloud: corners on a coarse lattice, so that many lie at the same place.
func drawMesh(t *rapid.T) *Scan {
	corner := rapid.Custom(func(t *rapid.T) [3]float32 {
		step := rapid.Int32Range(-3, 3)
		return [3]float32{float32(step.Draw(t, "x")), float32(step.Draw(t, "y")) / 3, float32(step.Draw(t, "z")) * 1e3}
	})
	s := &Scan{Points: rapid.SliceOfN(corner, 3, 40).Draw(t, "points")}
	index := rapid.Uint32Range(0, uint32(len(s.Points)-1))
	s.Triangles = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [3]uint32 {
		return [3]uint32{index.Draw(t, "a"), index.Draw(t, "b"), index.Draw(t, "c")}
	}), 1, 60).Draw(t, "triangles")
	return s
}

// TestMeshesKeepTheirTriangles compares with the plain rule: the triangles that have an area, in their order,
// by the places of their corners; and no two corners at one place.
func TestMeshesKeepTheirTriangles(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := drawMesh(rt)
		want := &Scan{Points: s.Points}
		for _, c := range s.Triangles {
			if s.hasArea(c) {
				want.Triangles = append(want.Triangles, c)
			}
		}
		if len(want.Triangles) == 0 {
			rt.Skip("no triangle has an area")
		}
		v := rapid.SampledFrom(variants()[:7]).Draw(rt, "variant")
		got, err := Decode(v.write(t, s), "left"+v.ending, Limits{})
		if err != nil {
			rt.Fatal(err)
		}
		if got.Origin != [3]float64{} {
			rt.Skip("its points are rounded about another origin")
		}
		places := map[[3]float32]bool{}
		for _, p := range got.Points {
			if places[p] {
				rt.Fatalf("two corners lie at %v", p)
			}
			places[p] = true
		}
		if len(got.Triangles) != len(want.Triangles) {
			rt.Fatalf("%s: %d triangles, want %d", v.name, len(got.Triangles), len(want.Triangles))
		}
		for i, c := range want.Triangles {
			for k := range c {
				if got.Points[got.Triangles[i][k]] != want.Points[c[k]] {
					rt.Fatalf("%s: triangle %d differs", v.name, i)
				}
			}
		}
	})
}

// TestAreaIsWhatItSays holds the test for area to the definition, in exact integers.
func TestAreaIsWhatItSays(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SliceOfN(rapid.Int64Range(-2, 2), 9, 9).Draw(t, "coordinates")
		s := &Scan{Points: make([][3]float32, 3)}
		for i, v := range n {
			s.Points[i/3][i%3] = float32(v)
		}
		a, b := [3]int64{n[3] - n[0], n[4] - n[1], n[5] - n[2]}, [3]int64{n[6] - n[0], n[7] - n[1], n[8] - n[2]}
		dot := func(p, q [3]int64) int64 { return p[0]*q[0] + p[1]*q[1] + p[2]*q[2] }
		want := dot(a, a)*dot(b, b) != dot(a, b)*dot(a, b) // Lagrange's identity
		if s.hasArea([3]uint32{0, 1, 2}) != want {
			t.Fatalf("%v: area %v", s.Points, !want)
		}
	})
}

// TestCloudsInAnyStyle writes points with drawn separators, decimal marks, orders of columns and line ends.
func TestCloudsInAnyStyle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [3]float32 {
			c := rapid.Int32Range(-2_000_000, 2_000_000)
			return [3]float32{float32(c.Draw(t, "x")) / 1000, float32(c.Draw(t, "y")) / 1000, 1.5 + float32(c.Draw(t, "z"))}
		}), 1, 30).Draw(t, "points")
		style := rapid.SampledFrom([]textStyle{
			{separator: ","}, {separator: ";"}, {separator: ";", comma: true}, {separator: "\t"}, {separator: "\t", comma: true},
			{separator: " "}, {separator: "   ", comma: true}, {separator: ", "}, {separator: " ; ", comma: true},
		}).Draw(t, "style")
		end := rapid.SampledFrom([]string{"\n", "\r\n", "\r"}).Draw(t, "end")
		columns := rapid.Permutation([]string{"x", "y", "z", "I [dB]", "Remark"}).Draw(t, "columns")
		s := &Scan{Points: points}
		var b strings.Builder
		b.WriteString(strings.Join(columns, style.separator) + end)
		for i := range points {
			b.WriteString(style.row(s, i, columns) + end)
		}
		if style.separator == " " || style.separator == "   " {
			b.Reset() // a unit after a blank would be a column of its own
			for i := range points {
				b.WriteString(style.row(s, i, []string{"x", "y", "z", "i"}) + end)
			}
		}
		got, err := Decode([]byte(b.String()), "left.txt", Limits{})
		if err != nil {
			t.Fatalf("%v in\n%s", err, b.String())
		}
		for i, want := range points {
			at := got.At(i)
			for k := range want {
				if math.Abs(at[k]-float64(want[k])) > 1e-6*(1+math.Abs(float64(want[k]))) {
					t.Fatalf("point %d is %v, want %v, in\n%s", i, at, want, b.String())
				}
			}
		}
		if len(got.Points) != len(points) {
			t.Fatalf("%d points, want %d", len(got.Points), len(points))
		}
	})
}

// row writes one point in the order of the columns.
func (style textStyle) row(s *Scan, i int, columns []string) string {
	xyz := strings.Fields(string(s.appendPoint(nil, i)))
	all := make([]string, len(columns))
	for k, name := range columns {
		switch name {
		case "x", "y", "z":
			all[k] = xyz[name[0]-'x']
		case "Remark":
			all[k] = `"seen"`
		default:
			all[k] = fmt.Sprint(-12.5 - float64(i))
		}
		if style.comma {
			all[k] = strings.ReplaceAll(all[k], ".", ",")
		}
	}
	return strings.Join(all, style.separator)
}

// TestTextSTLAgreesWithTheLibrary reads an ASCII STL twice: the library's own reader is the reference.
func TestTextSTLAgreesWithTheLibrary(t *testing.T) {
	s := wave(30)
	data := asciiSTL(t, s)
	want, err := stl.ReadAll(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	got, err := Decode(data, "left.stl", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Triangles) != len(want.Triangles) {
		t.Fatalf("%d triangles, the library has %d", len(got.Triangles), len(want.Triangles))
	}
	for i, f := range want.Triangles {
		for k, v := range f.Vertices {
			if got.Points[got.Triangles[i][k]] != [3]float32(v) {
				t.Fatalf("triangle %d differs from the library's", i)
			}
		}
	}
}

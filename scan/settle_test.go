package scan

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// points decodes lines of x y z.
func points(t *testing.T, text string) *Scan {
	t.Helper()
	s, err := Decode([]byte(text), "left.xyz", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestOrigin reads map coordinates, whose metres leave single precision no millimetre, and wants micrometres.
func TestOrigin(t *testing.T) {
	var b strings.Builder
	var want [][3]float64
	for i := range 300 {
		p := [3]float64{512345.678 + 0.01*float64(i), 5412345.678 - 0.0003*float64(i), 123.456 + 1e-5*float64(i)}
		want = append(want, p)
		fmt.Fprintf(&b, "%.6f %.6f %.6f\n", p[0], p[1], p[2])
	}
	s := points(t, b.String())
	for axis, o := range s.Origin {
		if o != math.Round(o) || math.Abs(o-want[150][axis]) > 2 {
			t.Errorf("origin %v", s.Origin)
		}
	}
	for i := range want {
		for axis, c := range s.At(i) {
			if math.Abs(c-want[i][axis]) > 1e-6 {
				t.Fatalf("point %d is %v, want %v", i, s.At(i), want[i])
			}
		}
	}
}

// TestNoOrigin keeps the file's own origin where single precision is enough for it.
func TestNoOrigin(t *testing.T) {
	s := wave(20)
	for _, v := range variants() {
		got, err := Decode(v.write(t, s), "left"+v.ending, Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Origin != [3]float64{} {
			t.Errorf("%s: origin %v", v.name, got.Origin)
		}
	}
}

// TestWildPoint holds that one point far out takes no precision from the others.
func TestWildPoint(t *testing.T) {
	var b strings.Builder
	for i := range 300 {
		fmt.Fprintf(&b, "%.4f %.4f 0.5\n", 512345+0.01*float64(i), 5412345+0.01*float64(i))
	}
	b.WriteString("1e11 0 0\n")
	s := points(t, b.String())
	if got := s.At(7)[1]; len(s.Points) != 301 || math.Abs(got-5412345.07) > 1e-6 {
		t.Errorf("%d points, y of point 7 is %v", len(s.Points), got)
	}
}

// TestCoarse warns where a file in single precision lies so far out that detail is lost.
func TestCoarse(t *testing.T) {
	s := wave(20)
	for i := range s.Points {
		s.Points[i] = [3]float32{s.Points[i][0]/1000 + 512345, s.Points[i][1]/1000 + 5412345, s.Points[i][2] / 1000}
	}
	got, err := Decode(written(t, s, WritePLY), "left.ply", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	has(t, got, "coarse-coordinates", Caution)
}

// TestWeld gives triangles with corners of their own in, as STL has them, and wants the shared ones.
func TestWeld(t *testing.T) {
	want := wave(9)
	soup := &Scan{}
	for _, c := range want.Triangles {
		n := uint32(len(soup.Points))
		soup.Triangles = append(soup.Triangles, [3]uint32{n, n + 1, n + 2})
		soup.Points = append(soup.Points, want.Points[c[0]], want.Points[c[1]], want.Points[c[2]])
	}
	soup.Points[2][0] = float32(math.Copysign(0, -1)) // the same place as 0, of a corner that others share
	for name, write := range map[string]func() []byte{
		"ply": func() []byte { return written(t, soup, WritePLY) },
		"obj": func() []byte { return written(t, soup, WriteOBJ) },
		"stl": func() []byte { return written(t, soup, WriteSTL) },
	} {
		got, err := Decode(write(), "left."+name, Limits{})
		if err != nil {
			t.Fatal(err)
		}
		compare(t, got, want, false)
	}
}

// TestWelderGrows asks for far more points than it was made for.
func TestWelderGrows(t *testing.T) {
	w := newWelder(0)
	for round := range 2 {
		for i := range uint32(5000) {
			if n := w.number([3]float32{float32(i % 70), float32(i / 70), 1}); n != i {
				t.Fatalf("round %d: point %d got number %d", round, i, n)
			}
		}
	}
}

// TestWelderTellsEveryAxis has points that differ along one axis only, so many that their slots collide.
func TestWelderTellsEveryAxis(t *testing.T) {
	for axis := range 3 {
		w := newWelder(0)
		for i := range uint32(5000) {
			p := [3]float32{1, 2, 3}
			p[axis] = float32(i) / 7
			if n := w.number(p); n != i {
				t.Fatalf("axis %d: point %d got number %d", axis, i, n)
			}
		}
	}
}

// TestCloudKeepsRepeats holds that a point measured twice counts twice, and that zeros are no measurement.
func TestCloudKeepsRepeats(t *testing.T) {
	s := points(t, "1 2 3\n0 0 0\n1 2 3\n0 0 0\n4 5 6\n")
	if !slices.Equal(s.Points, [][3]float32{{1, 2, 3}, {1, 2, 3}, {4, 5, 6}}) {
		t.Error(s.Points)
	}
	has(t, s, "no-echo", Note)
	if s := points(t, "1 2 3\n0 0 0\n4 5 6\n"); len(s.Points) != 3 || s.Messages != nil {
		t.Error(s.Points, s.Messages)
	}
}

// TestDegenerate drops triangles without area, quietly.
func TestDegenerate(t *testing.T) {
	const corners = "v 0 0 0\nv 1 0 0\nv 2 0 0\nv 0 1 0\nv 1 0 0\n"
	s, err := Decode([]byte(corners+"f 1 2 3\nf 1 2 5\nf 2 2 4\nf 1 2 4\n"), "left.obj", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(s.Triangles, [][3]uint32{{0, 1, 3}}) || len(s.Points) != 4 || s.Messages != nil {
		t.Error(s)
	}
	s, err = Decode([]byte(corners+"f 1 2 3\n"), "left.obj", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	has(t, s, "no-triangles", Caution)
	if s.Triangles != nil {
		t.Error(s.Triangles)
	}
}

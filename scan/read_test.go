package scan

import (
	"errors"
	"math"
	"slices"
	"testing"
)

// wave returns a mesh that is no plane: a grid of n by n corners, on steps of 2^-16, so that formats which count
// steps can write it, too.
func wave(n int) *Scan {
	s := &Scan{}
	for i := range n {
		for j := range n {
			x, y := float64(i)/float64(n), float64(j)/float64(n)
			s.Points = append(s.Points, [3]float32{stepped(1200 * x), stepped(300 * y), stepped(40 * math.Sin(5*x+3*y))})
		}
	}
	for i := range n - 1 {
		for j := range n - 1 {
			a := uint32(i*n + j)
			s.Triangles = append(s.Triangles, [3]uint32{a, a + uint32(n), a + 1}, [3]uint32{a + 1, a + uint32(n), a + uint32(n) + 1})
		}
	}
	return s
}

func stepped(v float64) float32 { return float32(math.Round(v*(1<<16)) / (1 << 16)) }

// compare holds a scan to the surface it was written from: the same points in the same order for a cloud, the
// same triangles in the same order for a mesh, all to the last bit.
func compare(t *testing.T, got, want *Scan, cloud bool) {
	t.Helper()
	if len(got.Points) != len(want.Points) {
		t.Fatalf("%d points, want %d", len(got.Points), len(want.Points))
	}
	if cloud {
		for i := range want.Points {
			if got.At(i) != want.At(i) {
				t.Fatalf("point %d is %v, want %v", i, got.At(i), want.At(i))
			}
		}
		if got.Triangles != nil {
			t.Fatal("a cloud has triangles")
		}
		return
	}
	if len(got.Triangles) != len(want.Triangles) {
		t.Fatalf("%d triangles, want %d", len(got.Triangles), len(want.Triangles))
	}
	for i, w := range want.Triangles {
		for k, c := range got.Triangles[i] {
			if got.At(int(c)) != want.At(int(w[k])) {
				t.Fatalf("corner %d of triangle %d lies at %v, want %v", k, i, got.At(int(c)), want.At(int(w[k])))
			}
		}
	}
}

// sound checks what every scan promises.
func sound(t *testing.T, s *Scan) {
	t.Helper()
	if len(s.Points) == 0 {
		t.Fatal("a scan without points")
	}
	for i := range s.Points {
		if !usable(s.Points[i]) || !usable(s.At(i)) {
			t.Fatalf("point %d is %v", i, s.At(i))
		}
	}
	for i, c := range s.Triangles {
		n := uint32(len(s.Points))
		if c[0] >= n || c[1] >= n || c[2] >= n {
			t.Fatalf("triangle %d uses %v of %d points", i, c, n)
		}
	}
}

func TestSameSurfaceInEveryFormat(t *testing.T) {
	want := wave(20)
	for _, v := range variants() {
		t.Run(v.name, func(t *testing.T) {
			data := v.write(t, want)
			for _, name := range []string{"left" + v.ending, "left", "left.ply"} {
				got, err := Decode(data, name, Limits{})
				if err != nil {
					t.Fatal(err)
				}
				sound(t, got)
				compare(t, got, want, v.cloud)
				if len(got.Messages) > 0 {
					t.Errorf("messages about a good file: %v", got.Messages)
				}
			}
		})
	}
}

// TestCutFiles reads every beginning of every variant. Formats that say how much there is must be refused
// when something of it is missing; the others give what is there.
func TestCutFiles(t *testing.T) {
	want := wave(4)
	for _, v := range variants() {
		t.Run(v.name, func(t *testing.T) {
			data := v.write(t, want)
			for n := range data {
				s, err := Decode(data[:n:n], "left"+v.ending, Limits{})
				if err != nil {
					var f *FormatError
					if !errors.As(err, &f) || f.Mend == "" || f.File == "" {
						t.Fatalf("cut at %d: %v is no full format error", n, err)
					}
					continue
				}
				sound(t, s)
				told := slices.ContainsFunc(s.Messages, func(m Message) bool { return m.Code == "no-endsolid" }) // between two facets
				if v.counted() && !told && n < len(data)-24 {
					t.Fatalf("cut at %d of %d bytes: read without complaint", n, len(data))
				}
				if len(s.Points) > len(want.Points) || len(s.Triangles) > len(want.Triangles) {
					t.Fatalf("cut at %d: more came out than went in", n)
				}
			}
		})
	}
}

// counted tells the formats that say at the start or the end how much there is. What they end with, a
// solid's name or the last number's digits, may go missing unnoticed.
func (v variant) counted() bool {
	return slices.Contains([]string{".ply", ".stl", ".pts", ".pcd", ".off", ".las", ".glb", ".gltf", ".zip", ".3mf", ".gz"}, v.ending)
}

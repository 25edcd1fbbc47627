package scan

import (
	"bytes"
	"io"
	"math"
	"testing"
)

// wave returns a small mesh that is no plane: a grid of n by n corners.
func wave(n int) *Scan {
	s := &Scan{}
	for i := range n {
		for j := range n {
			x, y := float64(i)/float64(n), float64(j)/float64(n)
			s.Points = append(s.Points, [3]float32{float32(1200 * x), float32(300 * y), float32(40 * math.Sin(5*x+3*y))})
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

func written(t testing.TB, s *Scan, write func(io.Writer, *Scan) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
func TestQuick(t *testing.T) {
	s := wave(20)
	for name, w := range map[string]func(io.Writer, *Scan) error{"a.ply": WritePLY, "a.stl": WriteSTL, "a.obj": WriteOBJ, "a.xyz": WriteXYZ} {
		g, err := Decode(written(t, s, w), "x", Limits{})
		if err != nil {
			t.Error(name, err)
			continue
		}
		t.Log(name, len(g.Points), len(g.Triangles), g.Format, g.Messages, g.Source)
	}
}

package scan

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// BenchmarkDecode reads a mesh of a quarter of a million corners in every variant.
func BenchmarkDecode(b *testing.B) {
	s := wave(500)
	for _, v := range variants() {
		data := v.write(b, s)
		b.Run(v.name, func(b *testing.B) {
			b.SetBytes(int64(len(data)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Decode(data, "wing"+v.ending, DefaultLimits); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRead reads binary files from a disk that has them at hand, and beside each the bytes alone. The large ones
// run with TIPWRIGHT_BENCH=large alone.
func BenchmarkRead(b *testing.B) {
	for _, c := range []struct {
		name, ending string
		side         int // points along a side of the square
		write        func(io.Writer, *Scan) error
	}{
		{"mesh/200k", ".stl", 318, WriteSTL}, {"mesh/2000k", ".stl", 1001, WriteSTL}, {"mesh/5000k", ".stl", 1582, WriteSTL},
		{"mesh/200k", ".ply", 318, WritePLY}, {"mesh/2000k", ".ply", 1001, WritePLY}, {"mesh/5000k", ".ply", 1582, WritePLY},
		{"cloud/200k", ".ply", 448, WritePLY}, {"cloud/1000k", ".ply", 1000, WritePLY}, {"cloud/4000k", ".ply", 2000, WritePLY}, {"cloud/10000k", ".ply", 3163, WritePLY},
	} {
		b.Run(c.ending[1:]+"/"+c.name, func(b *testing.B) {
			if c.side > 450 && os.Getenv("TIPWRIGHT_BENCH") != "large" {
				b.Skip("takes long; TIPWRIGHT_BENCH=large runs it")
			}
			s := wave(c.side)
			if strings.HasPrefix(c.name, "cloud") {
				s.Triangles = nil
			}
			data := written(b, s, c.write)
			path := filepath.Join(b.TempDir(), "left"+c.ending)
			if err := os.WriteFile(path, data, 0o644); err != nil {
				b.Fatal(err)
			}
			b.Run("scan", func(b *testing.B) {
				b.SetBytes(int64(len(data)))
				b.ReportAllocs()
				for b.Loop() {
					if _, err := Read(path, DefaultLimits); err != nil {
						b.Fatal(err)
					}
				}
			})
			b.Run("bytes", func(b *testing.B) {
				b.SetBytes(int64(len(data)))
				for b.Loop() {
					if _, err := os.ReadFile(path); err != nil {
						b.Fatal(err)
					}
				}
			})
		})
	}
}

// BenchmarkClean joins the corners of a mesh of which every other triangle has its own, and leaves out what says nothing.
func BenchmarkClean(b *testing.B) {
	for _, side := range []int{318, 1001, 1582} {
		b.Run(fmt.Sprintf("mesh/%dk", 2*side*side/1000), func(b *testing.B) {
			if side > 450 && os.Getenv("TIPWRIGHT_BENCH") != "large" {
				b.Skip("takes long; TIPWRIGHT_BENCH=large runs it")
			}
			s := wave(side)
			for i := 0; i < len(s.Triangles); i += 2 {
				for k, corner := range s.Triangles[i] {
					s.Triangles[i][k] = uint32(len(s.Points))
					s.Points = append(s.Points, s.Points[corner])
				}
			}
			points, triangles := slices.Clone(s.Points), slices.Clone(s.Triangles)
			b.ReportAllocs()
			for b.Loop() {
				b.StopTimer()
				copy(points, s.Points)
				copy(triangles, s.Triangles)
				mesh := &build{in: inputOf([]byte("left"), "left.ply", nil, DefaultLimits), narrow: points, triangles: triangles, faced: true}
				b.StartTimer()
				if _, err := mesh.scan("ply"); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

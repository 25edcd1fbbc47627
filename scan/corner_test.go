package scan

import (
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// TestCorner reads files that were written by hand from the descriptions of the formats, each in the style of
// another kind of program, and all of the same five points.
func TestCorner(t *testing.T) {
	points := [][3]float64{{0, 0, 0}, {100, 0, 0}, {100, 100, 0}, {0, 100, 0}, {0, 0, 62.5}}
	files, err := filepath.Glob("testdata/corner/*")
	if err != nil || len(files) < 7 {
		t.Fatal(files, err)
	}
	for _, path := range files {
		t.Run(filepath.Base(path), func(t *testing.T) {
			s, err := Read(path, DefaultLimits)
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Messages) > 0 || s.Origin != [3]float64{} {
				t.Error(s.Messages, s.Origin)
			}
			var got [][3]float64
			for i := range s.Points {
				got = append(got, s.At(i))
			}
			byPlace := func(a, b [3]float64) int { return slices.Compare(a[:], b[:]) }
			want := slices.SortedFunc(slices.Values(points), byPlace)
			if slices.SortFunc(got, byPlace); !slices.Equal(got, want) {
				t.Errorf("points %v, want %v", got, want)
			}
			if s.Triangles != nil {
				checkVolume(t, s)
			}
			info, err := os.Stat(path)
			if err != nil || s.Source.File != filepath.Base(path) || s.Source.Bytes != info.Size() || len(s.Source.SHA256) != 64 {
				t.Errorf("source %+v", s.Source)
			}
		})
	}
}

// checkVolume sums the tetrahedra from the origin to each triangle: a pyramid holds a third of base times
// height, and only if every triangle is there and faces outward.
func checkVolume(t *testing.T, s *Scan) {
	t.Helper()
	sum := 0.0
	for _, c := range s.Triangles {
		a, b, c := s.At(int(c[0])), s.At(int(c[1])), s.At(int(c[2]))
		sum += a[0]*(b[1]*c[2]-b[2]*c[1]) + a[1]*(b[2]*c[0]-b[0]*c[2]) + a[2]*(b[0]*c[1]-b[1]*c[0])
	}
	if want := 100 * 100 * 62.5 / 3; len(s.Triangles) != 6 || sum/6-want > 1e-9*want || want-sum/6 > 1e-9*want {
		t.Errorf("%d triangles hold %v, want 6 with %v", len(s.Triangles), sum/6, want)
	}
}

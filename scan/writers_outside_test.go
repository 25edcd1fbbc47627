package scan_test

import (
	"archive/zip"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tipwright/scan"
	"tipwright/scan/outside"
)

// saddle is a surface whose coordinates are eighths, so that six digits hold them: written by other programs'
// libraries it must come back as it was.
func saddle() (points [][3]float32, triangles [][3]int) {
	const n, m = 13, 17
	for i := range n {
		for j := range m {
			x, y := float64(5*i-30), float64(2*j-16)
			z := math.Round(x*x/8-y*y/4) / 8
			points = append(points, [3]float32{float32(x), float32(y), float32(z)})
		}
	}
	for i := range n - 1 {
		for j := range m - 1 {
			k := i*m + j
			triangles = append(triangles, [3]int{k, k + m, k + m + 1}, [3]int{k, k + m + 1, k + 1})
		}
	}
	return points, triangles
}

// corners are a triangle's corners, turned so that the least comes first: what is left of it when points are
// numbered anew.
type corners [3][3]float32

func cornersOf(a, b, c [3]float32) corners {
	all := [3]corners{{a, b, c}, {b, c, a}, {c, a, b}}
	return slices.MinFunc(all[:], compareCorners)
}

func compareCorners(a, b corners) int {
	for k := range a {
		if o := slices.Compare(a[k][:], b[k][:]); o != 0 {
			return o
		}
	}
	return 0
}

// written is a file that another program wrote.
type written struct {
	File, By string
	Cloud    bool
}

// byAssimp lets assimp write the surface once more, from an STL, in all formats of its that are read here. What it
// writes beside a glTF goes into one archive with it, as phones share it.
func byAssimp(t *testing.T, dir string) (files []written) {
	t.Helper()
	for _, f := range [][2]string{
		{"assimp.obj", "obj"}, {"assimp-text.stl", "stl"}, {"assimp.stl", "stlb"}, {"assimp-text.ply", "ply"},
		{"assimp.ply", "plyb"}, {"assimp.gltf", "gltf2"}, {"assimp.glb", "glb2"}, {"assimp.3mf", "3mf"},
	} {
		outside.Tool(t, "assimp-utils", "assimp", "export", filepath.Join(dir, "vtk.stl"), filepath.Join(dir, f[0]), "-f"+f[1])
		files = append(files, written{File: f[0], By: "assimp"})
	}
	pack(t, dir, "assimp.zip", "assimp.gltf", "assimp.bin")
	files[5].File = "assimp.zip"
	return files
}

// pack puts files of a folder into an archive there.
func pack(t *testing.T, dir, name string, files ...string) {
	t.Helper()
	out, err := os.Create(filepath.Join(dir, name))
	if err != nil {
		t.Fatal(err)
	}
	defer out.Close()
	z := zip.NewWriter(out)
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(dir, f))
		if err != nil {
			t.Fatal(err)
		}
		w, err := z.Create(f)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write(data); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
}

// Files of VTK, Open3D, meshio and assimp come back as the surface that was written, point by point and triangle by
// triangle.
func TestOutsideWritersAreRead(t *testing.T) {
	t.Parallel()
	points, triangles := saddle()
	dir := t.TempDir()
	question := map[string]any{"dir": dir, "points": points, "triangles": triangles}
	var files []written
	outside.Script(t, "testdata/write.py", question, &files, "numpy", "vtkmodules", "open3d", "meshio")
	files = append(files, byAssimp(t, dir)...)
	if len(files) < 30 {
		t.Fatalf("only %d files were written", len(files))
	}
	var want []corners
	for _, f := range triangles {
		want = append(want, cornersOf(points[f[0]], points[f[1]], points[f[2]]))
	}
	slices.SortFunc(want, compareCorners)
	for _, f := range files {
		path := filepath.Join(dir, f.File)
		s, err := scan.Read(path, scan.Limits{})
		if err != nil {
			t.Errorf("%s by %s: %v", f.File, f.By, err)
			continue
		}
		if sum := outside.Tool(t, "coreutils", "sha256sum", path); !strings.HasPrefix(string(sum), s.Source.SHA256+" ") {
			t.Errorf("%s: the sum %s, by sha256sum %s", f.File, s.Source.SHA256, sum)
		}
		if f.Cloud {
			sameCloud(t, f, s, points)
			continue
		}
		var got []corners
		for _, c := range s.Triangles {
			got = append(got, cornersOf(s.Points[c[0]], s.Points[c[1]], s.Points[c[2]]))
		}
		slices.SortFunc(got, compareCorners)
		if !slices.Equal(got, want) {
			t.Errorf("%s by %s: %d triangles, want %d; the first are %v and %v", f.File, f.By, len(got), len(want), got[:min(1, len(got))], want[0])
		}
	}
}

// sameCloud wants the points in the order in which they were written.
func sameCloud(t *testing.T, f written, s *scan.Scan, points [][3]float32) {
	t.Helper()
	if len(s.Triangles) > 0 || len(s.Points) != len(points) {
		t.Errorf("%s by %s: %d points and %d triangles, want %d points", f.File, f.By, len(s.Points), len(s.Triangles), len(points))
		return
	}
	for i, p := range points {
		q := s.At(i)
		for k := range p {
			if q[k] != float64(p[k]) {
				t.Errorf("%s by %s: point %d is %v, want %v", f.File, f.By, i, q, p)
				return
			}
		}
	}
}

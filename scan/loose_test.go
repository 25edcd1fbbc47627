package scan

import (
	"strings"
	"testing"
)

// TestLoose reads meshes of three points and a triangle as less careful programs write them.
func TestLoose(t *testing.T) {
	points, plain := "0 0 0\n1 0 0\n0 1 0\n", asciiHead("3")+faceHead+"0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"
	for name, data := range map[string]string{
		"indexes":     strings.Replace(plain, "vertex_indices", "vertex_indexes", 1),
		"only list":   strings.Replace(plain, "vertex_indices", "corners", 1),
		"capitals":    strings.NewReplacer("float x", "float X", "float y", "float Y", "float z", "float Z").Replace(plain),
		"short faces": strings.ReplaceAll("v "+strings.TrimSpace(points), "\n", "\nv ") + "\nf 1 2\nf 1 2 3\nf 3\n",
	} {
		s, err := Decode([]byte(data), "left", Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if len(s.Points) != 3 || len(s.Triangles) != 1 {
			t.Errorf("%s: %d points and %d triangles", name, len(s.Points), len(s.Triangles))
		}
		if name == "short faces" {
			has(t, s, "short-faces", Note)
		}
	}
}

// TestTwoLists does not guess which of two lists has the corners.
func TestTwoLists(t *testing.T) {
	data := asciiHead("3") + "element face 1\nproperty list uchar int a\nproperty list uchar int b\nend_header\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2 3 0 1 2\n"
	if _, err := Decode([]byte(data), "left.ply", Limits{}); err == nil || !strings.Contains(err.Error(), "no list vertex_indices") {
		t.Errorf("got %v", err)
	}
}

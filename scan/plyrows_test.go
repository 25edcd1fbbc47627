package scan

import (
	"strings"
	"testing"
)

// TestFreeRows reads rows that lie on lines as they like.
func TestFreeRows(t *testing.T) {
	head := strings.Replace(asciiHead("4")+faceHead, "face 1", "face 2", 1)
	for _, body := range []string{
		"0 0 0 1 0 0 0 1 0 1 1 0 3 0 1 2 3 1 3 2\n",
		"0\n0 0\n1 0 0 0\n\n1 0 1 1\n0\n3 0 1\n2 3 1 3 2",
		"0 0 0\n1 0 0\n0 1 0\n1 1 0\n3 0 1 2 3 1 3 2\n",
		"0 0 0\n1 0 0\n0 1 0\n1 1 0\n3\n0 1 2\n3\n1 3 2\n",
	} {
		s, err := Decode([]byte(head+body), "left.ply", Limits{})
		if err != nil {
			t.Errorf("%q: %v", body, err)
			continue
		}
		if len(s.Points) != 4 || len(s.Triangles) != 2 || s.At(3) != [3]float64{1, 1, 0} {
			t.Errorf("%q: points %v and triangles %v", body, s.Points, s.Triangles)
		}
	}
}

// TestFreeRowsCounted refuses free rows whose values are not as many as promised: all after the first one too
// many or missing would be shifted.
func TestFreeRowsCounted(t *testing.T) {
	for body, says := range map[string]string{
		"0 0 0 9\n1 0 0 9\n0 1 0 9\n": "left over",
		"0 0 0 1 0 0 0 1 0 1\n":       "left over",
		"0 0 0 1 0 0\n0 1 \n":         "ends within the 3 rows",
	} {
		_, err := Decode([]byte(asciiHead("3")+"end_header\n"+body), "left.ply", Limits{})
		if err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", body, err)
		}
	}
}

package scan

import (
	"strings"
	"testing"
)

// TestOFFWords reads numbers that lie on lines as they like.
func TestOFFWords(t *testing.T) {
	for _, data := range []string{
		"OFF\n4 2 0\n0 0 0 1 0 0\n0 1 0 1 1 0\n3 0 1 2 3 1 3 2\n",
		"OFF 4 2 0\n0 0 0 # the first\n1 0 0 0 1 0\n1 1\n0 3 0 1 2\n3 1 3 2",
	} {
		s, err := Decode([]byte(data), "left", Limits{})
		if err != nil {
			t.Errorf("%q: %v", data, err)
			continue
		}
		if len(s.Points) != 4 || len(s.Triangles) != 2 || s.At(3) != [3]float64{1, 1, 0} {
			t.Errorf("%q: points %v and triangles %v", data, s.Points, s.Triangles)
		}
	}
}

// TestOFFWordsCounted refuses numbers that are not as many as promised, and texts with colours.
func TestOFFWordsCounted(t *testing.T) {
	for data, says := range map[string]string{
		"OFF\n3 1 0\n0 0 0 1 0 0 0 1 0 3 0 1 2 7\n":         "left over",
		"OFF\n3 1 0\n0 0 0 1 0 0 0 1 0 3 0 1\n":             "ends within",
		"OFF\n3 1 0\n0 0 0 1 0 0 0 1 0 3 0 1 3\n":           "uses point",
		"OFF\n3 1 0\n0 0 0 1 O 0 0 1 0 3 0 1 2\n":           "needs three numbers",
		"COFF\n3 0 0\n0 0 0 9 9 9 9\n1 0 0 9 9 9 9 0 1 0\n": "ends within",
	} {
		if _, err := Decode([]byte(data), "left.off", Limits{}); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%q: %v", data, err)
		}
	}
}

package scan

import (
	"strings"
	"testing"
)

// TestLooseSTL reads what programs write that do not keep to the letter of the format.
func TestLooseSTL(t *testing.T) {
	plain := "solid wing\n" + facet + "endsolid wing\n"
	for name, data := range map[string]string{
		"underscore":      strings.Replace(plain, "facet normal", "facet_normal", 1),
		"end solid":       strings.Replace(plain, "endsolid", "end solid", 1),
		"no direction":    strings.Replace(plain, "normal 0 0 1", "normal", 1),
		"bare underscore": strings.Replace(plain, "facet normal 0 0 1", "FACET_NORMAL", 1),
		"remarks":         "\ufeff# a scan\n// of a wing\n; left\n\n" + plain,
		"remarks between": plain + "# no more\n",
		"no endsolid":     strings.TrimSuffix(plain, "endsolid wing\n"),
		"no line end":     strings.TrimSuffix(plain, "\nendsolid wing\n"),
		"bytes after":     binarySTLNamed("left") + "farewell",
	} {
		for _, file := range []string{"left.stl", "left", "left.txt"} {
			s, err := Decode([]byte(data), file, Limits{})
			if err != nil {
				t.Errorf("%s as %s: %v", name, file, err)
				continue
			}
			if len(s.Points) != 3 || len(s.Triangles) != 1 || s.Format != "stl" {
				t.Errorf("%s as %s: %d points and %d triangles of %s", name, file, len(s.Points), len(s.Triangles), s.Format)
			}
			if name == "no endsolid" || name == "no line end" {
				has(t, s, "no-endsolid", Note)
			}
		}
	}
}

// TestLongSTL leaves files alone that only have a count where a binary STL has one.
func TestLongSTL(t *testing.T) {
	skewed := []byte(binarySTLNamed("left") + "farewell")
	skewed[stlHeader+3] = 0x41 // a direction longer than one
	long := binarySTLNamed("left") + strings.Repeat("farewell", 200)
	for name, data := range map[string]string{"direction": string(skewed), "rest": long} {
		if _, err := Decode([]byte(data), "left", Limits{}); err == nil {
			t.Errorf("%s: taken as a binary STL", name)
		}
	}
}

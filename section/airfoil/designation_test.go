package airfoil

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestIsDesignation(t *testing.T) {
	for _, s := range []string{"NACA 2412", "naca2412", "Naca  0012-64", "23012", "0012 - 64", "NACA-2412", "NACA 63-215",
		"NACA 64A010", "NACA 65,3-218", "NACA 9999", "NACA 0012–64", "  naca 23112  "} {
		if !IsDesignation(s) {
			t.Errorf("%q is a designation", s)
		}
	}
	for _, s := range []string{"", "mysection.dat", "naca2412.dat", "NACA 2412.txt", "naca", "naca-tip", "2412.dat", "tip 23012", "123", "sub/naca2412"} {
		if IsDesignation(s) {
			t.Errorf("%q is the name of a file", s)
		}
	}
}

func TestParseTakesTheNameAsWritten(t *testing.T) {
	for s, want := range map[string]string{
		"NACA 2412": "NACA 2412", "naca2412": "NACA 2412", "2412": "NACA 2412", " Naca  24 12 ": "NACA 2412",
		"NACA 0012-64": "NACA 0012-64", "naca 0012 - 64": "NACA 0012-64", "NACA 0012–64": "NACA 0012-64", "NACA_4415": "NACA 4415",
		"NACA 23012": "NACA 23012", "naca23112": "NACA 23112", "NACA 2412-63": "NACA 2412-63", "NACA 23012-64": "NACA 23012-64",
	} {
		a, err := Parse(s)
		if err != nil || a.Name != want {
			t.Errorf("Parse(%q) = %v, %v; want %s", s, a, err, want)
		}
	}
}

func TestParseRefuses(t *testing.T) {
	for s, why := range map[string]string{
		"NACA 2431":     "thickness of 31",
		"NACA 2402":     "thickness of 02",
		"NACA 0012-67":  "last digit of the suffix",
		"NACA 0012-61":  "last digit of the suffix",
		"NACA 2012":     "cannot be 0",
		"NACA 0412":     "no camber",
		"NACA 03012":    "design lift",
		"NACA 23212":    "third digit",
		"NACA 26012":    "no mean line 260",
		"NACA 21112":    "no mean line 211",
		"NACA 20012":    "no mean line 200",
		"NACA 63-215":   "not a NACA designation that",
		"NACA 9130":     "folds back",
		"NACA 241":      "not a NACA designation",
		"NACA 0012-6":   "not a NACA designation",
		"mysection.dat": "not a NACA designation",
		"":              "not a NACA designation",
	} {
		_, err := Parse(s)
		if err == nil {
			t.Errorf("Parse(%q) gave no error", s)
			continue
		}
		for _, part := range []string{why, fmt.Sprintf("%q", s), "NACA 23112", "03 to 30", "coordinate file"} {
			if !strings.Contains(err.Error(), part) {
				t.Errorf("Parse(%q): %q does not say %q", s, err, part)
			}
		}
	}
}

func TestCandidates(t *testing.T) {
	names := Candidates()
	if len(names) < 300 || len(names) > 600 {
		t.Errorf("%d candidates", len(names))
	}
	for _, must := range []string{"NACA 0006", "NACA 0024", "NACA 2412", "NACA 4415", "NACA 6624", "NACA 21006", "NACA 23012", "NACA 25024"} {
		if !slices.Contains(names, must) {
			t.Errorf("%s is no candidate", must)
		}
	}
	slices.Sort(names)
	if len(slices.Compact(names)) != len(Candidates()) {
		t.Error("a candidate stands there twice")
	}
	for _, name := range names {
		must(t, name)
	}
}

// names draws the designation of any section that has a formula, from a least thickness in per cent up.
func names(thinnest int) *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		digit := func(lo, hi int) int { return rapid.IntRange(lo, hi).Draw(t, "digit") }
		var s string
		switch rapid.IntRange(0, 3).Draw(t, "family") {
		case 0:
			s = fmt.Sprintf("00%02d", digit(thinnest, 30))
		case 1:
			s = fmt.Sprintf("%d%d%02d", digit(1, 6), digit(2, 7), digit(thinnest, 30))
		case 2:
			s = fmt.Sprintf("%d%d0%02d", digit(1, 4), digit(2, 5), digit(thinnest, 27))
		case 3:
			s = fmt.Sprintf("%d%d1%02d", digit(1, 4), digit(2, 5), digit(thinnest, 27))
		}
		if rapid.Bool().Draw(t, "modified") {
			s += fmt.Sprintf("-%d%d", digit(1, 9), digit(2, 6))
		}
		return "NACA " + s
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"NACA 2412", "naca 0012-64", "23112", "NACA 63-215", "tip.dat", "", "NACA 9130", "NACA 0012–63", "NACA 00 12"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		a, err := Parse(s)
		if err != nil {
			return
		}
		if !IsDesignation(s) {
			t.Fatalf("%q was read but does not look like a designation", s)
		}
		again, err := Parse(a.Name)
		if err != nil || again.Name != a.Name {
			t.Fatalf("%q gave %q, which gave %v, %v", s, a.Name, again, err)
		}
		for _, p := range a.Outline(50) {
			if math.IsNaN(p.X+p.Y) || p.X < -0.1 || p.X > 1.1 || math.Abs(p.Y) > 0.5 {
				t.Fatalf("%q: point %v", s, p)
			}
		}
	})
}

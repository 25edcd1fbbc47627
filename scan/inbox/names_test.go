package inbox

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestNames(t *testing.T) {
	for name, want := range map[string]string{
		"left.ply": "left", "Left wing.OBJ": "left", "LEFT-2.stl": "left", "left": "left", "left.usdz": "left", "left_2026-01-02.xyz": "left",
		"right.ply": "right", "Right2.ply": "right",
		"wing.toml": "other", "notes.txt": "other", "aleft.ply": "other", "mysection.dat": "other",
		"left (conflicted copy 2026-01-02).ply": "other", "left.sync-conflict-20260102-101112.ply": "other", "left(Conflict).ply": "other",
		"left.jpg": "companion", "left.mtl": "companion", "texture_0.PNG": "companion",
		".DS_Store": "passed over", ".left.ply.icloud": "passed over", ".left.ply.Xy12ab": "passed over", "Thumbs.db": "passed over",
		"desktop.ini": "passed over", "left.ply.part": "passed over", "left.ply.crdownload": "passed over", "left.ply.tmp": "passed over",
		"left.ply~": "passed over", "~$wing.toml": "passed over", "left.ply.!sync": "passed over", "Left.PLY.PARTIAL": "passed over",
	} {
		got := "other"
		switch {
		case passedOver(name):
			got = "passed over"
		case sideOf(name) != "":
			got = sideOf(name)
		case isCompanion(name):
			got = "companion"
		}
		if got != want {
			t.Errorf("%s is taken for %s, want %s", name, got, want)
		}
	}
}

func TestFolded(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"wren", "WREN", true}, {"Übung", "übung", true}, {"\u00dcbung", "U\u0308bung", true}, {"\u00e9", "E\u0301", true},
		{"ΟΔΟΣ", "οδος", true}, {"ΟΔΟΣ", "οδοσ", true}, {"K", "\u212a", true}, {"ǆ", "ǅ", true},
		{"wren", "wren 2", false}, {"e", "é", false}, {"\xff", "\xfe", false}, {"\xff", "\ufffd", false}, {"", "a", false},
	} {
		if got := folded(c.a) == folded(c.b); got != c.same {
			t.Errorf("%q and %q: %v", c.a, c.b, got)
		}
	}
}

func TestCompare(t *testing.T) {
	want := []string{"left.obj", "LEFT.ply", "left.ply", "left 2.ply", "left-2.ply", "left-2b.ply", "left-03.ply", "left-3.ply", "left-10.ply", "right.ply"}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, Compare)
	if !slices.Equal(got, want) {
		t.Errorf("sorted %q, want %q", got, want)
	}
}

// Compare is a strict order on names: what is less one way is more the other way, and it is transitive.
func TestCompareIsAnOrder(t *testing.T) {
	name := rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.SampledFrom([]string{"a", "A", "0", "1", "10", "-", ".", "é"}), 0, 5).Draw(t, "parts"), "")
	})
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := name.Draw(t, "a"), name.Draw(t, "b"), name.Draw(t, "c")
		if Compare(a, b) != -Compare(b, a) {
			t.Fatalf("%q and %q: %d and %d", a, b, Compare(a, b), Compare(b, a))
		}
		if (Compare(a, b) == 0) != (a == b) {
			t.Fatalf("%q and %q are told alike", a, b)
		}
		if Compare(a, b) < 0 && Compare(b, c) < 0 && Compare(a, c) >= 0 {
			t.Fatalf("%q < %q < %q, but not the first and the last", a, b, c)
		}
	})
}

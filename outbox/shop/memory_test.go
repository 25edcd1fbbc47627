package shop

import (
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"pgregory.net/rapid"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// A file of the inbox is read again if anything in its stamp has changed, and only then.
func TestFingerprintKnown(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A"})
	path := filepath.Join(root, "inbox", "a", "left.ply")
	at, err := inbox.StampOf(path)
	if err != nil {
		t.Fatal(err)
	}
	told := scan.Source{File: "left.ply", SHA256: "as it was told", Bytes: 1}
	for name, c := range map[string]struct {
		change func(*inbox.Stamp)
		known  bool
	}{
		"the same":      {func(*inbox.Stamp) {}, true},
		"another size":  {func(s *inbox.Stamp) { s.Size++ }, false},
		"another time":  {func(s *inbox.Stamp) { s.Modified-- }, false},
		"changed since": {func(s *inbox.Stamp) { s.Changed-- }, false},
		"another file":  {func(s *inbox.Stamp) { s.Number++ }, false},
	} {
		old := at
		c.change(&old)
		next := fingerprints{}
		f, err := fingerprints{key{"a", "left.ply"}: {old, told, false}}.file(t.Context(), "a", path, math.MaxInt64, next)
		if err != nil || (f.Source == told) != c.known {
			t.Errorf("%s: %+v, %v", name, f, err)
		}
		if c.known != (next[key{"a", "left.ply"}].Source == told) {
			t.Errorf("%s: remembered %+v", name, next)
		}
	}
}

// A file that was looked at is the same until anything is done to it, and one that was just written tells nothing.
func TestStill(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	if err := os.WriteFile(path, []byte("A"), 0o600); err != nil {
		t.Fatal(err)
	}
	open, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer open.Close()
	f, err := Look(t.Context(), path)
	if err != nil || f.Path != path || f.Source.Bytes != 1 || f.Seen != (inbox.Stamp{}) || f.Still(open) {
		t.Errorf("just written: %+v, %v", f, err)
	}
	if f.Seen, err = inbox.StampOfOpen(open); err != nil || !f.Still(open) {
		t.Errorf("untouched: %+v, %v", f, err)
	}
	if _, err := open.WriteString("AB"); err != nil || f.Still(open) {
		t.Errorf("longer, and yet the same: %v", err)
	}
	other, err := os.Create(path + ".other")
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if f.Seen, err = inbox.StampOfOpen(open); err != nil || !f.Still(open) || f.Still(other) {
		t.Errorf("another file under its name: %v", err)
	}
}

// What a file was summed up by is relied on once it has rested, in this run as in the next.
func TestRested(t *testing.T) {
	at, told := inbox.Stamp{Size: 1, Modified: 2, Changed: 3, Number: 4}, scan.Source{File: "left.ply", SHA256: "aa", Bytes: 1}
	for rested, want := range map[bool]inbox.Stamp{false: {}, true: at} {
		if f := (source{at, told, rested}).file("x"); f != (File{"x", told, want}) {
			t.Errorf("rested %v: %+v", rested, f)
		}
	}
}

// What one run has read of the outbox the next knows, as long as nobody touches it.
func TestRecordsKnown(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a \xff/left.ply": "A", "inbox/b/left.ply": "bad"})
	if s, _, err := once(t, root, "v1", nil); err != nil || s.Made != 2 {
		t.Fatal(s, err)
	}
	outbox := filepath.Join(root, "outbox")
	m := decodeMemory(leftIn(t, root, nil), "v1")
	left := key{"b", Left}
	if len(m.Records) != 2 || m.Records[key{"a \xff", Left}].Verdict != "good" || m.Records[left].Verdict != refused {
		t.Fatalf("kept: %+v", m)
	}
	// Only one who does not read the record believes this.
	told := m.Records[left]
	told.Verdict = "good"
	m.Records[left] = told
	data, err := m.encode()
	if err != nil {
		t.Fatal(err)
	}
	leftIn(t, root, data)
	if s, _, err := once(t, root, "v1", nil); err != nil || s != (Summary{Current: 2}) {
		t.Errorf("by what is known: %+v, %v", s, err)
	}
	result := filepath.Join(outbox, "b", Left, ResultName)
	if err := os.Chtimes(result, time.Time{}, time.Unix(1, 0)); err != nil {
		t.Fatal(err)
	}
	if s, _, err := once(t, root, "v1", nil); err != nil || s != (Summary{Current: 2, Refused: 1}) {
		t.Errorf("touched, and so read: %+v, %v", s, err)
	}
	if got := decodeMemory(leftIn(t, root, nil), "v2"); len(got.Records) != 0 {
		t.Errorf("another version of the program takes over %+v", got)
	}
}

// leftIn returns what the last run over a shop left for the next, and leaves something else, if that is not nil.
func leftIn(t *testing.T, root string, data []byte) []byte {
	t.Helper()
	lock, err := Lock(root)
	if err != nil {
		t.Fatal(err)
	}
	defer lock.Close()
	left := lock.left()
	if data != nil {
		if err := lock.leave(data); err != nil {
			t.Fatal(err)
		}
	}
	return left
}

// What was kept is taken whole or not at all.
func TestMemoryDamaged(t *testing.T) {
	m := memory{"v1", fingerprints{{"a", "left.ply"}: {inbox.Stamp{Size: 1, Modified: 2, Changed: 3, Number: 4}, scan.Source{File: "left.ply", SHA256: "aa", Bytes: 1}, true}},
		map[key]recorded{{"a", Left}: {inbox.Stamp{Size: 5, Modified: 6, Changed: 7, Number: 8}, "Wren", "good", []scan.Message{scan.Notef("x", "y")}, "v1", "s", "f", "left aa", "0123456789"}}}
	data, err := m.encode()
	if err != nil {
		t.Fatal(err)
	}
	if got := decodeMemory(data, "v1"); !got.same(&m) {
		t.Fatalf("kept %+v, read %+v", m, got)
	}
	rapid.Check(t, func(t *rapid.T) {
		bad := append([]byte{}, data...)
		i := rapid.IntRange(0, len(bad)-1).Draw(t, "at")
		if rapid.Bool().Draw(t, "cut") {
			bad = bad[:i]
		} else {
			bad[i] ^= byte(rapid.IntRange(1, 255).Draw(t, "flip"))
		}
		if got := decodeMemory(bad, "v1"); got.Version != "" || len(got.Sources)+len(got.Records) != 0 {
			t.Fatalf("read %+v", got)
		}
	})
}

// A file that is over the limit is not read, and is taken for what it was as long as its size is the same.
func TestOverFileKnown(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "a large file"})
	list, _, err := inbox.List(root)
	if err != nil {
		t.Fatal(err)
	}
	in := fingerprints{}.of(t.Context(), list[0], 4, fingerprints{})
	if f := in.Left.Files[0]; f.Source.SHA256 != "" || f.Source.Bytes != 12 || in.Left.Err != nil {
		t.Errorf("%+v", in.Left)
	}
	o := Options{Version: "v1", Limits: Limits{File: 4}}
	for _, want := range []Summary{{Made: 1, Refused: 1}, {Current: 1, Refused: 1}} {
		if s, err := Once(t.Context(), root, &bench{}, o); err != nil || s != want {
			t.Errorf("%+v, %v", s, err)
		}
	}
	o.Limits.File = 12
	if s, err := Once(t.Context(), root, &bench{}, o); err != nil || s != (Summary{Made: 1}) {
		t.Errorf("with a higher limit: %+v, %v", s, err)
	}
}

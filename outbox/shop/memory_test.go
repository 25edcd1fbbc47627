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

// A file that was touched shortly before it was read may change without a trace, so its stamp is not relied on.
func TestStampSettled(t *testing.T) {
	at := time.Unix(1_000_000, 0)
	before := func(d time.Duration) int64 { return at.Add(-d).UnixNano() }
	for _, c := range []struct {
		name              string
		modified, changed int64
		want              bool
	}{
		{"old", before(time.Hour), before(time.Minute), true},
		{"just written", before(time.Second), before(time.Second), false},
		{"copied just now with its old time", before(time.Hour), before(time.Second), false},
		{"copied a while ago from a phone whose clock is ahead", before(-time.Hour), before(time.Minute), true},
		{"just copied from such a phone", before(-time.Hour), before(time.Second), false},
		{"written before the clock was set back", before(-time.Hour), before(-time.Hour), false},
		{"a coarse time within its step", before(2 * time.Second), before(time.Minute), false},
		{"old, and the system has no time of its own", before(time.Minute), 0, true},
		{"new, and the system has none", before(time.Second), 0, false},
		{"ahead, and the system has none", before(-time.Hour), 0, false},
	} {
		if got := (Stamp{Modified: c.modified, Changed: c.changed}).settled(at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A file of the inbox is read again if anything in its stamp has changed, and only then.
func TestFingerprintKnown(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A"})
	path := filepath.Join(root, "inbox", "a", "left.ply")
	at, err := stampOf(path)
	if err != nil {
		t.Fatal(err)
	}
	told := scan.Source{File: "left.ply", SHA256: "as it was told", Bytes: 1}
	for name, c := range map[string]struct {
		change func(*Stamp)
		known  bool
	}{
		"the same":      {func(*Stamp) {}, true},
		"another size":  {func(s *Stamp) { s.Size++ }, false},
		"another time":  {func(s *Stamp) { s.Modified-- }, false},
		"changed since": {func(s *Stamp) { s.Changed-- }, false},
		"another file":  {func(s *Stamp) { s.Number++ }, false},
	} {
		old := at
		c.change(&old)
		next := fingerprints{}
		f, err := fingerprints{key{"a", "left.ply"}: {old, told}}.file(t.Context(), "a", path, math.MaxInt64, next)
		if err != nil || (f.Source == told) != c.known {
			t.Errorf("%s: %+v, %v", name, f, err)
		}
		if c.known != (next[key{"a", "left.ply"}].Source == told) {
			t.Errorf("%s: remembered %+v", name, next)
		}
	}
}

// A file that was looked at is the same until anything is done to it, and one that was just written tells nothing.
func TestSame(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	put := func(data string) {
		if err := os.WriteFile(path, []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put("A")
	f, err := Look(t.Context(), path)
	if err != nil || f.Path != path || f.Source.Bytes != 1 || f.Seen != (Stamp{}) || f.Same() {
		t.Errorf("just written: %+v, %v", f, err)
	}
	if f.Seen, err = stampOf(path); err != nil || !f.Same() {
		t.Errorf("untouched: %+v, %v", f, err)
	}
	put("AB")
	if f.Same() {
		t.Error("longer, and yet the same")
	}
	if err := os.Remove(path); err != nil || f.Same() {
		t.Errorf("gone, and yet the same: %v", err)
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
	m := memory{"v1", fingerprints{{"a", "left.ply"}: {Stamp{1, 2, 3, 4}, scan.Source{File: "left.ply", SHA256: "aa", Bytes: 1}}},
		map[key]recorded{{"a", Left}: {Stamp{5, 6, 7, 8}, "Wren", "good", []scan.Message{scan.Notef("x", "y")}, "v1", "s", "f", "left aa", "0123456789"}}}
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

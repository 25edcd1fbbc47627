package shop

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
)

// meddler is a disk on which something happens to the inbox before one change of the outbox.
type meddler struct {
	faultyDisk
	once   sync.Once
	count  int
	before int
	meddle func()
}

func (m *meddler) tick() {
	if m.count++; m.count == m.before {
		m.once.Do(m.meddle)
	}
}

func (m *meddler) WriteFile(path string, data []byte) error {
	m.tick()
	return m.faultyDisk.WriteFile(path, data)
}

func (m *meddler) SyncFile(path string) error {
	m.tick()
	return m.faultyDisk.SyncFile(path)
}

func (m *meddler) Rename(from, to string) error {
	m.tick()
	return m.faultyDisk.Rename(from, to)
}

// A scan that grows, shrinks, changes, vanishes or becomes a folder while a run is at any of its steps is never
// delivered under contents that it did not have, and the next run has everything right.
func TestInboxChangesAtAnyStep(t *testing.T) {
	for name, do := range map[string]func(path string) error{
		"grows":    func(p string) error { return os.WriteFile(p, []byte("A and more"), 0o644) },
		"shrinks":  func(p string) error { return os.Truncate(p, 0) },
		"changes":  func(p string) error { return os.WriteFile(p, []byte("B"), 0o644) },
		"vanishes": os.Remove,
		"a folder": func(p string) error { return errors.Join(os.Remove(p), os.Mkdir(p, 0o755)) },
	} {
		for before := 1; ; before++ {
			root := t.TempDir()
			write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/a/right.ply": "R"})
			path := filepath.Join(root, "inbox", "a", "left.ply")
			d := &meddler{before: before, meddle: func() {
				if err := do(path); err != nil {
					t.Error(err)
				}
			}}
			d.unsynced = map[string]bool{}
			_ = passWith(t, root, d) // may fail; nothing wrong may stand then
			for _, side := range []string{Left, Right} {
				r := ReadRecord(filepath.Join(root, "outbox", "a", side), "a", side)
				sum := sha256.Sum256([]byte(report(t, root, "a/"+side)))
				if r.Err == nil && r.from.scans != side+" "+hex.EncodeToString(sum[:]) {
					t.Errorf("%s before step %d: %s is of %s, and says %+v", name, before, side, report(t, root, "a/"+side), r.from)
				}
			}
			if err := passOn(t, root, &faultyDisk{}); err != nil {
				t.Errorf("%s before step %d: the next run: %v", name, before, err)
			}
			got := lastMade(t, root)
			fresh := t.TempDir()
			if err := os.CopyFS(filepath.Join(fresh, "inbox"), os.DirFS(filepath.Join(root, "inbox"))); err != nil {
				t.Fatal(err)
			}
			if err := passOn(t, fresh, &faultyDisk{}); err != nil {
				t.Fatal(err)
			}
			for file, text := range lastMade(t, fresh) {
				if got[file] != text {
					t.Errorf("%s before step %d: %s is %q, want %q", name, before, file, got[file], text)
				}
			}
			if d.count < before {
				if before < 15 {
					t.Errorf("only %d steps", before)
				}
				break
			}
		}
	}
}

// lastMade reads the deliveries of an outbox back, but for those that were replaced.
func lastMade(t *testing.T, root string) map[string]string {
	t.Helper()
	got := outboxOf(t, root)
	maps.DeleteFunc(got, func(name, _ string) bool {
		return strings.Contains(name, "earlier/") || name == "index.html"
	})
	return got
}

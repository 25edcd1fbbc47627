package shop

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"

	"tipwright/scan"
)

// errKilled is what every change of the file system comes to once the run is dead.
var errKilled = errors.New("killed")

// fault is what happens at one change of the file system.
type fault int

const (
	killBefore fault = iota // the run dies, the change is not made
	killAfter               // the run dies, the change is made, a file half written
	powerLost               // as killAfter, and what was written but not synced is empty
	fullOnce                // the disk has no room for this, but for the next
	fullOn                  // the disk has no room from here on
	faults
)

// faultyDisk counts the changes of the file system and breaks one of them.
type faultyDisk struct {
	realDisk
	mu       sync.Mutex
	what     fault
	at       int  // the change that breaks, from 1; 0: none
	noSwap   bool // the file system cannot exchange
	n        int
	dead     bool
	unsynced map[string]bool
}

// change makes one change, or does what befalls it. Writing takes room on the disk; half writes half of it.
func (d *faultyDisk) change(do, half func() error, writing bool) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.dead {
		return errKilled
	}
	d.n++
	full := writing && (d.what == fullOnce && d.n == d.at || d.what == fullOn && d.at > 0 && d.n >= d.at)
	switch {
	case full:
		return errors.Join(half(), syscall.ENOSPC)
	case d.n != d.at || d.what == fullOnce || d.what == fullOn:
		return do()
	}
	d.dead = true
	if d.what != killBefore {
		_ = half()
	}
	if d.what == powerLost {
		for path := range d.unsynced {
			_ = os.Truncate(path, 0)
		}
	}
	return errKilled
}

func (d *faultyDisk) MkdirAll(dir string) error {
	do := func() error { return d.realDisk.MkdirAll(dir) }
	return d.change(do, do, true)
}

func (d *faultyDisk) WriteFile(path string, data []byte) error {
	data = data[:min(len(data), 4096)] // the probe's zeros would only take time
	write := func(data []byte) func() error {
		return func() error {
			d.unsynced[path] = true
			return d.realDisk.WriteFile(path, data)
		}
	}
	return d.change(write(data), write(data[:len(data)/2]), true)
}

func (d *faultyDisk) SyncFile(path string) error {
	return d.change(func() error { delete(d.unsynced, path); return nil }, func() error { return nil }, true)
}

func (d *faultyDisk) SyncDir(string) error {
	none := func() error { return nil }
	return d.change(none, none, false)
}

func (d *faultyDisk) Rename(from, to string) error {
	do := func() error {
		err := d.realDisk.Rename(from, to)
		if err == nil {
			d.moved([2]string{from, to})
		}
		return err
	}
	return d.change(do, do, false)
}

// moved has the files that are not synced yet go with their folders.
func (d *faultyDisk) moved(ways ...[2]string) {
	now := map[string]bool{}
	for path := range d.unsynced {
		for _, way := range ways {
			if rest, inside := strings.CutPrefix(path, way[0]); inside {
				path = way[1] + rest
				break
			}
		}
		now[path] = true
	}
	d.unsynced = now
}

func (d *faultyDisk) Exchange(a, b string) error {
	do := func() error {
		if d.noSwap {
			return errors.ErrUnsupported
		}
		err := d.realDisk.Exchange(a, b)
		if err == nil {
			d.moved([2]string{a, b}, [2]string{b, a})
		}
		return err
	}
	return d.change(do, do, false)
}

func (d *faultyDisk) RemoveAll(path string) error {
	do := func() error { return d.realDisk.RemoveAll(path) }
	return d.change(do, do, false)
}

// diskBench is a bench whose files go through a disk.
type diskBench struct{ disk disk }

func (b diskBench) Side(_ context.Context, job Job) error { return b.deliver(job) }
func (b diskBench) Pair(_ context.Context, job Job) error { return b.deliver(job) }

func (b diskBench) Refuse(job Job, why scan.Message) error {
	return b.write(job, "refused", why.Text)
}

func (b diskBench) deliver(job Job) error {
	text, err := os.ReadFile(job.Scans[0].Path)
	if err != nil {
		return err
	}
	verdict := "good"
	if string(text) == "bad" {
		verdict = "refused"
	}
	sum := sha256.Sum256(text) // of what was read, whatever lay there when the job was begun
	job.Scans = slices.Clone(job.Scans)
	job.Scans[0].Source.SHA256 = hex.EncodeToString(sum[:])
	return b.write(job, verdict, string(text))
}

func (b diskBench) write(job Job, verdict, text string) error {
	record, err := resultOf(job, verdict)
	if err != nil {
		return err
	}
	if err := b.disk.WriteFile(filepath.Join(job.Dir, "report.txt"), []byte(text)); err != nil {
		return err
	}
	return b.disk.WriteFile(filepath.Join(job.Dir, ResultName), record)
}

func (b diskBench) Index(_ context.Context, w io.Writer, entries []Entry) error {
	return new(bench).Index(context.Background(), w, entries)
}

// passOn makes one pass with a disk; a disk that has died takes no note of what the run does after.
func passOn(t *testing.T, root string, d *faultyDisk) error {
	t.Helper()
	d.unsynced = map[string]bool{}
	return passWith(t, root, d)
}

func passWith(t *testing.T, root string, d disk) error {
	t.Helper()
	r := newRun(root, diskBench{d}, Options{Version: "v1", Parallel: 1})
	r.keeper = keeper{d}
	lock, err := r.begin()
	if err != nil {
		return err
	}
	defer lock.Close()
	_, err = r.pass(t.Context(), nil)
	return err
}

// outboxOf reads an outbox back, but for the lock.
func outboxOf(t *testing.T, root string) map[string]string {
	t.Helper()
	got := tree(t, filepath.Join(root, "outbox"))
	delete(got, ".lock")
	return got
}

// wholeOrNot checks that each delivery is, file by file, the one of before or the one of after; the page too
// if the run could say nothing more.
func wholeOrNot(t *testing.T, what fault, got, before, after map[string]string) {
	t.Helper()
	for _, delivery := range []string{"a/left/", "a/right/", "a/pair/", "c/right/", "index.html"} {
		if what >= fullOnce && delivery == "index.html" {
			continue
		}
		part := func(m map[string]string) map[string]string {
			m = maps.Clone(m)
			maps.DeleteFunc(m, func(name, _ string) bool { return !strings.HasPrefix(name, delivery) })
			return m
		}
		if p := part(got); !maps.Equal(p, part(before)) && !maps.Equal(p, part(after)) {
			t.Errorf("%s is neither what it was nor what it was to be: %q", delivery, p)
		}
	}
}

// Whatever befalls whichever change of the file system: at each moment there stands the old delivery or the
// new one, the inbox is untouched, and the next run makes of it what an undisturbed run would have.
func TestEveryFault(t *testing.T) {
	inbox := map[string]string{"inbox/a/left.ply": "A", "inbox/a/right.ply": "R"}
	changes := map[string]string{"inbox/a/left.ply": "A2", "inbox/c/right.ply": "bad"}
	model := t.TempDir()
	write(t, model, inbox)
	if err := passOn(t, model, &faultyDisk{}); err != nil {
		t.Fatal(err)
	}
	write(t, model, changes)
	for _, noSwap := range []bool{false, true} {
		for what := range faults {
			if !noSwap || what == killBefore || what == powerLost {
				t.Run(fmt.Sprintf("fault %d, exchange %v", what, !noSwap), func(t *testing.T) {
					t.Parallel()
					everyChange(t, model, what, noSwap)
				})
			}
		}
	}
}

// everyChange has one fault happen at each change in turn, each time to a copy of the same shop.
func everyChange(t *testing.T, model string, what fault, noSwap bool) {
	prepare := func() string {
		root := t.TempDir()
		if err := os.CopyFS(root, os.DirFS(model)); err != nil {
			t.Fatal(err)
		}
		return root
	}
	root := prepare()
	before, in := outboxOf(t, root), tree(t, filepath.Join(root, "inbox"))
	count := &faultyDisk{noSwap: noSwap}
	if err := passOn(t, root, count); err != nil {
		t.Fatal(err)
	}
	after := outboxOf(t, root)
	if count.n < 30 || maps.Equal(before, after) {
		t.Fatalf("only %d changes of the file system", count.n)
	}
	for at := 1; at <= count.n && !t.Failed(); at++ {
		name := fmt.Sprintf("at change %d of %d", at, count.n)
		root := prepare()
		broken := &faultyDisk{what: what, at: at, noSwap: noSwap}
		if err := passOn(t, root, broken); broken.dead != (what < fullOnce) {
			t.Errorf("%s: the fault did not come to pass: %v", name, err)
		}
		if !noSwap {
			wholeOrNot(t, what, outboxOf(t, root), before, after)
		}
		if err := passOn(t, root, &faultyDisk{noSwap: noSwap}); err != nil {
			t.Errorf("%s: the next run: %v", name, err)
		}
		same(t, name, outboxOf(t, root), after)
		same(t, name+": the inbox", tree(t, filepath.Join(root, "inbox")), in)
	}
}

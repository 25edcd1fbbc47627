package shop

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"

	"tipwright/scan"
)

// bench makes deliveries that hold what they were made from. What a scan holds decides what becomes of it:
// "bad" is refused, "panic" and "fail" do as they say.
type bench struct {
	mu      sync.Mutex
	jobs    []string // "a left" each, as they came
	entries []Entry
	during  func(job Job) // what happens while a job is at work
}

func (b *bench) Side(_ context.Context, job Job) error { return b.deliver(job) }
func (b *bench) Pair(_ context.Context, job Job) error { return b.deliver(job) }

func (b *bench) Refuse(job Job, why scan.Message) error {
	return writeResult(job, "refused", why.Text, why)
}

func (b *bench) Index(_ context.Context, w io.Writer, entries []Entry) error {
	b.entries = entries
	for _, e := range entries {
		fmt.Fprintln(w, e.Aircraft, e.Side, e.Verdict, e.Stale, e.Gone, e.Problem, e.Strange, e.Earlier)
	}
	return nil
}

func (b *bench) deliver(job Job) error {
	b.mu.Lock()
	b.jobs = append(b.jobs, job.Aircraft+" "+job.Side)
	b.mu.Unlock()
	if b.during != nil {
		b.during(job)
	}
	text, err := os.ReadFile(job.Scans[0].Path)
	if err != nil {
		return err
	}
	verdict := "good"
	switch string(text) {
	case "bad":
		verdict = "refused"
	case "panic":
		var none *Record
		_ = none.Verdict
	case "cut":
		return writeResult(job, "refused", "cut", scan.Message{Code: CutCode, Level: scan.Refusal, Text: "It ends too early."})
	case "fail":
		return errors.New("no space left on the device")
	}
	return writeResult(job, verdict, string(text))
}

func writeResult(job Job, verdict, report string, messages ...scan.Message) error {
	data, err := resultOf(job, verdict, messages...)
	return errors.Join(err, os.WriteFile(filepath.Join(job.Dir, ResultName), data, 0o644),
		os.WriteFile(filepath.Join(job.Dir, "report.txt"), []byte(report), 0o644))
}

func resultOf(job Job, verdict string, messages ...scan.Message) ([]byte, error) {
	name := func(f File) file { return file{f.Source.File, f.Source.SHA256} }
	h := head{Side: job.Side, Sheet: name(job.Sheet), Airfoil: name(job.Airfoil), Verdict: verdict}
	h.Program.Version = job.Version
	for _, m := range messages {
		h.Messages = append(h.Messages, message{m.Code, m.Level.String(), m.Text})
	}
	for _, f := range job.Scans {
		h.Scans = append(h.Scans, name(f))
	}
	return json.Marshal(h)
}

// once runs one pass and returns what it came to and the jobs in their order.
func once(t *testing.T, root, version string, during func(Job)) (Summary, string, error) {
	t.Helper()
	b := &bench{during: during}
	s, err := Once(t.Context(), root, b, Options{Version: version, Parallel: 1})
	return s, strings.Join(b.jobs, ", "), err
}

func report(t *testing.T, root, delivery string) string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(root, "outbox", filepath.FromSlash(delivery), "report.txt"))
	if err != nil {
		return "none"
	}
	return string(text)
}

func TestOnce(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{
		"inbox/b/left.ply": "B", "inbox/a/wing.toml": "airfoil = \"my.dat\"\n", "inbox/a/my.dat": "x", "inbox/a/left.ply": "L", "inbox/a/right.ply": "R",
		"inbox/a/left-2.ply": "L2", "inbox/a/notes.txt": "x", "inbox/c/": "", "inbox/d/right.ply": "bad", "inbox/d/left.ply": "D",
	})
	before := tree(t, filepath.Join(root, "inbox"))
	for _, step := range []struct {
		what    string
		do      map[string]string // files to write first
		remove  string
		version string
		jobs    string
		want    Summary
	}{
		{"new", nil, "", "v1", "a left, a right, a pair, b left, d left, d right", Summary{Made: 6, Refused: 1}},
		{"nothing to do", nil, "", "v1", "", Summary{Current: 6, Refused: 1}},
		{"a scan was mended", map[string]string{"inbox/d/right.ply": "DR"}, "", "v1", "d right, d pair", Summary{Made: 2, Current: 5}},
		{"a coordinate file was mended", map[string]string{"inbox/a/my.dat": "y"}, "", "v1", "a left, a right, a pair", Summary{Made: 3, Current: 4}},
		{"a scan went bad", map[string]string{"inbox/a/right.ply": "bad"}, "", "v1", "a right", Summary{Made: 1, Current: 5, Refused: 1}},
		{"a scan was taken away", nil, "inbox/b/left.ply", "v1", "", Summary{Current: 5, Refused: 1}},
		{"the program was renewed", nil, "", "v2", "a left, a right, d left, d right, d pair", Summary{Made: 5, Refused: 1}},
	} {
		write(t, root, step.do)
		if step.remove != "" {
			if err := os.Remove(filepath.Join(root, filepath.FromSlash(step.remove))); err != nil {
				t.Fatal(err)
			}
		}
		s, jobs, err := once(t, root, step.version, nil)
		if err != nil || jobs != step.jobs || s != step.want {
			t.Errorf("%s: jobs %q, %+v, %v; want %q, %+v", step.what, jobs, s, err, step.jobs, step.want)
		}
	}
	if report(t, root, "a/pair") != "none" || report(t, root, "b/left") != "B" {
		t.Error("the pair of a refused side must be set aside, the delivery of a scan that was taken away kept")
	}
	delete(before, "inbox/b/left.ply")
	after := tree(t, filepath.Join(root, "inbox"))
	before["a/my.dat"], before["a/right.ply"], before["d/right.ply"] = "y", "bad", "DR"
	before["b/"] = ""
	delete(before, "b/left.ply")
	same(t, "the inbox", after, before)
}

// A replaced delivery is kept under the name of what it was made from.
func TestOnceKeepsEarlier(t *testing.T) {
	root := t.TempDir()
	var names []string
	for _, text := range []string{"one", "two", "one", "two", "one"} {
		write(t, root, map[string]string{"inbox/a/left.ply": text})
		if _, _, err := once(t, root, "v1", nil); err != nil {
			t.Fatal(err)
		}
		names = append(names, "left-"+ReadRecord(filepath.Join(root, "outbox/a/left"), "a", Left).sum)
	}
	want := map[string]string{names[0]: "one", names[1]: "two", names[0] + "-2": "one", names[1] + "-2": "two"}
	got := map[string]string{}
	for name := range want {
		got[name] = report(t, root, "a/earlier/"+name)
	}
	same(t, "earlier", got, want)
	b := &bench{}
	if _, err := Once(t.Context(), root, b, Options{Version: "v1", Parallel: 1}); err != nil || len(b.entries[0].Earlier) != 4 {
		t.Errorf("the page is told of %v, %v", b.entries[0].Earlier, err)
	}
}

// What fails does not stop the rest, leaves what stood before, and is tried again the next time; a fault of
// the program is refused, with what stood before kept.
func TestOnceFailures(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/b/left.ply": "B", "inbox/c/left.ply": "C", "inbox/c/right.ply": "R"})
	if _, _, err := once(t, root, "v1", nil); err != nil {
		t.Fatal(err)
	}
	write(t, root, map[string]string{"inbox/a/left.ply": "panic", "inbox/b/left.ply": "fail", "inbox/c/left.ply": "C2"})
	var log bytes.Buffer
	b := &bench{}
	s, err := Once(t.Context(), root, b, Options{Version: "v1", Parallel: 1, Log: slog.New(slog.NewTextHandler(&log, nil))})
	if want := (Summary{Made: 3, Current: 1, Refused: 1, Failed: 1}); err != nil || s != want {
		t.Errorf("%+v, %v, want %+v", s, err, want)
	}
	if !strings.Contains(report(t, root, "a/left"), "fault of its own") || report(t, root, "b/left") != "B" || report(t, root, "c/left") != "C2" {
		t.Error("the delivery that stood before is gone, the fault is not refused, or the job after it was not made")
	}
	if text := log.String(); !strings.Contains(text, "once_test.go") || !strings.Contains(text, "no space left") {
		t.Errorf("the log has no trace of the panic or no cause of the failure:\n%s", text)
	}
	for _, e := range b.entries {
		if e.Aircraft == "b" && e.Side == Left && (e.Problem == "" || !e.Stale) {
			t.Errorf("the page is not told of the failure: %+v", e)
		}
	}
	left, err := filepath.Glob(filepath.Join(root, "outbox", "*", making+"*"))
	if err != nil || len(left) > 0 {
		t.Errorf("left behind: %v, %v", left, err)
	}
	if _, jobs, _ := once(t, root, "v1", nil); jobs != "b left" {
		t.Errorf("tried again: %q", jobs)
	}
}

// Nothing is delivered through a link in the outbox, which may lead anywhere.
func TestOnceLinkInOutbox(t *testing.T) {
	root, elsewhere := t.TempDir(), t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/b/left.ply": "B", "outbox/": ""})
	if err := os.Symlink(elsewhere, filepath.Join(root, "outbox", "a")); err != nil {
		t.Skip("no links here: ", err)
	}
	s, _, err := once(t, root, "v1", nil)
	if err != nil || s != (Summary{Made: 1, Failed: 1}) || report(t, root, "b/left") != "B" {
		t.Errorf("%+v, %v", s, err)
	}
	if got := tree(t, elsewhere); len(got) != 1 { // the folder itself
		t.Errorf("written out of the shop: %q", got)
	}
}

// Faults of the outbox, as when it is full, read-only or tampered with.
func TestOnceBadOutbox(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{
		"inbox/a/left.ply": "A", "outbox/a": "a file where a folder should be",
		"inbox/b/left.ply": "B", "outbox/b/left/notes.txt": "the builder's own", "outbox/b/left/result.json": "{",
		"inbox/c/left.ply": "C", "outbox/c/left": "a file where the delivery should be",
		"inbox/d/left.ply": "D", "outbox/d/.making-left/result.json": "left by a killed run", "outbox/d/.making-right/x": "the same",
	})
	s, jobs, err := once(t, root, "v1", nil)
	if want := (Summary{Made: 3, Failed: 1}); err != nil || s != want || jobs != "b left, c left, d left" {
		t.Errorf("%+v, %q, %v, want %+v", s, jobs, err, want)
	}
	got := outboxOf(t, root)
	maps.DeleteFunc(got, func(name, _ string) bool {
		return strings.HasSuffix(name, ResultName) || name == "index.html"
	})
	same(t, "the outbox", got, map[string]string{
		"a": "a file where a folder should be", "b/left/report.txt": "B", "b/earlier/left-unknown/notes.txt": "the builder's own",
		"c/left/report.txt": "C", "c/earlier/left-unknown": "a file where the delivery should be", "d/left/report.txt": "D",
	})
	shut := t.TempDir()
	write(t, shut, map[string]string{"inbox/a/left.ply": "A", "outbox": "a file"})
	if _, _, err := once(t, shut, "v1", nil); err == nil || !strings.Contains(err.Error(), "the outbox cannot be made") {
		t.Errorf("no outbox to be had: %v", err)
	}
	none := t.TempDir()
	if _, _, err := once(t, none, "v1", nil); !errors.Is(err, os.ErrNotExist) || len(tree(t, none)) != 1 {
		t.Errorf("a folder that is no shop: %v, and now it holds %v", err, tree(t, none))
	}
}

// A scan that changes while it is at work is not delivered under either of its contents.
func TestOnceInputChanges(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A"})
	s, _, err := once(t, root, "v1", func(job Job) { // the bench records what it has really read
		job.Scans[0].Source.SHA256 = "of other contents"
	})
	if s.Made != 0 || s.Failed != 1 || err != nil || report(t, root, "a/left") != "none" {
		t.Errorf("%+v, %v, %q was delivered", s, err, report(t, root, "a/left"))
	}
}

func TestOnceStops(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/b/left.ply": "B", "inbox/c/left.ply": "C"})
	ctx, cancel := context.WithCancel(t.Context())
	b := &bench{during: func(job Job) {
		if job.Aircraft == "b" {
			cancel()
		}
	}}
	if _, err := Once(ctx, root, b, Options{Version: "v1", Parallel: 1}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped with %v", err)
	}
	if report(t, root, "a/left") != "A" || report(t, root, "c/left") != "none" {
		t.Error("what was delivered until then must stand, and nothing be begun after")
	}
	if _, jobs, err := once(t, root, "v1", nil); err != nil || strings.Contains(jobs, "a left") {
		t.Errorf("taken up again with %q, %v", jobs, err)
	}
}

func TestOnceProgress(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/a/right.ply": "R"})
	var got []string
	_, err := Once(t.Context(), root, &bench{}, Options{Version: "v1", Parallel: 1, Progress: func(done, total int, j Job) {
		got = append(got, fmt.Sprintf("%d of %d: %s", done, total, j.Side))
	}})
	if want := []string{"0 of 2: left", "1 of 2: right", "2 of 3: pair"}; err != nil || !slices.Equal(got, want) {
		t.Errorf("%q, %v, want %q", got, err, want)
	}
}

package inbox

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"
)

// fakeInbox stands for a file system: files by name, with a size each.
type fakeInbox struct {
	mu    sync.Mutex
	files map[string]int64
	away  bool
	looks int
}

func (f *fakeInbox) look() (map[string]Look, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.looks++
	if f.away {
		return nil, errors.New("away")
	}
	seen := map[string]Look{}
	for name, size := range f.files {
		seen[name] = Look{Size: size}
	}
	return seen, nil
}

func (f *fakeInbox) lookAt(file string) Look {
	f.mu.Lock()
	defer f.mu.Unlock()
	size, there := f.files[file]
	return Look{Size: size, Gone: !there}
}

func (f *fakeInbox) set(change func()) {
	f.mu.Lock()
	defer f.mu.Unlock()
	change()
}

// step is one thing that happens, at a number of seconds after the start.
type step struct {
	at   int
	do   func(f *fakeInbox) // nil: nothing happens to the files
	hint string             // told by the file system; "-" for nothing
}

// told is one Calm, at a number of seconds after the start.
type told struct {
	at     int
	moving []string
}

const (
	testQuiet  = 10 * time.Second
	testRescan = 300 * time.Second
)

// play runs steps against a settler for a number of seconds and returns what was told.
func play(t *testing.T, files map[string]int64, steps []step, seconds int) (got []told) {
	t.Helper()
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		f := &fakeInbox{files: files}
		hints, out := make(chan string), make(chan Calm)
		s := settler{hints: hints, look: f.look, lookAt: f.lookAt, quiet: testQuiet, rescan: testRescan, out: out, log: slog.New(slog.DiscardHandler)}
		go s.run(ctx)
		start := time.Now()
		go func() {
			for _, st := range steps {
				time.Sleep(time.Until(start.Add(time.Duration(st.at) * time.Second)))
				if st.do != nil {
					f.set(func() { st.do(f) })
				}
				if st.hint != "-" {
					hints <- st.hint
				}
			}
			time.Sleep(time.Until(start.Add(time.Duration(seconds) * time.Second)))
			cancel()
		}()
		for c := range out {
			got = append(got, told{int(time.Since(start).Seconds()), c.Moving})
		}
		if most := seconds/int(testQuiet.Seconds())*3 + 3*len(steps) + 3; f.looks > most {
			t.Errorf("looked %d times in %d s", f.looks, seconds)
		}
	})
	return got
}

func size(name string, n int64) func(*fakeInbox) { return func(f *fakeInbox) { f.files[name] = n } }
func remove(name string) func(*fakeInbox)        { return func(f *fakeInbox) { delete(f.files, name) } }

func TestSettler(t *testing.T) {
	one := map[string]int64{"a/left.ply": 5}
	for _, c := range []struct {
		name    string
		files   map[string]int64
		steps   []step
		seconds int
		want    []told
	}{
		{"what lies there at the start", one, nil, 100, []told{{10, nil}}},
		{"an empty inbox", nil, nil, 100, []told{{0, nil}}},
		{"one event after the other", one, []step{{20, size("a/left.ply", 6), "a/left.ply"}, {25, size("a/left.ply", 7), "a/left.ply"}, {33, nil, "a/left.ply"}}, 100,
			[]told{{10, nil}, {43, nil}}},
		{"grows without events", one, []step{{20, size("a/left.ply", 6), "-"}}, 1000, []told{{10, nil}, {310 + 10, nil}}},
		{"grows between event and look", one, []step{{20, size("a/left.ply", 6), "a/left.ply"}, {29, size("a/left.ply", 7), "-"}}, 100,
			[]told{{10, nil}, {40, nil}}}, // the look at 30 finds it grown
		{"a new aircraft", one, []step{{20, size("b/right.ply", 6), everything}}, 100, []told{{10, nil}, {30, nil}}},
		{"a busy one does not hold up the other", map[string]int64{}, []step{
			{1, size("a/left.ply", 1), everything}, {2, size("b/left.ply", 1), everything},
			{9, size("b/left.ply", 2), "b/left.ply"}, {18, size("b/left.ply", 3), "b/left.ply"}, {27, size("b/left.ply", 4), "b/left.ply"}}, 100,
			[]told{{0, nil}, {11, []string{"b"}}, {37, nil}}},
		{"taken away", one, []step{{20, remove("a/left.ply"), "a/left.ply"}}, 100, []told{{10, nil}, {30, nil}}},
		{"replaced by way of taking away", one, []step{{20, remove("a/left.ply"), "a/left.ply"}, {25, size("a/left.ply", 9), "a/left.ply"}}, 100, []told{{10, nil}, {35, nil}}},
		{"an event about nothing", one, []step{{20, nil, "a/left.ply"}}, 100, []told{{10, nil}, {30, nil}}},
		{"a file in the inbox itself", one, []step{{20, size("left.ply", 1), everything}}, 100, []told{{10, nil}, {30, nil}}},
		{"out of sight for a while", one, []step{{20, func(f *fakeInbox) { f.away = true }, everything}, {60, func(f *fakeInbox) { f.away = false }, "-"}}, 300, []told{{10, nil}}},
		{"nothing happens", one, nil, 3000, []told{{10, nil}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			files := map[string]int64{}
			maps.Copy(files, c.files)
			got := play(t, files, c.steps, c.seconds)
			if !slices.EqualFunc(got, c.want, func(a, b told) bool { return a.at == b.at && slices.Equal(a.moving, b.moving) }) {
				t.Errorf("told %v, want %v", got, c.want)
			}
		})
	}
}

// A Calm that nobody has taken yet tells what is so when it is taken.
func TestSettlerKeepsUpToDate(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		defer cancel()
		f := &fakeInbox{files: map[string]int64{"a/left.ply": 1, "b/left.ply": 1}}
		hints, out := make(chan string), make(chan Calm)
		s := settler{hints: hints, look: f.look, lookAt: f.lookAt, quiet: testQuiet, rescan: testRescan, out: out, log: slog.New(slog.DiscardHandler)}
		go s.run(ctx)
		time.Sleep(50 * time.Second) // both have come to rest
		hints <- "b/left.ply"
		synctest.Wait()
		if c := <-out; !slices.Equal(c.Moving, []string{"b"}) {
			t.Errorf("moving %v, want b", c.Moving)
		}
		time.Sleep(50 * time.Second)
		if c := <-out; len(c.Moving) != 0 {
			t.Errorf("moving %v, want nothing", c.Moving)
		}
	})
}

// The real file system: a new aircraft, written in pieces, is told once it is whole.
func TestWatch(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox/": ""})
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	calms, err := Watch(ctx, shop, 20*time.Millisecond, time.Hour, slog.New(slog.DiscardHandler))
	if err != nil {
		t.Fatal(err)
	}
	next := func(what string) {
		t.Helper()
		if _, open := <-calms; !open {
			t.Fatal("never told: ", what)
		}
	}
	next("the empty inbox")
	write(t, shop, map[string]string{"inbox/a/": ""})
	write(t, shop, map[string]string{"inbox/a/left.ply.part": "x"})
	if err := os.Rename(filepath.Join(shop, "inbox", "a", "left.ply.part"), filepath.Join(shop, "inbox", "a", "left.ply")); err != nil {
		t.Fatal(err)
	}
	next("the new aircraft")
	list, _, err := List(shop)
	if err != nil || len(list) != 1 || len(list[0].Left) != 1 {
		t.Errorf("told, but listed %+v, %v", list, err)
	}
	write(t, shop, map[string]string{"inbox/a/left.ply": "longer"})
	next("the new contents")
	cancel()
	for range calms { // closed when the context ends
	}
}

// An inbox that is away for a while, as a drive is that was unplugged, is watched again when it is back, and
// nobody is sent to look for another fault.
func TestWatchInboxAway(t *testing.T) {
	shop := t.TempDir()
	write(t, shop, map[string]string{"inbox/a/left.ply": "x"})
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	var log bytes.Buffer
	away := make(chan bool)
	calms, err := Watch(ctx, shop, 20*time.Millisecond, time.Hour, slog.New(heard{slog.NewTextHandler(&log, nil), "cannot be read", away}))
	if err != nil {
		t.Fatal(err)
	}
	<-calms
	if err := os.Rename(Dir(shop), Dir(shop)+" away"); err != nil {
		t.Fatal(err)
	}
	<-away
	write(t, shop, map[string]string{"inbox away/a/right.ply": "y"})
	if err := os.Rename(Dir(shop)+" away", Dir(shop)); err != nil {
		t.Fatal(err)
	}
	if _, open := <-calms; !open {
		t.Error("never told that it is back")
	}
	cancel()
	for range calms {
	}
	if strings.Contains(log.String(), "inotify") || strings.Count(log.String(), "\n") != 1 {
		t.Errorf("told:\n%s", &log)
	}
}

// heard is a log whose reader waits for some words.
type heard struct {
	slog.Handler
	words string
	said  chan<- bool
}

func (h heard) Handle(ctx context.Context, r slog.Record) error {
	err := h.Handler.Handle(ctx, r)
	if strings.Contains(r.Message, h.words) {
		h.said <- true
	}
	return err
}

func TestWatchWithoutInbox(t *testing.T) {
	if _, err := Watch(t.Context(), t.TempDir(), time.Second, time.Minute, slog.New(slog.DiscardHandler)); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder that is no shop: %v", err)
	}
}

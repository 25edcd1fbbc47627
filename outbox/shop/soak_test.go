package shop

import (
	"context"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// soakEvents names how many events the soak has; without it there are few.
const soakEvents = "TEST_SOAK_EVENTS"

// builder does what builders and their phones do to an inbox, in no order.
type builder struct {
	*rand.Rand
	inbox string
}

func (b builder) path() string {
	aircraft := []string{"marsh wren", "b", `c "quoted" <b>`, "d\nline", "\xffbytes", "Übung"}[b.IntN(6)]
	name := []string{"left.ply", "left.ply", "right.ply", "right.ply", "left-2.ply", "right.ply.part", "wing.toml", "notes.txt"}[b.IntN(8)]
	return filepath.Join(b.inbox, aircraft, name)
}

// act does one thing. What cannot be done, as to rename what is not there, is not done.
func (b builder) act() {
	path := b.path()
	_ = os.MkdirAll(filepath.Dir(path), 0o755)
	switch b.IntN(20) {
	case 0, 1, 2:
		_ = os.Remove(path)
	case 3, 4:
		_ = os.Rename(path, b.path())
	case 5:
		_ = os.RemoveAll(filepath.Dir(path))
	case 6, 7: // half a file, to be followed by the rest
		_ = os.WriteFile(path, []byte("half"), 0o644)
	default:
		_ = os.WriteFile(path, []byte([]string{"bad", "panic", "one", "two", "three", "four"}[b.IntN(6)]), 0o644)
	}
}

// soaked is an aircraft's side that is to be delivered, by the contents of its first scan.
func soaked(t *testing.T, root string) int {
	t.Helper()
	list, _, err := inbox.List(root)
	if err != nil {
		t.Fatal(err)
	}
	sides := 0
	for _, a := range list {
		for side, scans := range map[string][]string{Left: a.Left, Right: a.Right} {
			if len(scans) == 0 {
				continue
			}
			sides++
			text, err := os.ReadFile(scans[0])
			if err != nil {
				t.Fatal(err)
			}
			r := ReadRecord(filepath.Join(root, "outbox", a.Name, side), a.Name, side)
			in := Fingerprint(t.Context(), a)
			job, _ := in.job(side, "v1")
			if r.Err != nil || r.from != job.from() || (r.Verdict == refused) != (string(text) == "bad" || string(text) == "panic") {
				t.Errorf("%q %s holds %q, and delivered is %+v", a.Name, side, text, r)
			}
		}
	}
	return sides
}

// A service that is stopped and begun again now and then, while files come, change and go at any time, has
// everything right in the end and leaves no goroutine, open file or memory behind.
func TestSoak(t *testing.T) {
	events, err := strconv.Atoi(os.Getenv(soakEvents))
	if err != nil {
		events = 150
	}
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/": ""})
	made, files := 0, openFiles()
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	synctest.Test(t, func(t *testing.T) { // which fails if a goroutine is left
		b := builder{rand.New(rand.NewPCG(2, 26)), filepath.Join(root, "inbox")}
		log := slog.New(slog.DiscardHandler)
		for done := 0; done < events; {
			ctx, stop := context.WithCancel(t.Context())
			r := newRun(root, &bench{}, Options{Version: "v1", Parallel: 3, Log: log})
			lock, err := r.begin()
			if err != nil {
				t.Fatal(err)
			}
			watch := func(ctx context.Context, set Settings) (<-chan inbox.Calm, error) {
				return inbox.Poll(ctx, root, set.Quiet, set.Rescan, log)
			}
			changing := func() (Settings, error) { // now and then, as somebody tries what is best
				return Settings{Parallel: 3, Quiet: time.Duration(3+time.Now().Minute()/5%2) * time.Second, Rescan: 20 * time.Second}, nil
			}
			ended := make(chan bool)
			go func() {
				defer close(ended)
				set, _ := changing()
				if err := r.serve(ctx, set, changing, watch, func(s Summary, _ error) { made += s.Made }); err != nil {
					t.Error(err)
				}
			}()
			for range 50 {
				b.act()
				time.Sleep(time.Duration(b.IntN(10_000)) * time.Millisecond)
				done++
			}
			if done >= events {
				time.Sleep(5 * time.Minute) // at rest
			}
			stop()
			<-ended
			lock.Close()
		}
	})
	sides := soaked(t, root)
	s, err := Once(t.Context(), root, &bench{}, Options{Version: "v1"})
	if err != nil || s.Made != 0 || s.Failed != 0 || s.Waiting != 0 || sides < 4 || made < events/4 {
		t.Errorf("after it all, with %d sides and %d deliveries on the way: %+v, %v", sides, made, s, err)
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	if after.HeapAlloc > before.HeapAlloc+8<<20 {
		t.Errorf("memory in use grew from %d to %d bytes", before.HeapAlloc, after.HeapAlloc)
	}
	if n := openFiles(); n > files {
		t.Errorf("%d files were open, now %d", files, n)
	}
}

// openFiles counts the open descriptors, where the system tells.
func openFiles() int {
	open, _ := os.ReadDir("/proc/self/fd")
	return len(open)
}

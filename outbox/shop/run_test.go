package shop

import (
	"bytes"
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"slices"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// due makes a job with scans of so many bytes.
func due(name string, bytes int64) *task {
	return &task{key: key{name, Left}, job: Job{Aircraft: name, Side: Left, Scans: []File{{Source: scan.Source{Bytes: bytes}}}}}
}

// What may be at work at once: never more than there are processors, but for a place for small ones beside
// large ones, and large ones only as far as memory goes.
func TestRoom(t *testing.T) {
	const small, large = 1 << 20, 64 << 20
	for _, c := range []struct {
		parallel int
		memory   int64 // for one
		hand     []int64
		next     int64
		want     bool
	}{
		{1, 1 << 30, nil, small, true},
		{1, 1 << 30, []int64{small}, small, false},
		{1, 1 << 30, []int64{large}, small, true},
		{1, 1 << 30, []int64{large, small}, small, false},
		{2, 1 << 30, []int64{small}, large, true},
		{2, 1 << 30, []int64{large}, large, false},
		{2, 1 << 30, []int64{large}, small, true},
		{2, 1 << 30, []int64{large, small}, small, false},
		{4, 4 << 30, []int64{large, large}, large, true},
		{4, 4 << 30, []int64{large, large, large}, large, false},
		{8, 1 << 30, []int64{large}, large, true},
		{8, 1 << 30, []int64{large, large}, large, true},
		{8, 1 << 30, []int64{large, large, large}, large, false}, // no memory for it beside the others
		{4, 1 << 30, []int64{large}, small, true},
		{4, 200 << 20, nil, 1 << 40, true}, // alone it may try
	} {
		r := newRun("", nil, Options{Parallel: c.parallel, Limits: Limits{Memory: c.memory}})
		for i, n := range c.hand {
			h := due(fmt.Sprint(i), n)
			r.hand[h.key] = h
		}
		if got := r.room(due("next", c.next)); got != c.want {
			t.Errorf("%d processors, %d bytes of memory each, %v at work: room for %d is %v", c.parallel, c.memory, c.hand, c.next, got)
		}
	}
}

// Small files go first, but nobody waits for ever.
func TestTurn(t *testing.T) {
	r := newRun("", nil, Options{})
	list := []*task{due("huge", 1<<30), due("b", 100), due("a", 5000), due("pair", 1<<30), due("patient", 1<<31)}
	list[3].job.Side = Pair
	r.passed[list[4].key] = patience
	slices.SortStableFunc(list, func(a, b *task) int { return r.turn(a) - r.turn(b) })
	var got []string
	for _, d := range list {
		got = append(got, d.job.Aircraft)
	}
	if want := "patient pair b a huge"; strings.Join(got, " ") != want {
		t.Errorf("%v, want %s", got, want)
	}
}

// slowBench takes as many seconds as the scan says, one for anything else.
type slowBench struct {
	bench
	most, now int
	lock      sync.Mutex
}

func (s *slowBench) Side(ctx context.Context, job Job) error {
	s.lock.Lock()
	s.now++
	s.most = max(s.most, s.now)
	s.lock.Unlock()
	defer func() { s.lock.Lock(); s.now--; s.lock.Unlock() }()
	wait := time.Second
	if job.Side == Left {
		wait = time.Minute
	}
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-time.After(wait):
	}
	return s.bench.Side(ctx, job)
}

// Several jobs are at work at once, each pair after its sides; the log is in the order in which each
// aircraft's were begun, whichever ended first.
func TestParallel(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/a/right.ply": "R", "inbox/b/right.ply": "B"})
	synctest.Test(t, func(t *testing.T) {
		var log bytes.Buffer
		b := &slowBench{}
		start := time.Now()
		s, err := Once(t.Context(), root, b, Options{Version: "v1", Parallel: 2, Log: slog.New(slog.NewTextHandler(&log, nil))})
		if err != nil || s.Made != 4 || b.most != 2 || time.Since(start) != time.Minute {
			t.Errorf("%+v, %v, %d at once, in %v", s, err, b.most, time.Since(start))
		}
		if got := strings.Join(b.jobs, ", "); got != "a right, b right, a left, a pair" {
			t.Errorf("ended in the order %s", got)
		}
		var lines []string
		for line := range strings.Lines(log.String()) {
			lines = append(lines, strings.Join(strings.Fields(line)[3:5], " "))
		}
		if want := []string{"aircraft=b side=right", "aircraft=a side=left", "aircraft=a side=right", "aircraft=a side=pair"}; !slices.Equal(lines, want) {
			t.Errorf("logged %q", lines)
		}
	})
}

// A scan that is replaced while it is at work is stopped and made again at once, and what came meanwhile is
// not held up.
func TestReplacedAtWork(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "outbox/": ""})
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 10*time.Minute)
		defer cancel()
		calms := make(chan inbox.Calm)
		start := time.Now()
		go func() {
			calms <- inbox.Calm{}
			time.Sleep(10 * time.Second)
			write(t, root, map[string]string{"inbox/a/left.ply": "A2", "inbox/b/right.ply": "B"})
			calms <- inbox.Calm{}
			time.Sleep(2 * time.Second)
			if report(t, root, "b/right") != "B" {
				t.Error("the small one was held up")
			}
		}()
		var ended []int
		r := newRun(root, &slowBench{}, Options{Version: "v1", Parallel: 2})
		serveCalms(t, ctx, r, calms, func(s Summary, err error) {
			if s.Failed > 0 || err != nil {
				t.Errorf("%+v, %v", s, err)
			}
			ended = append(ended, int(time.Since(start).Seconds()))
		})
		if report(t, root, "a/left") != "A2" || !slices.Equal(ended, []int{70}) {
			t.Errorf("%q is delivered, work ended at %v s", report(t, root, "a/left"), ended)
		}
	})
}

// Jobs at work together share the processors; the last one has them all.
func TestProcessors(t *testing.T) {
	all := runtime.GOMAXPROCS(0)
	for _, c := range []struct{ parallel, hand, waiting, want int }{
		{all, 0, 0, all}, {all, 0, all - 1, 1}, {all, all - 1, 0, 1}, {all, 0, 100, 1}, {1, 0, 100, all}, {2 * all, 0, 100, 1},
	} {
		r := newRun("", nil, Options{Parallel: c.parallel})
		for i := range c.hand {
			r.hand[key{fmt.Sprint(i)}] = &task{}
		}
		r.waiting = make([]*task, c.waiting)
		if got := r.processors(); got != c.want {
			t.Errorf("%+v: %d", c, got)
		}
	}
}

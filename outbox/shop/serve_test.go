package shop

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// What failed is tried again a minute later, until nothing fails; a Calm is heeded at once.
func TestServeRetries(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/b/left.ply": "B", "outbox/": ""})
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
		defer cancel()
		calms := make(chan inbox.Calm)
		go func() {
			time.Sleep(10 * time.Second)
			calms <- inbox.Calm{Moving: []string{"a"}}
			time.Sleep(10 * time.Minute)
			calms <- inbox.Calm{}
		}()
		start := time.Now()
		var at []int
		var log bytes.Buffer
		b := &flaky{fails: 2}
		b.during = func(job Job) {
			if want := len(at) < 3; want != (job.Aircraft == "b") {
				t.Errorf("job %d is of %s", len(at), job.Aircraft)
			}
			at = append(at, int(time.Since(start).Seconds()))
		}
		r := newRun(root, b, Options{Version: "v1", Log: slog.New(slog.NewTextHandler(&log, nil))})
		serveCalms(t, ctx, r, calms, nil)
		if want := []int{10, 70, 130, 610}; !slices.Equal(at, want) {
			t.Errorf("jobs at %v s, want %v", at, want)
		}
		if n := strings.Count(log.String(), "level=ERROR"); n != 1 {
			t.Errorf("the same failure is in the log %d times:\n%s", n, &log)
		}
	})
}

// constant are settings that never change.
func constant(set Settings) func() (Settings, error) {
	return func() (Settings, error) { return set, nil }
}

// serveCalms serves at given Calms, and tries again after a minute.
func serveCalms(t *testing.T, ctx context.Context, r *run, calms <-chan inbox.Calm, done func(Summary, error)) {
	watch := func(context.Context, Settings) (<-chan inbox.Calm, error) { return calms, nil }
	set := Settings{Parallel: r.Parallel, Rescan: time.Minute}
	if err := r.serve(ctx, set, constant(set), watch, done); err != nil {
		t.Error(err)
	}
}

// flaky fails a number of times before it does as a bench does.
type flaky struct {
	bench
	fails int
}

func (f *flaky) Side(ctx context.Context, job Job) error {
	err := f.bench.Side(ctx, job)
	if f.fails--; f.fails >= 0 {
		return errors.New("the disk is full")
	}
	return err
}

// A shop as a builder uses it: served while files come in, and free again when it is stopped.
func TestServe(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A"})
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	defer cancel()
	passes := make(chan Summary)
	ended := make(chan error, 1)
	go func() {
		ended <- Serve(ctx, root, &bench{}, Options{Version: "v1"}, constant(Settings{Quiet: 20 * time.Millisecond, Rescan: time.Hour}), func(s Summary, err error) {
			if err != nil {
				t.Error(err)
			}
			select {
			case passes <- s:
			case <-ctx.Done():
			}
		})
	}()
	if s := <-passes; s.Made != 1 {
		t.Errorf("at the start: %+v", s)
	}
	if _, err := Once(ctx, root, &bench{}, Options{Version: "v1"}); !errors.Is(err, ErrInUse) {
		t.Errorf("a second run on the same shop: %v", err)
	}
	write(t, root, map[string]string{"inbox/a/right.ply.part": "R"})
	if err := os.Rename(filepath.Join(root, "inbox/a/right.ply.part"), filepath.Join(root, "inbox/a/right.ply")); err != nil {
		t.Fatal(err)
	}
	if s := <-passes; s.Made != 2 || s.Current != 1 {
		t.Errorf("after the right side came: %+v", s)
	}
	cancel()
	if err := <-ended; err != nil {
		t.Errorf("stopped with %v", err)
	}
	if report(t, root, "a/pair") != "A" {
		t.Error("there is no pair")
	}
	if _, err := Once(t.Context(), root, &bench{}, Options{Version: "v1"}); err != nil {
		t.Errorf("after it was stopped: %v", err)
	}
}

func TestServeCannotBegin(t *testing.T) {
	err := Serve(t.Context(), t.TempDir(), &bench{}, Options{}, constant(DefaultSettings()), nil)
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder that is no shop: %v", err)
	}
}

package shop

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// One pass a Calm; after a failure another pass a minute later, until none fails.
func TestServeRetries(t *testing.T) {
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
		outcomes := []func() (Summary, error){
			func() (Summary, error) { return Summary{Failed: 1}, nil },
			func() (Summary, error) { return Summary{}, errors.New("disk full") },
			func() (Summary, error) { return Summary{Refused: 1}, nil },
			func() (Summary, error) { return Summary{}, nil },
		}
		serve(ctx, calms, time.Minute, slog.New(slog.DiscardHandler), func(moving []string) (Summary, error) {
			if want := len(at) < 3; want != slices.Equal(moving, []string{"a"}) {
				t.Errorf("pass %d leaves out %v", len(at), moving)
			}
			at = append(at, int(time.Since(start).Seconds()))
			return outcomes[len(at)-1]()
		})
		if want := []int{10, 70, 130, 610}; !slices.Equal(at, want) {
			t.Errorf("passes at %v s, want %v", at, want)
		}
	})
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
		ended <- Serve(ctx, root, &bench{}, Options{Version: "v1"}, 20*time.Millisecond, time.Hour, func(s Summary, err error) {
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
	err := Serve(t.Context(), t.TempDir(), &bench{}, Options{}, time.Second, time.Minute, nil)
	if !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a folder that is no shop: %v", err)
	}
}

package apart

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"tipwright/outbox/shop"
	"tipwright/scan"
)

// asWorker makes this test binary a worker.
const asWorker = "TEST_AS_WORKER"

func TestMain(m *testing.M) {
	switch role := os.Getenv(asWorker); role {
	case "":
		os.Exit(m.Run())
	case "1":
	default:
		act(role)
	}
	if err := Work(os.Stdin, os.Stdout, odd{}); err != nil {
		os.Exit(1)
	}
}

// odd does what the aircraft's name says.
type odd struct{}

// spun is what a busy loop is at.
var spun uint64

// hoard keeps what is allocated from being freed.
var hoard [][]byte

func (odd) Side(_ context.Context, job shop.Job) error {
	switch job.Aircraft {
	case "slow":
		select {}
	case "busy":
		for i := uint64(1); i != 0; i += 2 { // never, since i is odd; and nothing is called
			spun = i
		}
	case "greedy": // little by little
		for {
			b := make([]byte, 1<<20)
			for i := range b {
				b[i] = 1
			}
			hoard = append(hoard, b)
		}
	case "huge": // at one stroke
		hoard = append(hoard, make([]byte, 1<<40))
	case "panic":
		panic("a fault of mine")
	case "elsewhere": // where nothing recovers
		go panic("a fault of mine")
		select {}
	case "exit":
		os.Exit(3)
	case "over":
		return shop.Limits{}.Over(shop.LimitPoints)
	case "fails":
		return errors.New("no such thing")
	case "full":
		return fmt.Errorf("writing: %w", shop.ErrFull)
	}
	return os.WriteFile(filepath.Join(job.Dir, "made"), []byte(job.Aircraft), 0o644)
}

func (odd) Pair(_ context.Context, job shop.Job) error {
	return os.WriteFile(filepath.Join(job.Dir, "pair"), nil, 0o644)
}
func (odd) Refuse(shop.Job, scan.Message) error                  { return nil }
func (odd) Index(context.Context, io.Writer, []shop.Entry) error { return nil }

func worker(t *testing.T) Processor {
	t.Helper()
	t.Setenv(asWorker, "1")
	self, err := Self()
	if err != nil {
		t.Fatal(err)
	}
	return Processor{Processor: odd{}, Worker: self}
}

// roomy are limits that nothing here goes over but what is meant to.
var roomy = shop.Limits{File: 1, Points: 1, Memory: 256 << 20, Time: time.Minute}

// Whatever a job does, this process lives on and knows what it was.
func TestWorker(t *testing.T) {
	p := worker(t)
	quick := roomy
	quick.Time = 300 * time.Millisecond
	for _, c := range []struct {
		name, limit, fault, err string
		limits                  shop.Limits
	}{
		{name: "well", limits: roomy},
		{name: "na\xffme\nwith \"odd\" bytes", limits: roomy},
		{name: "slow", limit: shop.LimitTime, limits: quick},
		{name: "busy", limit: shop.LimitTime, limits: quick},
		{name: "greedy", limit: shop.LimitMemory, limits: roomy},
		{name: "huge", limit: shop.LimitMemory, limits: roomy},
		{name: "panic", fault: "a fault of mine", limits: roomy},
		{name: "elsewhere", fault: "a fault of mine", limits: roomy},
		{name: "over", limit: shop.LimitPoints, limits: roomy},
		{name: "exit", err: "exit status 3", limits: roomy},
		{name: "full", err: "writing: the disk is full", limits: roomy},
		{name: "fails", err: "no such thing", limits: roomy},
	} {
		job := shop.Job{Aircraft: c.name, Side: shop.Left, Dir: t.TempDir(), Limits: c.limits}
		err := p.Side(t.Context(), job)
		over, isOver := errors.AsType[*shop.LimitError](err)
		fault, isFault := errors.AsType[*shop.FaultError](err)
		switch {
		case c.limit != "":
			if !isOver || over.Limit != c.limit {
				t.Errorf("%q: %v, want the limit of %s", c.name, err, c.limit)
			}
		case c.fault != "":
			if !isFault || !strings.Contains(fault.What, c.fault) || !strings.Contains(fault.Trace, "apart_test.go") {
				t.Errorf("%q: %+v, want a fault with its trace", c.name, err)
			}
		case c.err != "":
			if err == nil || shop.IsFull(err) != (c.name == "full") || isOver || isFault || !strings.Contains(err.Error(), c.err) {
				t.Errorf("%q: %v, want %s", c.name, err, c.err)
			}
		default:
			if made, readErr := os.ReadFile(filepath.Join(job.Dir, "made")); err != nil || readErr != nil || string(made) != c.name {
				t.Errorf("%q: made %q, %v, %v", c.name, made, err, readErr)
			}
		}
	}
}

func TestWorkerPair(t *testing.T) {
	job := shop.Job{Side: shop.Pair, Dir: t.TempDir(), Limits: roomy}
	if err := worker(t).Pair(t.Context(), job); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(job.Dir, "pair")); err != nil {
		t.Error(err)
	}
}

// A job that is stopped ends its worker at once.
func TestWorkerStops(t *testing.T) {
	p := worker(t)
	started := p.Worker
	var cmd *exec.Cmd
	p.Worker = func(ctx context.Context) *exec.Cmd { cmd = started(ctx); return cmd }
	ctx, cancel := context.WithTimeout(t.Context(), 200*time.Millisecond)
	defer cancel()
	if err := p.Side(ctx, shop.Job{Aircraft: "busy", Side: shop.Left, Limits: roomy}); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("stopped with %v", err)
	}
	if cmd.ProcessState == nil {
		t.Error("the worker has not ended")
	}
}

// A worker whose other process is gone ends, whatever it is at.
func TestWorkerOrphaned(t *testing.T) {
	cmd := worker(t).Worker(t.Context())
	stdin, err := cmd.StdinPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	if err := ask(stdin, shop.Job{Aircraft: "slow", Side: shop.Left, Limits: roomy}); err != nil {
		t.Fatal(err)
	}
	stdin.Close()
	err = cmd.Wait()
	if exit, ok := errors.AsType[*exec.ExitError](err); !ok || exit.ExitCode() != orphaned {
		t.Errorf("ended with %v", err)
	}
}

func TestWorkIsNotForPeople(t *testing.T) {
	err := Work(strings.NewReader("hello\n"), io.Discard, nil)
	if err == nil || !strings.Contains(err.Error(), "not for people") {
		t.Error(err)
	}
}

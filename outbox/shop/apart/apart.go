// Package apart makes each delivery in a process of its own, so that a scan that takes too much memory or
// time, or crashes what reads it, costs nobody else theirs.
package apart

import (
	"bytes"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"strings"
	"time"

	"tipwright/outbox/shop"
)

// Processor has deliveries made by worker processes. The page and the refusals are made here.
type Processor struct {
	shop.Processor
	Worker func(ctx context.Context) *exec.Cmd // runs a program that calls Work, and is killed when ctx ends
}

// reply is what a worker answers. The zero reply says that the delivery is made.
type reply struct {
	Limit string           // that was gone over; empty if none was
	Fault *shop.FaultError // of the program
	Full  bool             // of the disk
	Error string           // anything else
}

// The exit statuses of a worker that cannot reply any more, and of one that nobody waits for.
const (
	overMemory = 21
	orphaned   = 22
)

// Side has a worker make the delivery of one side.
func (p Processor) Side(ctx context.Context, job shop.Job) error { return p.help(ctx, job) }

// Pair has a worker make the comparison of both sides.
func (p Processor) Pair(ctx context.Context, job shop.Job) error { return p.help(ctx, job) }

// errTime is the cause of a worker's end for having taken too long.
var errTime = errors.New("over the limit of time")

func (p Processor) help(ctx context.Context, job shop.Job) error {
	inTime, cancel := context.WithTimeoutCause(ctx, job.Limits.Time, errTime)
	defer cancel()
	answer, said, err := talk(p.Worker(inTime), job)
	switch {
	case ctx.Err() != nil:
		return ctx.Err()
	case err != nil && errors.Is(context.Cause(inTime), errTime):
		return job.Limits.Over(shop.LimitTime)
	case err != nil:
		return crashed(job.Limits, err, said)
	case answer.Limit != "":
		return job.Limits.Over(answer.Limit)
	case answer.Fault != nil:
		return answer.Fault
	case answer.Full:
		return fmt.Errorf("%w: %s", shop.ErrFull, answer.Error)
	case answer.Error != "":
		return errors.New(answer.Error)
	}
	return nil
}

// talk runs a worker to its end. Its standard input stays open as long as it runs: the end of it tells the
// worker that this process is no more. What it said is the beginning of its standard error.
func talk(cmd *exec.Cmd, job shop.Job) (answer reply, said string, err error) {
	stdin, err := cmd.StdinPipe()
	if err != nil {
		return reply{}, "", err
	}
	var stdout bytes.Buffer
	stderr := &head{most: mostSaid}
	cmd.Stdout, cmd.Stderr = &stdout, stderr
	cmd.WaitDelay = time.Second
	tie(cmd)
	if err := cmd.Start(); err != nil {
		return reply{}, "", err
	}
	asked := ask(stdin, job)
	err = cmd.Wait()
	if err == nil {
		err = errors.Join(asked, gob.NewDecoder(&stdout).Decode(&answer))
	}
	return answer, stderr.String(), err
}

func ask(worker io.Writer, job shop.Job) error { return gob.NewEncoder(worker).Encode(job) }

// crashed tells why a worker ended without a reply.
func crashed(limits shop.Limits, err error, said string) error {
	exit, ended := errors.AsType[*exec.ExitError](err)
	switch {
	case ended && exit.ExitCode() == overMemory, ended && strings.Contains(said, "out of memory"):
		return limits.Over(shop.LimitMemory)
	case ended && (strings.Contains(said, "panic:") || strings.Contains(said, "fatal error:")):
		what, _, _ := strings.Cut(said, "\n")
		return &shop.FaultError{What: what, Trace: said}
	case ended && exit.ExitCode() < 0:
		return fmt.Errorf("the worker process was ended from outside (%w), by the system if memory is short; it will be tried again", err)
	}
	return fmt.Errorf("the worker process failed: %w %s", err, said)
}

// mostSaid bounds what is kept of a worker's standard error, bytes: the trace of a crash with all its
// goroutines.
const mostSaid = 256 << 10

// head keeps the beginning of what is written to it.
type head struct {
	bytes.Buffer
	most int
}

func (h *head) Write(p []byte) (int, error) {
	if room := h.most - h.Len(); room > 0 {
		h.Buffer.Write(p[:min(room, len(p))])
	}
	return len(p), nil
}

// Self runs this program again with other arguments.
func Self(args ...string) (func(ctx context.Context) *exec.Cmd, error) {
	self, err := os.Executable()
	if err != nil {
		return nil, err
	}
	return func(ctx context.Context) *exec.Cmd {
		return exec.CommandContext(ctx, self, args...)
	}, nil
}

package apart

import (
	"cmp"
	"context"
	"encoding/gob"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"runtime/metrics"
	"syscall"
	"time"

	"tipwright/outbox/shop"
)

// Work is the worker's end: it reads one job from stdin, has it made by a processor under its limits, and
// writes the reply to stdout. It leaves signals to the process that waits for it, and ends the program when
// that is no more, or when more memory is taken than one scan may.
func Work(stdin io.Reader, stdout io.Writer, with shop.Processor) error {
	signal.Ignore(os.Interrupt, syscall.SIGTERM, syscall.SIGHUP)
	var job shop.Job
	if err := gob.NewDecoder(oneByte{stdin}).Decode(&job); err != nil {
		return fmt.Errorf("this command is for the program itself, not for people: %w", err)
	}
	go func() {
		_, _ = io.Copy(io.Discard, stdin) // the end, whatever its reason, is that of the other process
		os.Exit(orphaned)
	}()
	runtime.GOMAXPROCS(cmp.Or(job.Processors, runtime.GOMAXPROCS(0)))
	debug.SetGCPercent(collectSmall)
	if scansOf(job) > largeScans {
		debug.SetGCPercent(collectLarge)
	}
	debug.SetMemoryLimit(job.Limits.Memory - job.Limits.Memory/8)
	boundMemory(job.Limits.Memory + memorySlack)
	go watchMemory(job.Limits.Memory)
	return gob.NewEncoder(stdout).Encode(answer(with, job))
}

// Scans are measured with little room for what is no longer in use, which saves a sixth of the memory and costs a
// thirtieth of the time; large ones with less still, which saves and costs as much again.
const (
	largeScans   = 32 << 20 // bytes
	collectSmall = 50       // per cent of what is in use
	collectLarge = 25
)

// scansOf counts the bytes of a job's scans.
func scansOf(job shop.Job) (n int64) {
	for _, f := range job.Scans {
		n += f.Source.Bytes
	}
	return n
}

// answer makes a delivery and puts what came of it into words.
func answer(p shop.Processor, job shop.Job) (r reply) {
	defer func() {
		if v := recover(); v != nil {
			r = reply{Fault: &shop.FaultError{What: fmt.Sprint(v), Trace: string(debug.Stack())}}
		}
	}()
	make := p.Side
	if job.Side == shop.Pair {
		make = p.Pair
	}
	err := make(context.Background(), job)
	if over, ok := errors.AsType[*shop.LimitError](err); ok {
		return reply{Limit: over.Limit}
	}
	if err != nil {
		return reply{Full: shop.IsFull(err), Error: err.Error()}
	}
	return reply{}
}

// memorySlack is how much more than the limit the system is asked to refuse: for what the runtime maps beside
// what it uses, and so that watchMemory comes first.
const memorySlack = 512 << 20

// watchMemory ends the program when it takes more memory than it may.
func watchMemory(most int64) {
	sample := []metrics.Sample{{Name: "/memory/classes/total:bytes"}, {Name: "/memory/classes/heap/released:bytes"}}
	for range time.Tick(20 * time.Millisecond) {
		metrics.Read(sample)
		if used := sample[0].Value.Uint64() - sample[1].Value.Uint64(); used > uint64(most) {
			os.Exit(overMemory)
		}
	}
}

// oneByte reads a byte at a time, so that a decoder takes no more than it needs and the end of the input is
// left for another to wait for.
type oneByte struct{ io.Reader }

func (o oneByte) ReadByte() (byte, error) {
	var b [1]byte
	_, err := io.ReadFull(o.Reader, b[:])
	return b[0], err
}

package shop

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"runtime/debug"
)

// Unfinished names a file or folder that is removed when the next run over a shop begins, should this one be
// killed. The process's number in it makes it nobody else's.
func Unfinished(name string) string { return fmt.Sprintf("%s%s-%d", making, name, os.Getpid()) }

// Scratch returns a path in a shop's outbox for what is of use to one run alone. Nothing lies there yet.
func Scratch(root string) string { return filepath.Join(Dir(root), Unfinished("kept")) }

// Make has one delivery written into job.Dir, an empty folder, and returns its record. A job that went over a
// limit or met a fault of the program is refused; the fault's trace goes to the log. It is an error if the
// delivery does not record what the job is to be made from.
func Make(ctx context.Context, p Processor, job Job, l Limits, log *slog.Logger) (Record, error) {
	say := func(level slog.Level, text string, args ...any) {
		log.Log(ctx, level, text, append([]any{"aircraft", job.Aircraft, "side", job.Side}, args...)...)
	}
	return keeper{realDisk{}}.make(ctx, p, job, l.filled(), say)
}

func (k keeper) make(ctx context.Context, p Processor, job Job, l Limits, say func(slog.Level, string, ...any)) (Record, error) {
	want := job.from()
	job.Limits = l
	err := process(ctx, p, job, say)
	if why := refusal(err); why != nil && ctx.Err() == nil {
		say(slog.LevelWarn, "scan given up", "code", why.Code, "error", err)
		if err = k.freshDir(job.Dir); err == nil {
			err = p.Refuse(job, *why)
		}
	}
	if err != nil {
		return Record{}, err
	}
	record := ReadRecord(job.Dir, job.Aircraft, job.Side)
	if record.Err != nil {
		return record, fmt.Errorf("the delivery has no record of what it was made from: %w", record.Err)
	}
	if why := differs(want, record.from); why != "" {
		return record, fmt.Errorf("the delivery was not made from what lay in the inbox when it was begun (%s); it will be made again", why)
	}
	return record, nil
}

func (k keeper) freshDir(dir string) error {
	if err := k.RemoveAll(dir); err != nil {
		return err
	}
	return k.MkdirAll(dir)
}

// process calls the processor; a panic in it becomes an error.
func process(ctx context.Context, p Processor, job Job, say func(slog.Level, string, ...any)) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = &FaultError{What: fmt.Sprint(v), Trace: string(debug.Stack())}
		}
		if fault, ok := errors.AsType[*FaultError](err); ok {
			say(slog.LevelError, "panic", "panic", fault.What, "trace", fault.Trace)
		}
	}()
	if err := job.overFile(); err != nil {
		return err
	}
	if job.Side == Pair {
		return p.Pair(ctx, job)
	}
	return p.Side(ctx, job)
}

// RetirePair sets the pair in dir aside if it was not made from the two sides that stand beside it, since it
// could be believed, and returns where it went, in dir's folder earlier; that is nowhere if it may stand.
func RetirePair(dir string) (to string, err error) {
	name := filepath.Base(dir)
	pair := filepath.Join(dir, Pair)
	sides := map[string]Record{}
	for _, side := range []string{Left, Right} {
		sides[side] = ReadRecord(filepath.Join(dir, side), name, side)
	}
	if fits(ReadRecord(pair, name, Pair), sides) {
		return "", nil
	}
	return keeper{realDisk{}}.setAside(pair, filepath.Join(dir, "earlier", Pair))
}

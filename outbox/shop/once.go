package shop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"

	"tipwright/scan/inbox"
)

// Processor makes what the shop puts into its outbox. An error is for what the builder cannot mend, such as
// a full disk: a scan or wing sheet that cannot be used gets a delivery that says so, with the verdict
// "refused" and the same record of what it was made from.
type Processor interface {
	// Side writes the delivery of one side into job.Dir.
	Side(ctx context.Context, job Job) error
	// Pair writes the comparison of both sides into job.Dir.
	Pair(ctx context.Context, job Job) error
	// Index writes the shop's page, index.html. The same entries must give the same bytes.
	Index(ctx context.Context, w io.Writer, entries []Entry) error
}

// Options are for one run over a shop.
type Options struct {
	Version  string                         // of the program
	Log      *slog.Logger                   // nil: nowhere
	Progress func(done, total int, job Job) // called before each job, and may be nil; total grows as pairs become due
}

// Summary counts what one pass over a shop came to.
type Summary struct {
	Made    int // deliveries made
	Current int // deliveries that were up to date already
	Refused int // deliveries, made or current, that say only what is wrong
	Failed  int // deliveries that could not be made; the log says why
	Waiting int // aircraft left for another time because they are still being written to
}

// Once brings the outbox of the shop at root up to date and returns: sides first, then pairs, then the
// index. One bad scan never stops it: a delivery that cannot be made is counted as failed and logged, a
// panic with its trace. The error is ErrInUse if another run serves the shop; it is that of ctx if ctx
// ends, and what was delivered until then stands.
func Once(ctx context.Context, root string, p Processor, o Options) (Summary, error) {
	r := newRun(root, p, o)
	lock, err := r.begin()
	if err != nil {
		return Summary{}, err
	}
	defer lock.Close()
	return r.pass(ctx, nil)
}

// run is one run of the program over one shop, whose lock it holds.
type run struct {
	root, outbox string
	proc         Processor
	Options
	log *slog.Logger

	done, total int
	summary     Summary
	problems    map[[2]string]string // why a delivery could not be made, by aircraft and side
}

func newRun(root string, p Processor, o Options) *run {
	r := &run{root: root, outbox: Dir(root), proc: p, Options: o, log: o.Log}
	if r.log == nil {
		r.log = slog.New(slog.DiscardHandler)
	}
	return r
}

// begin takes the shop, once it is known to be one, and clears up after a run that was killed.
func (r *run) begin() (*ShopLock, error) {
	if _, _, err := inbox.List(r.root); err != nil {
		return nil, err
	}
	lock, err := Lock(r.root)
	if err != nil {
		return nil, err
	}
	if err := Sweep(r.root); err != nil {
		r.log.Warn("removing what an earlier run left unfinished", "error", err)
	}
	return lock, nil
}

// pass goes over the shop once. Aircraft in moving are left alone.
func (r *run) pass(ctx context.Context, moving []string) (Summary, error) {
	r.done, r.total, r.summary, r.problems = 0, 0, Summary{}, map[[2]string]string{}
	list, messages, err := inbox.List(r.root)
	if err != nil {
		return r.summary, err
	}
	in, err := r.inputs(ctx, list, moving)
	if err != nil {
		return r.summary, err
	}
	out, err := ReadRecords(r.outbox)
	if err != nil {
		return r.summary, err
	}
	// The second plan has the pairs whose sides the first one made.
	for _, pairs := range []bool{false, true} {
		jobs := slices.DeleteFunc(Plan(in, out, r.Version), func(j Job) bool { return (j.Side == Pair) != pairs })
		if err := r.make(ctx, jobs); err != nil {
			return r.summary, err
		}
		if out, err = ReadRecords(r.outbox); err != nil {
			return r.summary, err
		}
	}
	entries := Entries(in, out, r.Version, r.problems, messages)
	earlier(r.outbox, entries)
	r.count(entries)
	return r.summary, r.index(ctx, entries)
}

// inputs reads the files of every aircraft that is at rest.
func (r *run) inputs(ctx context.Context, list []inbox.Aircraft, moving []string) ([]Inputs, error) {
	in := make([]Inputs, len(list))
	for i, a := range list {
		if slices.Contains(moving, a.Name) {
			in[i] = Inputs{Aircraft: a.Name, Moving: true}
		} else {
			in[i] = Fingerprint(a)
		}
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		for _, side := range []string{Left, Right} {
			r.unreadable(&in[i], side)
		}
		if in[i].Moving {
			r.summary.Waiting++
		}
	}
	return in, nil
}

// unreadable notes why the files of a side cannot be used, if that is so. A file that changed while it was
// read makes its aircraft one that is still being written to.
func (r *run) unreadable(in *Inputs, side string) {
	err := in.scans(side).Err
	switch {
	case err == nil:
	case errors.Is(err, inbox.ErrUnsettled):
		*in = Inputs{Aircraft: in.Aircraft, Moving: true}
	case len(in.scans(side).Files) > 0:
		r.fail(Job{Aircraft: in.Aircraft, Side: side}, fmt.Errorf("a file in the inbox cannot be read: %w", err))
	}
}

// make runs jobs one after the other. The error is only ever that of ctx.
func (r *run) make(ctx context.Context, jobs []Job) error {
	r.total += len(jobs)
	for _, job := range jobs {
		if err := ctx.Err(); err != nil {
			return err
		}
		if r.Progress != nil {
			r.Progress(r.done, r.total, job)
		}
		if err := r.one(ctx, job); err != nil {
			if ctx.Err() != nil {
				return ctx.Err()
			}
			r.fail(job, err)
		}
		r.done++
	}
	return nil
}

func (r *run) fail(job Job, err error) {
	r.log.Error("delivery failed", "aircraft", job.Aircraft, "side", job.Side, "error", err)
	r.summary.Failed++
	r.problems[[2]string{job.Aircraft, job.Side}] = err.Error()
}

// one makes one delivery and puts it into its place.
func (r *run) one(ctx context.Context, job Job) error {
	dir := filepath.Join(r.outbox, job.Aircraft)
	final := filepath.Join(dir, job.Side)
	earlier := filepath.Join(dir, "earlier", job.Side+"-"+earlierName(ReadRecord(final, job.Aircraft, job.Side)))
	if job.Retire {
		to, err := setAside(final, earlier)
		r.log.Info("delivery set aside", "aircraft", job.Aircraft, "side", job.Side, "why", job.Why, "to", to)
		return err
	}
	job.Dir = filepath.Join(dir, making+job.Side)
	job.LeftDir, job.RightDir = filepath.Join(dir, Left), filepath.Join(dir, Right)
	if err := freshDir(job.Dir); err != nil {
		return fmt.Errorf("the outbox cannot be written to: %w", err)
	}
	defer os.RemoveAll(job.Dir) // gone already if it was published
	want := job.from()
	if err := r.process(ctx, job); err != nil {
		return err
	}
	record := ReadRecord(job.Dir, job.Aircraft, job.Side)
	if record.Err != nil {
		return fmt.Errorf("the delivery has no record of what it was made from: %w", record.Err)
	}
	if why := outdated(want, record, true); why != "" {
		return fmt.Errorf("the delivery was not made from what lay in the inbox when it was begun (%s); it will be made again", why)
	}
	if err := Publish(job.Dir, final, earlier); err != nil {
		return err
	}
	r.summary.Made++
	r.log.Info("delivered", "aircraft", job.Aircraft, "side", job.Side, "verdict", record.Verdict, "why", job.Why)
	return nil
}

// earlierName returns what tells a replaced delivery from others of its side.
func earlierName(r Record) string {
	if r.Err != nil {
		return "unknown"
	}
	return r.from.short()
}

func freshDir(dir string) error {
	if err := os.RemoveAll(dir); err != nil {
		return err
	}
	return os.MkdirAll(dir, 0o755)
}

// process calls the processor; a panic in it becomes an error, with the trace in the log.
func (r *run) process(ctx context.Context, job Job) (err error) {
	defer func() {
		if p := recover(); p != nil {
			r.log.Error("panic", "aircraft", job.Aircraft, "side", job.Side, "panic", fmt.Sprint(p), "trace", string(debug.Stack()))
			err = fmt.Errorf("a fault in the program itself, not in the scan: %v; the log has the trace", p)
		}
	}()
	if job.Side == Pair {
		return r.proc.Pair(ctx, job)
	}
	return r.proc.Side(ctx, job)
}

// count fills in what the finished outbox tells.
func (r *run) count(entries []Entry) {
	for _, e := range entries {
		if e.Verdict == refused && !e.Stale && !e.Gone {
			r.summary.Refused++
		}
		if e.Verdict != "" && !e.Stale && !e.Gone {
			r.summary.Current++
		}
	}
	r.summary.Current -= r.summary.Made
}

// index writes the shop's page if it says anything new.
func (r *run) index(ctx context.Context, entries []Entry) (err error) {
	defer func() {
		if p := recover(); p != nil {
			r.log.Error("panic", "panic", fmt.Sprint(p), "trace", string(debug.Stack()))
			err = fmt.Errorf("the shop's page: a fault in the program itself: %v", p)
		}
	}()
	var page bytes.Buffer
	if err := r.proc.Index(ctx, &page, entries); err != nil {
		return fmt.Errorf("the shop's page: %w", err)
	}
	if err := replaceFile(filepath.Join(r.outbox, "index.html"), page.Bytes()); err != nil {
		return fmt.Errorf("the shop's page: %w", err)
	}
	return nil
}

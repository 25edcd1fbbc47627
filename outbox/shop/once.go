package shop

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"maps"
	"path/filepath"
	"runtime/debug"
	"time"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// Processor makes what the shop puts into its outbox. An error is for what the builder cannot mend, such as
// a full disk: a scan or wing sheet that cannot be used gets a delivery that says so, with the verdict
// "refused" and the same record of what it was made from. An error that is a [*LimitError] or a [*FaultError]
// becomes such a delivery too, by way of Refuse. Several jobs are at work at once.
type Processor interface {
	// Side writes the delivery of one side into job.Dir.
	Side(ctx context.Context, job Job) error
	// Pair writes the comparison of both sides into job.Dir.
	Pair(ctx context.Context, job Job) error
	// Refuse writes the delivery of a job that was given up into job.Dir. It reads none of the job's files.
	Refuse(job Job, why scan.Message) error
	// Index writes the shop's page, index.html. The same entries must give the same bytes.
	Index(ctx context.Context, w io.Writer, entries []Entry) error
}

// Options are for one run over a shop.
type Options struct {
	Version  string                         // of the program
	Log      *slog.Logger                   // nil: nowhere
	Progress func(done, total int, job Job) // called before each job, and may be nil; total grows as pairs become due
	Parallel int                            // jobs at once; 0: as many as there are processors
	Limits   Limits                         // for each scan; zero fields stand for those of DefaultLimits
	Quiet    time.Duration                  // that a scan which ends too early must have been left alone to be refused
	Entries  func([]Entry)                  // called with what the shop's page tells, when it is made, and may be nil
}

// Summary counts what one pass over a shop came to.
type Summary struct {
	Made    int // deliveries made
	Current int // deliveries that were up to date already
	Refused int // deliveries, made or current, that say only what is wrong
	Failed  int // deliveries that could not be made; the log says why
	Waiting int // aircraft left for another time because they are still being written to
}

// Once brings the outbox of the shop at root up to date and returns: each pair after its sides, and the
// index last. One bad scan never stops it: a delivery that cannot be made is counted as failed and logged, a
// panic with its trace. The error is ErrInUse if another run serves the shop; it is that of ctx if ctx
// ends, and what was delivered until then stands.
func Once(ctx context.Context, root string, p Processor, o Options) (Summary, error) {
	r := newRun(root, p, o)
	lock, err := r.begin()
	if err != nil {
		return Summary{}, err
	}
	defer lock.Close()
	if err := r.RemoveAll(filepath.Join(r.outbox, StatusName)); err != nil { // of a service that was killed
		r.log.Warn("removing the status of a service that runs no more", "error", err)
	}
	return r.pass(ctx, nil)
}

// begin takes the shop, once it is known to be one, and clears up after a run that was killed.
func (r *run) begin() (*ShopLock, error) {
	if err := inbox.Readable(r.root); err != nil {
		return nil, err
	}
	lock, err := Lock(r.root)
	if err != nil {
		return nil, err
	}
	if err := r.sweep(r.root); err != nil {
		r.log.Warn("clearing up after an earlier run", "error", err)
	}
	r.lock, r.known = lock, decodeMemory(lock.left(), r.Version)
	r.kept = memory{r.known.Version, r.known.Sources, maps.Clone(r.known.Records)}
	return lock, nil
}

// pass brings the shop up to date. Aircraft in moving are left alone.
func (r *run) pass(ctx context.Context, moving []string) (Summary, error) {
	err := r.look(ctx, moving)
	if err == nil {
		r.fill(ctx)
	}
	for len(r.hand) > 0 || err == nil && ctx.Err() == nil && r.waited() > 0 {
		select {
		case t := <-r.finished:
			r.settled(t)
			if ctx.Err() == nil {
				r.plan()
				r.fill(ctx)
			}
		case <-r.wake:
			if err = r.look(ctx, moving); err == nil {
				r.fill(ctx)
			}
		case <-ctx.Done():
			if len(r.hand) > 0 {
				r.settled(<-r.finished)
			}
		}
	}
	if err == nil {
		err = ctx.Err()
	}
	if err == nil {
		err = r.blocked
	}
	if err != nil {
		return r.summary, err
	}
	err = r.page(ctx)
	r.keep()
	return r.summary, err
}

// one makes one delivery and puts it into its place. It runs beside others, and changes nothing of r.
func (r *run) one(ctx context.Context, t *task) (Record, error) {
	job := t.job
	dir := filepath.Join(r.outbox, job.Aircraft)
	if err := notLink(dir); err != nil {
		return Record{}, err
	}
	final := filepath.Join(dir, job.Side)
	earlier := filepath.Join(dir, "earlier", job.Side+"-"+earlierName(ReadRecord(final, job.Aircraft, job.Side)))
	if job.Retire {
		to, err := r.setAside(final, earlier)
		t.say(slog.LevelInfo, "delivery set aside", "why", job.Why, "to", to)
		return Record{}, err
	}
	job.Dir = filepath.Join(dir, Unfinished(job.Side))
	job.LeftDir, job.RightDir = filepath.Join(dir, Left), filepath.Join(dir, Right)
	if err := r.freshDir(job.Dir); err != nil {
		return Record{}, fmt.Errorf("the outbox cannot be written to: %w", err)
	}
	record, err := r.make(ctx, r.proc, job, r.Limits, t.say)
	if err == nil && job.growing(record, t.wait) {
		err = errCut
	}
	if err == nil {
		err = r.publish(job.Dir, final, earlier)
	}
	if err != nil {
		return Record{}, errors.Join(err, r.RemoveAll(job.Dir))
	}
	t.say(slog.LevelInfo, "delivered", "verdict", record.Verdict, "why", job.Why)
	return record, nil
}

// earlierName returns what tells a replaced delivery from others of its side.
func earlierName(r Record) string {
	if r.Err != nil {
		return "unknown"
	}
	return r.sum
}

// page writes the shop's page if it says anything new, and counts what the finished outbox tells.
func (r *run) page(ctx context.Context) (err error) {
	defer func() {
		if p := recover(); p != nil {
			r.log.Error("panic", "panic", fmt.Sprint(p), "trace", string(debug.Stack()))
			err = fmt.Errorf("a fault in the program itself: %v", p)
		}
		if err != nil {
			err = fmt.Errorf("the shop's page: %w", err)
		}
	}()
	entries := Entries(r.in, r.records(), r.Options, r.problems(), r.messages)
	earlier(r.outbox, entries)
	r.count(entries)
	if r.Entries != nil {
		r.Entries(entries)
	}
	var page bytes.Buffer
	if err := r.proc.Index(ctx, &page, entries); err != nil {
		return err
	}
	return r.replaceFile(filepath.Join(r.outbox, "index.html"), page.Bytes())
}

// count fills in what the outbox tells.
func (r *run) count(entries []Entry) {
	r.summary.Refused, r.summary.Current = 0, -r.summary.Made
	for _, e := range entries {
		if e.Verdict == "" || e.Stale || e.Gone {
			continue
		}
		r.summary.Current++
		if e.Verdict == refused {
			r.summary.Refused++
		}
	}
	r.summary.Failed = len(r.failed)
}

package shop

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"maps"
	"math/bits"
	"runtime"
	"slices"
	"time"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// key names a delivery by aircraft and side.
type key = [2]string

// run is one run of the program over one shop, whose lock it holds. All but one and what it calls belongs to
// a single goroutine.
type run struct {
	root, outbox string
	proc         Processor
	Options
	keeper
	lock  *ShopLock
	log   *slog.Logger
	known memory
	kept  memory // what of it lies in the outbox

	in       []Inputs
	messages []scan.Message // of the inbox
	out      map[key]Record // the deliveries that stand
	failed   map[key]failure
	patience time.Duration   // that a scan is given which ends too early
	cut      map[key]cutScan // which are given it
	wake     chan struct{}   // when it is over

	need    int   // bytes that must find room in the outbox before a job is begun
	blocked error // why the outbox cannot be written to; nothing is begun then

	complaints map[key]failure // what the log has already, so that it is not told again at each retry

	waiting  []*task
	hand     map[key]*task // at work
	finished chan *task
	passed   map[key]int        // how many jobs that came later were begun first
	told     map[string][]*task // by aircraft, in the order of their beginning: what is not in the log yet
	done     int
	summary  Summary
}

// failure is a job that failed. It is not tried again as long as its inputs are the same, until the next look.
type failure struct {
	of  origin
	why string
}

// task is a job that is due or at work.
type task struct {
	job    Job
	key    key
	wait   time.Duration // to be given to a scan that ends too early
	stop   context.CancelFunc
	lines  []line // for the log
	ended  bool
	record Record
	err    error
}

// line is one line for the log.
type line struct {
	level slog.Level
	text  string
	args  []any
}

func (t *task) say(level slog.Level, text string, args ...any) {
	t.lines = append(t.lines, line{level, text, append([]any{"aircraft", t.job.Aircraft, "side", t.job.Side}, args...)})
}

func newRun(root string, p Processor, o Options) *run {
	r := &run{root: root, outbox: Dir(root), proc: p, Options: o, log: o.Log, keeper: keeper{realDisk{}},
		failed: map[key]failure{}, hand: map[key]*task{}, finished: make(chan *task), complaints: map[key]failure{},
		need: probeBytes, patience: o.Quiet, cut: map[key]cutScan{}, wake: make(chan struct{}, 1), passed: map[key]int{}, told: map[string][]*task{}}
	if r.log == nil {
		r.log = slog.New(slog.DiscardHandler)
	}
	r.Parallel = Settings{Parallel: r.Parallel}.parallel()
	r.Limits = r.Limits.filled()
	return r
}

// look reads what lies in the inbox and stands in the outbox, and plans what is due. What failed before is
// due again.
func (r *run) look(ctx context.Context, moving []string) error {
	list, messages, err := inbox.List(r.root)
	if err != nil {
		return err
	}
	r.leftOut(messages)
	r.block()
	out, err := r.known.records(r.outbox)
	if err != nil {
		return err
	}
	r.failed, r.summary.Waiting, r.messages = map[key]failure{}, 0, messages
	r.out, r.known.Records = map[key]Record{}, map[key]recorded{}
	for _, o := range out {
		r.out[key{o.Aircraft, o.Side}] = o
		r.known.remember(o)
	}
	if r.in, err = r.inputs(ctx, list, moving); err != nil {
		return err
	}
	r.forget()
	r.plan()
	return nil
}

// leftOut logs what of the inbox is not served as a whole, once as long as it lies there.
func (r *run) leftOut(messages []scan.Message) {
	for _, m := range messages {
		if !slices.Contains(r.messages, m) {
			r.log.Warn("left out", "code", m.Code, "text", m.Text)
		}
	}
}

// forget drops what is known of aircraft that are no more, which a service that runs for months would gather.
func (r *run) forget() {
	there := map[string]bool{}
	for _, in := range r.in {
		there[in.Aircraft] = true
	}
	maps.DeleteFunc(r.complaints, func(k key, _ failure) bool { return !there[k[0]] })
	maps.DeleteFunc(r.passed, func(k key, _ int) bool { return !there[k[0]] })
	maps.DeleteFunc(r.cut, func(k key, _ cutScan) bool { return !there[k[0]] })
}

// inputs reads the files of every aircraft that is at rest.
func (r *run) inputs(ctx context.Context, list []inbox.Aircraft, moving []string) ([]Inputs, error) {
	in := make([]Inputs, len(list))
	seen := fingerprints{}
	for i, a := range list {
		if slices.Contains(moving, a.Name) {
			in[i] = Inputs{Aircraft: a.Name, Moving: true}
		} else {
			in[i] = r.known.Sources.of(ctx, a, r.Limits.File, seen)
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
	r.known.Sources = seen
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
		t := &task{job: Job{Aircraft: in.Aircraft, Side: side}, key: key{in.Aircraft, side}}
		r.fail(t, fmt.Errorf("a file in the inbox cannot be read: %w", err))
		r.flush(t)
	}
}

// plan lists what is due and stops what is at work on contents that have changed since.
func (r *run) plan() {
	r.waiting = nil
	for _, job := range Plan(r.in, r.records(), r.Options) {
		k := key{job.Aircraft, job.Side}
		if t := r.hand[k]; t != nil {
			if t.job.from() != job.from() {
				t.stop()
			}
			continue
		}
		if f, ok := r.failed[k]; ok && f.of == job.from() {
			continue
		}
		if !r.waitedFor(k, job) {
			r.waiting = append(r.waiting, &task{job: job, key: k})
		}
	}
	slices.SortStableFunc(r.waiting, func(a, b *task) int { return cmp.Compare(r.turn(a), r.turn(b)) })
}

// records lists the deliveries that stand, by aircraft, then left, right, pair.
func (r *run) records() []Record {
	return slices.SortedFunc(maps.Values(r.out), func(a, b Record) int {
		return cmp.Or(inbox.Compare(a.Aircraft, b.Aircraft), cmp.Compare(rank(a.Side), rank(b.Side)))
	})
}

func rank(side string) int { return slices.Index([]string{Left, Right, Pair}, side) }

// patience is how many jobs may be begun before another whose turn it was.
const patience = 16

// turn orders what is due: first what has been passed over for too long, then pairs, which take little, then
// the smaller files, by classes so that the order of names still counts.
func (r *run) turn(t *task) int {
	switch {
	case r.passed[t.key] >= patience:
		return -2
	case t.job.Side == Pair:
		return -1
	}
	return bits.Len64(uint64(t.job.bytes() / smallScan))
}

// smallScan is the size of the files, bytes, up to which a job takes next to no time and memory.
const smallScan = 8 << 20

// fill begins what is due, as much as may be at work at once.
func (r *run) fill(ctx context.Context) {
	for r.blocked == nil && ctx.Err() == nil {
		i := slices.IndexFunc(r.waiting, r.room)
		if i < 0 {
			return
		}
		t := r.waiting[i]
		for _, before := range r.waiting[:i] {
			r.passed[before.key]++
		}
		r.waiting = slices.Delete(r.waiting, i, i+1)
		r.start(ctx, t)
	}
}

// room tells whether a job may be begun beside those that are at work. Large ones always leave a place for
// small ones, and together they keep within twice the memory that one may take.
func (r *run) room(t *task) bool {
	var large int
	var memory int64
	for _, h := range r.hand {
		if n := h.job.bytes(); n > smallScan {
			large++
			memory += r.Limits.need(n)
		}
	}
	if n := t.job.bytes(); n > smallScan {
		return large == 0 || large < r.Parallel-1 && memory+r.Limits.need(n) <= 2*r.Limits.Memory
	}
	places := r.Parallel
	if large == places {
		places++
	}
	return len(r.hand) < places
}

// start begins a job.
func (r *run) start(ctx context.Context, t *task) {
	if r.Progress != nil {
		r.Progress(r.done, r.done+len(r.hand)+1+len(r.waiting), t.job)
	}
	delete(r.passed, t.key)
	t.job.Processors = r.processors()
	if r.patient(t) {
		t.wait = r.patience
	}
	ctx, t.stop = context.WithCancel(ctx)
	r.hand[t.key] = t
	r.told[t.job.Aircraft] = append(r.told[t.job.Aircraft], t)
	go func() {
		t.record, t.err = r.one(ctx, t)
		r.finished <- t
	}()
}

// processors divides the machine's processors among the jobs that will be at work together: one that spreads its
// work over all of them takes more time of theirs than one that keeps to its own.
func (r *run) processors() int {
	together := min(r.Parallel, len(r.hand)+1+len(r.waiting))
	return max(1, runtime.GOMAXPROCS(0)/together)
}

// settled takes note of a job that has ended.
func (r *run) settled(t *task) {
	stopped := t.err != nil && errors.Is(t.err, context.Canceled)
	t.stop()
	t.ended = true
	delete(r.hand, t.key)
	r.done++
	switch {
	case t.err == nil && t.job.Retire:
		delete(r.out, t.key)
	case errors.Is(t.err, errCut):
		r.waitFor(t)
	case t.err == nil:
		r.out[t.key] = t.record
		delete(r.cut, t.key)
		r.known.remember(t.record)
		delete(r.complaints, t.key)
		r.summary.Made++
	case !stopped:
		r.gaveUp(t)
	}
	r.flush(t)
}

// gaveUp takes note of a job that failed. Where the outbox cannot be written to it is not to blame, and stays due.
func (r *run) gaveUp(t *task) {
	err := t.err
	if IsFull(err) {
		r.need, err = roomBytes, ErrFull // whichever file it was that found no room
	}
	if r.block(); r.blocked == nil {
		r.fail(t, err)
	}
}

// block looks whether the outbox can be written to; if it cannot, no job is at fault, and none is begun.
func (r *run) block() {
	r.blocked = nil
	if err := r.probe(r.outbox, r.need); err != nil {
		r.blocked = fmt.Errorf("the outbox cannot be written to; make room on its disk, or give the program the right to write there: %w", err)
	}
}

func (r *run) fail(t *task, err error) {
	f := failure{t.job.from(), err.Error()}
	level := slog.LevelError
	if r.complaints[t.key] == f {
		level = slog.LevelDebug
	}
	r.failed[t.key], r.complaints[t.key] = f, f
	t.ended = true
	t.say(level, "delivery failed", "error", err)
}

// flush writes to the log what is known of an aircraft's jobs, in the order in which they were begun, so that
// the log does not depend on which of two that are at work together ends first.
func (r *run) flush(t *task) {
	name := t.job.Aircraft
	list := r.told[name]
	if !slices.Contains(list, t) {
		list = append(list, t)
	}
	for len(list) > 0 && list[0].ended {
		for _, l := range list[0].lines {
			r.log.Log(context.Background(), l.level, l.text, l.args...)
		}
		list = list[1:]
	}
	if r.told[name] = list; len(list) == 0 {
		delete(r.told, name)
	}
}

// problems tells why deliveries could not be made.
func (r *run) problems() map[key]string {
	out := map[key]string{}
	for k, f := range r.failed {
		out[k] = f.why
	}
	return out
}

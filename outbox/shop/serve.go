package shop

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"time"

	"tipwright/scan/inbox"
)

// Serve keeps the outbox of the shop at root up to date until ctx ends, and returns nil then. It asks for the
// shop's settings when it begins and again and again, so that a change takes effect without a new start; those
// of the options do not count. While the settings cannot be had, those of before stand. Each time that nothing
// is left to do, done is called, which may be nil, with what it came to since.
//
// What the service is at stands in the outbox's [StatusName].
//
// It returns an error only if it cannot begin: ErrInUse if another run serves the shop, or that of settings or
// an inbox that are not to be had. A full or read-only outbox is waited out. Later errors are logged, and the
// work is taken up again.
func Serve(ctx context.Context, root string, p Processor, o Options, settings func() (Settings, error), done func(Summary, error)) error {
	set, err := settings()
	if err != nil {
		return err
	}
	o.Parallel, o.Limits, o.Quiet = set.Parallel, set.Limits, patiencePerQuiet*set.Quiet
	r := newRun(root, p, o)
	lock, err := r.beginPatiently(ctx, set.Rescan)
	if err != nil || lock == nil {
		return err
	}
	defer lock.Close()
	watch := func(ctx context.Context, set Settings) (<-chan inbox.Calm, error) {
		return inbox.Watch(ctx, root, set.Quiet, set.Rescan, r.log)
	}
	return r.serve(ctx, set, settings, watch, done)
}

// beginPatiently takes the shop. While its disk is full or read-only it tries again and again; the lock is
// nil if ctx ends before.
func (r *run) beginPatiently(ctx context.Context, again time.Duration) (*ShopLock, error) {
	for said := ""; ; {
		lock, err := r.begin()
		if err == nil || !passing(err) {
			return lock, err
		}
		if err.Error() != said {
			r.log.Error("the shop cannot be taken; trying again", "error", err)
			said = err.Error()
		}
		select {
		case <-ctx.Done():
			return nil, nil
		case <-time.After(again):
		}
	}
}

// service is a run that goes on.
type service struct {
	*run
	set      Settings
	settings func() (Settings, error)
	wrong    string // with the settings as they are now; those of before stand then
	watch    watching
	calms    <-chan inbox.Calm
	unwatch  context.CancelFunc

	retry  *time.Timer
	armed  bool
	moving []string
	said   string // the trouble that the log has already
	err    error  // of the last look or page
	done   func(Summary, error)

	begun      time.Time
	made       int
	last       *Last
	toldStatus Status
	toldAt     time.Time // by a clock that nobody sets, unlike the time in the status
}

// watching begins to watch the inbox as the settings want it, until ctx ends.
type watching func(ctx context.Context, set Settings) (<-chan inbox.Calm, error)

// beat is how often a busy service renews its page and a resting one its status, and both look for new settings.
const beat = 10 * time.Second

// serve looks at each Calm, and after a while if something failed, and works until ctx ends. It returns an error
// only if it cannot watch at all.
func (r *run) serve(ctx context.Context, set Settings, settings func() (Settings, error), watch watching, done func(Summary, error)) error {
	s := &service{run: r, set: set, settings: settings, watch: watch, retry: time.NewTimer(set.Rescan), begun: time.Now(), done: done}
	s.retry.Stop()
	defer s.retry.Stop()
	if err := s.begin(ctx); err != nil {
		return err
	}
	defer func() { s.unwatch() }()
	beats := time.NewTicker(beat)
	defer beats.Stop()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case c, open := <-s.calms:
			if !open {
				s.calms = nil
				continue
			}
			s.moving = c.Moving
			s.renew(ctx)
		case <-s.retry.C:
			s.renew(ctx)
		case <-s.wake:
			s.renew(ctx)
		case t := <-r.finished:
			s.settled(t)
			s.remember(t)
			if ctx.Err() == nil {
				s.plan()
				s.fill(ctx)
				s.rest(ctx)
			}
		case <-beats.C:
			s.heed(ctx)
			if len(s.hand) > 0 {
				s.err = s.page(ctx)
			}
		}
		s.worry(ctx)
		s.tell(ctx)
	}
	for len(r.hand) > 0 {
		s.settled(<-r.finished)
	}
	s.keep()
	s.tell(ctx)
	return nil
}

// begin begins to watch by the settings, and ends the watch of before.
func (s *service) begin(ctx context.Context) error {
	ctx, stop := context.WithCancel(ctx)
	calms, err := s.watch(ctx, s.set)
	if err != nil {
		stop()
		return err
	}
	if s.unwatch != nil {
		s.unwatch()
	}
	s.calms, s.unwatch = calms, stop
	return nil
}

// heed has a change of the settings take effect.
func (s *service) heed(ctx context.Context) {
	set, err := s.settings()
	if err != nil {
		if s.wrong != err.Error() {
			s.log.Error("the settings cannot be used; those of before stand", "error", err)
		}
		s.wrong = err.Error()
		return
	}
	s.wrong = ""
	if set == s.set {
		return
	}
	before := s.set
	s.set, s.Parallel, s.Limits, s.patience = set, set.parallel(), set.Limits.filled(), patiencePerQuiet*set.Quiet
	if set.Quiet != before.Quiet || set.Rescan != before.Rescan {
		if err := s.begin(ctx); err != nil { // the inbox is away for the moment
			s.set = before // so that it is tried again
			return
		}
	}
	s.log.Info("the settings have changed", "scans_at_once", s.Parallel, "quiet", set.Quiet, "rescan", set.Rescan,
		"file", bytesText(s.Limits.File), "points", s.Limits.Points, "memory", bytesText(s.Limits.Memory), "time", s.Limits.Time)
	s.renew(ctx)
}

// remember notes a delivery for the status.
func (s *service) remember(t *task) {
	if t.err == nil && !t.job.Retire {
		s.made++
		s.last = &Last{named(t.key), t.record.Verdict, time.Now().UTC()}
	}
}

// renew looks at everything and begins what is due.
func (s *service) renew(ctx context.Context) {
	s.retry.Stop()
	s.armed = false
	if s.err = s.look(ctx, s.moving); s.err == nil {
		s.fill(ctx)
	}
	s.rest(ctx)
}

// rest ends a round of work, if nothing is left to do.
func (s *service) rest(ctx context.Context) {
	if len(s.hand) > 0 || ctx.Err() != nil {
		return
	}
	if s.err == nil {
		s.err = s.blocked
	}
	if s.err == nil {
		s.err = s.page(ctx)
		s.keep()
	}
	if s.done != nil {
		sum := s.summary
		sum.Waiting += s.waited()
		s.done(sum, s.err)
	}
	s.summary.Made = 0
}

// worry has what failed tried again after a while, and says once what is wrong with the shop as a whole.
func (s *service) worry(ctx context.Context) {
	if ctx.Err() != nil {
		return
	}
	trouble := ""
	if err := errors.Join(s.err, s.blocked); err != nil {
		trouble = err.Error()
	}
	if trouble != s.said && trouble != "" {
		s.log.Log(ctx, slog.LevelError, "the shop cannot be brought up to date; trying again", "error", trouble)
	}
	s.said = trouble
	if (trouble != "" || len(s.failed) > 0) && !s.armed {
		s.armed = true
		s.retry.Reset(s.set.Rescan)
	}
}

// passing tells an error that may go away by itself: a full or read-only disk.
func passing(err error) bool {
	return !errors.Is(err, ErrInUse) && !errors.Is(err, os.ErrNotExist) && (isFull(err) || errors.Is(err, os.ErrPermission))
}

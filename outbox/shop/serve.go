package shop

import (
	"context"
	"errors"
	"log/slog"
	"os"
	"time"

	"tipwright/scan/inbox"
)

// Serve keeps the outbox of the shop at root up to date until ctx ends, and returns nil then. Quiet is how
// long the builder's files must have been left alone before they are read; rescan is how often the inbox
// is looked through even if the system announces no change, and how soon what failed is tried again. Each
// time that nothing is left to do, done is called, which may be nil, with what it came to since.
//
// What the service is at stands in the outbox's [StatusName].
//
// It returns an error only if it cannot begin: ErrInUse if another run serves the shop, or that of an inbox
// that is not to be had. A full or read-only outbox is waited out. Later errors are logged, and the work is
// taken up again.
func Serve(ctx context.Context, root string, p Processor, o Options, quiet, rescan time.Duration, done func(Summary, error)) error {
	r := newRun(root, p, o)
	lock, err := r.beginPatiently(ctx, rescan)
	if err != nil || lock == nil {
		return err
	}
	defer lock.Close()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	calms, err := inbox.Watch(ctx, root, quiet, rescan, r.log)
	if err != nil {
		return err
	}
	r.serve(ctx, calms, rescan, done)
	return nil
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
	again  time.Duration
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
}

// beat is how often a busy service renews its page and a resting one its status.
const beat = 10 * time.Second

// serve looks at each Calm, and after a while if something failed, and works until ctx ends.
func (r *run) serve(ctx context.Context, calms <-chan inbox.Calm, again time.Duration, done func(Summary, error)) {
	s := &service{run: r, again: again, retry: time.NewTimer(again), begun: time.Now(), done: done}
	s.retry.Stop()
	defer s.retry.Stop()
	beats := time.NewTicker(beat)
	defer beats.Stop()
	for ctx.Err() == nil {
		select {
		case <-ctx.Done():
		case c, open := <-calms:
			if !open {
				calms = nil
				continue
			}
			s.moving = c.Moving
			s.renew(ctx)
		case <-s.retry.C:
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
	s.tell(ctx)
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
		s.done(s.summary, s.err)
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
		s.retry.Reset(s.again)
	}
}

// passing tells an error that may go away by itself: a full or read-only disk.
func passing(err error) bool {
	return !errors.Is(err, ErrInUse) && !errors.Is(err, os.ErrNotExist) && (isFull(err) || errors.Is(err, os.ErrPermission))
}

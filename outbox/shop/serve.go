package shop

import (
	"context"
	"log/slog"
	"time"

	"tipwright/scan/inbox"
)

// Serve keeps the outbox of the shop at root up to date until ctx ends, and returns nil then. Quiet is how
// long the builder's files must have been left alone before they are read; rescan is how often the inbox
// is looked through even if the system announces no change, and how soon what failed is tried again. After
// each pass done is called, which may be nil, with what it came to.
//
// It returns an error only if it cannot begin: ErrInUse if another run serves the shop, or that of an
// inbox or outbox that is not to be had. Later errors are logged, and the work is taken up again.
func Serve(ctx context.Context, root string, p Processor, o Options, quiet, rescan time.Duration, done func(Summary, error)) error {
	r := newRun(root, p, o)
	lock, err := r.begin()
	if err != nil {
		return err
	}
	defer lock.Close()
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	calms, err := inbox.Watch(ctx, root, quiet, rescan, r.log)
	if err != nil {
		return err
	}
	serve(ctx, calms, rescan, r.log, func(moving []string) (Summary, error) {
		s, err := r.pass(ctx, moving)
		if done != nil && ctx.Err() == nil {
			done(s, err)
		}
		return s, err
	})
	return nil
}

// serve makes a pass at each Calm until ctx ends, and another after a while if something failed.
func serve(ctx context.Context, calms <-chan inbox.Calm, again time.Duration, log *slog.Logger, pass func(moving []string) (Summary, error)) {
	retry := time.NewTimer(again)
	defer retry.Stop()
	retry.Stop()
	var moving []string
	for {
		select {
		case <-ctx.Done():
			return
		case c, open := <-calms:
			if !open {
				return
			}
			moving = c.Moving
		case <-retry.C:
		}
		s, err := pass(moving)
		if err != nil && ctx.Err() == nil {
			log.Error("the shop could not be brought up to date; trying again", "error", err)
		}
		retry.Stop()
		if err != nil || s.Failed > 0 {
			retry.Reset(again)
		}
	}
}

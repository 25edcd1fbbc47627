package main

import (
	"cmp"
	"fmt"
	"log/slog"
	"time"

	"tipwright/outbox/shop"
)

type onceCommand struct {
	Shop string `arg:"" help:"The shop's folder: SHOP/inbox/AIRCRAFT/left.ply ... in, SHOP/outbox out."`
}

// Run brings a shop up to date.
func (c onceCommand) Run(s setting) error {
	sum, err := s.bringUpToDate(c.Shop)
	if err != nil {
		return err
	}
	return report(s, sum)
}

// bringUpToDate makes one pass over a shop, under its settings.
func (s setting) bringUpToDate(root string) (shop.Summary, error) {
	set, err := shop.ReadSettings(root)
	if err != nil {
		return shop.Summary{}, err
	}
	p, end, err := s.processor(shop.Scratch(root), set.Limits)
	if err != nil {
		return shop.Summary{}, err
	}
	defer end()
	return shop.Once(s.ctx, root, p, s.shopOptions(set))
}

// report says what a pass came to and turns it into the command's error.
func report(s setting, sum shop.Summary) error {
	if !s.json {
		fmt.Fprintf(s.stdout, "%d made, %d up to date, %d refused, %d failed, %d waiting.\n",
			sum.Made, sum.Current, sum.Refused, sum.Failed, sum.Waiting)
	}
	switch {
	case sum.Failed > 0:
		return fmt.Errorf("%d deliveries could not be made; the log above says why", sum.Failed)
	case sum.Refused > 0:
		return errRefused
	}
	return nil
}

type watchCommand struct {
	Shop   string        `arg:"" help:"The shop's folder; its settings, if any, are in the file shop.toml in it."`
	Quiet  time.Duration `help:"How long a file must have been left alone before it is read (3s, or as the settings say)."`
	Rescan time.Duration `help:"How often the inbox is looked through even if no change is announced (5m, or as the settings say)."`
}

// Run serves a shop until the program is stopped.
func (c watchCommand) Run(s setting) error {
	set, err := shop.ReadSettings(c.Shop)
	if err != nil {
		return err
	}
	p, end, err := s.processor(shop.Scratch(c.Shop), set.Limits)
	if err != nil {
		return err
	}
	defer end()
	return shop.Serve(s.ctx, c.Shop, p, s.shopOptions(set), cmp.Or(c.Quiet, set.Quiet), cmp.Or(c.Rescan, set.Rescan), func(sum shop.Summary, err error) {
		if err == nil {
			text := "shop is up to date"
			if sum.Failed > 0 {
				text = "not everything could be made; trying again"
			}
			s.log().Info(text, "made", sum.Made, "current", sum.Current, "refused", sum.Refused, "failed", sum.Failed, "waiting", sum.Waiting)
		}
	})
}

// log returns the logger on standard error, for people or, with --json, for machines.
func (s setting) log() *slog.Logger {
	if s.json {
		return slog.New(slog.NewJSONHandler(s.stderr, nil))
	}
	return slog.New(slog.NewTextHandler(s.stderr, nil))
}

func (s setting) shopOptions(set shop.Settings) shop.Options {
	bar := newProgress(s)
	return shop.Options{Version: version, Log: s.log(), Progress: bar.job, Parallel: set.Parallel, Limits: set.Limits}
}

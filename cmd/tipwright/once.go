package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"

	"tipwright/outbox/draw"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/inbox"
)

type onceCommand struct {
	Shop string `arg:"" help:"The shop's folder: SHOP/inbox/AIRCRAFT/left.ply ... in, SHOP/outbox out."`
}

// Run brings a shop up to date.
func (c onceCommand) Run(s setting) error {
	done, err := s.bringUpToDate(c.Shop)
	if err != nil {
		return err
	}
	if err := done.report(s); err != nil || s.json {
		return err
	}
	switch {
	case len(done.entries) == 0:
		fmt.Fprintf(s.stdout, "There is nothing in %s yet. Make a folder in it for the aircraft, and put its wing sheet and scans there.\n", inbox.Dir(c.Shop))
	case done.Made > 0:
		fmt.Fprintf(s.stdout, "Open %s.\n", filepath.Join(shop.Dir(c.Shop), "index.html"))
	}
	return nil
}

// pass is what one pass over a shop came to.
type pass struct {
	shop.Summary
	root    string
	entries []shop.Entry
}

// bringUpToDate makes one pass over a shop, under its settings.
func (s setting) bringUpToDate(root string) (done pass, err error) {
	done.root = root
	set, err := shopSettings(root)
	if err != nil {
		return done, err
	}
	p, end, err := s.processor(shop.Scratch(root))
	if err != nil {
		return done, err
	}
	defer end()
	bar := newProgress(s)
	defer bar.end()
	s.stderr = bar
	o := s.shopOptions(set)
	o.Progress = bar.job
	o.Entries = func(list []shop.Entry) { done.entries = list }
	done.Summary, err = shop.Once(s.ctx, root, p, o)
	return done, err
}

// shopSettings reads the settings of a shop, once it is known to be one.
func shopSettings(root string) (shop.Settings, error) {
	if err := isShop(root); err != nil {
		return shop.Settings{}, err
	}
	return shop.ReadSettings(root)
}

// isShop returns an error that says what a shop is if there is none at root.
func isShop(root string) error {
	if err := folder(root, "the shop"); err != nil {
		return err
	}
	for _, dir := range []string{root, inbox.Dir(root)} {
		if _, err := os.Stat(dir); errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("%s is not there: a shop is a folder with a folder inbox in it, and in that a folder for each aircraft", dir)
		}
	}
	return nil
}

// report says what a pass came to and turns it into the command's error.
func (p pass) report(s setting) error {
	if s.json {
		s.log().Info("pass ended", counts(p.Summary)...)
	} else {
		fmt.Fprintf(s.stdout, "%d made, %d up to date, %d refused, %d failed, %d waiting.\n",
			p.Made, p.Current, p.Refused, p.Failed, p.Waiting)
	}
	for _, e := range p.entries {
		if isRefused(e) {
			s.sayRefused(e.Aircraft, e.Side, e.Messages)
		}
		if e.Side == "" && e.Aircraft != "" {
			s.sayOdd(e)
		}
	}
	if p.Refused+p.Failed > 0 && !s.json {
		fmt.Fprintf(s.stdout, "Open %s: it leads to the page of each.\n", filepath.Join(shop.Dir(p.root), "index.html"))
	}
	switch {
	case p.Failed > 0:
		return fmt.Errorf("%d deliveries could not be made; the log above says why", p.Failed)
	case p.Refused > 0:
		return errRefused
	}
	return nil
}

// isRefused tells whether an entry is a delivery that says only what is wrong with what lies in the inbox now.
func isRefused(e shop.Entry) bool { return e.Verdict == "refused" && !e.Stale && !e.Gone }

// sayOdd says what of an aircraft as a whole needs a look.
func (s setting) sayOdd(e shop.Entry) {
	for _, text := range odd(e) {
		if s.json {
			s.log().Warn("look here", "aircraft", e.Aircraft, "text", text)
		} else {
			fmt.Fprintf(s.stdout, "%s: %s\n", draw.LegibleLine(e.Aircraft), text)
		}
	}
}

// odd lists what of an aircraft as a whole needs a look: that there is no scan, or what was left alone.
func odd(e shop.Entry) (says []string) {
	if !e.Gone {
		for _, m := range e.Messages {
			says = append(says, draw.Legible(m.Text))
		}
	}
	if len(e.Strange) > 0 {
		says = append(says, fmt.Sprintf("Neither scan nor wing sheet, left alone: %s. %s", draw.LegibleLine(strings.Join(e.Strange, ", ")), e.Advice))
	}
	return says
}

// sayRefused says why a delivery was refused and what to do: the reasons come first among its messages.
func (s setting) sayRefused(aircraft, side string, messages []scan.Message) {
	for _, m := range messages {
		switch {
		case m.Level != scan.Refusal:
		case s.json:
			s.log().Warn("refused", "aircraft", aircraft, "side", side, "code", m.Code, "text", m.Text)
		default:
			fmt.Fprintf(s.stdout, "%s, %s: %s\n", draw.LegibleLine(aircraft), side, draw.Legible(m.Text))
		}
	}
}

// counts are a pass's figures for the log.
func counts(sum shop.Summary) []any {
	return []any{"made", sum.Made, "current", sum.Current, "refused", sum.Refused, "failed", sum.Failed, "waiting", sum.Waiting}
}

// log returns the logger on standard error, for people or, with --json, for machines.
func (s setting) log() *slog.Logger {
	if s.json {
		return slog.New(slog.NewJSONHandler(s.stderr, nil))
	}
	return slog.New(newPlainLog(s.stderr))
}

func (s setting) shopOptions(set shop.Settings) shop.Options {
	return shop.Options{Version: version, Log: s.log(), Parallel: set.Parallel, Limits: set.Limits, Quiet: set.Quiet}
}

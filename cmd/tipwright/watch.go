package main

import (
	"cmp"
	"context"
	"errors"
	"path/filepath"
	"strings"
	"time"

	"tipwright/outbox/draw"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/inbox"
)

type watchCommand struct {
	Shop   string        `arg:"" help:"The shop's folder; its settings, if any, are in the file shop.toml in it."`
	Quiet  time.Duration `help:"How long a file must have been left alone before it is read (3s, or as the settings say)."`
	Rescan time.Duration `help:"How often the inbox is looked through even if no change is announced (5m, or as the settings say)."`
}

// Run serves a shop until the program is stopped.
func (c watchCommand) Run(s setting) error {
	if _, err := shopSettings(c.Shop); err != nil {
		return err
	}
	p, end, err := s.processor(shop.Scratch(c.Shop))
	if err != nil {
		return err
	}
	defer end()
	s.log().Info("watching; Ctrl-C stops it", "inbox", inbox.Dir(c.Shop), "open", filepath.Join(shop.Dir(c.Shop), "index.html"))
	o := s.shopOptions(shop.Settings{})
	o.Entries = s.tellNew()
	err = shop.Serve(s.ctx, c.Shop, p, o, c.settings, func(sum shop.Summary, err error) {
		if err == nil {
			text := "shop is up to date"
			switch {
			case sum.Failed > 0:
				text = "not everything could be made; trying again"
			case sum.Waiting > 0:
				text = "waiting for files that are still being copied"
			}
			s.log().Info(text, counts(sum)...)
		}
	})
	if errors.Is(err, context.Canceled) {
		return nil // a service is stopped by the one it serves
	}
	return err
}

// settings reads the shop's settings, of which the command line's take the place.
func (c watchCommand) settings() (shop.Settings, error) {
	set, err := shop.ReadSettings(c.Shop)
	set.Quiet, set.Rescan = cmp.Or(c.Quiet, set.Quiet), cmp.Or(c.Rescan, set.Rescan)
	return set, err
}

// tellNew returns what logs the state of a shop as far as it needs a look: why a delivery was refused, and what is odd
// about an aircraft as a whole; each once, as long as it stands.
func (s setting) tellNew() func([]shop.Entry) {
	said := map[[2]string]string{}
	return func(list []shop.Entry) {
		now := map[[2]string]string{}
		for _, e := range list {
			k := [2]string{e.Aircraft, e.Side}
			var says []string
			switch {
			case e.Side == "" && e.Aircraft != "":
				says = odd(e)
			case isRefused(e):
				says = refusals(e.Messages)
			}
			now[k] = strings.Join(says, " ")
			if now[k] == "" || now[k] == said[k] {
				continue
			}
			about := []any{"aircraft", e.Aircraft}
			if e.Side != "" {
				about = append(about, "side", e.Side)
			}
			s.log().Info("look here", append(about, "text", now[k])...)
		}
		said = now
	}
}

// refusals returns the reasons for a refusal.
func refusals(messages []scan.Message) (says []string) {
	for _, m := range messages {
		if m.Level == scan.Refusal {
			says = append(says, draw.Legible(m.Text))
		}
	}
	return says
}

package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"tipwright/outbox/draw"
	"tipwright/outbox/shop"
)

type statusCommand struct {
	Shop string `arg:"" help:"The shop's folder."`
}

// Run tells what whoever watches a shop is at, and what stands in it. The status is 1 unless it is watched without
// trouble.
func (c statusCommand) Run(s setting) error {
	if err := isShop(c.Shop); err != nil {
		return err
	}
	st, err := shop.ReadStatus(c.Shop)
	switch {
	case errors.Is(err, os.ErrNotExist):
		fmt.Fprintf(s.stdout, "Nobody watches %s. Start with: tipwright watch %s\n", c.Shop, c.Shop)
		return errRefused
	case err != nil:
		return err
	}
	serving := st.Serving(time.Now())
	if s.json {
		if err := json.NewEncoder(s.stdout).Encode(st); err != nil {
			return err
		}
	} else {
		fmt.Fprint(s.stdout, draw.Legible(statusWords(c.Shop, st, serving)))
	}
	if !serving || st.State == "trouble" {
		return errRefused
	}
	return nil
}

// statusWords says what a service is at, for people.
func statusWords(root string, st shop.Status, serving bool) string {
	var b strings.Builder
	line := func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }
	if serving {
		line("%s is watched by process %d since %s: %s.", root, st.Process, st.Begun.Local().Format("2 January 15:04"), st.State)
	} else {
		line("%s is not watched now. Who did so was last at work on %s. Start again with: tipwright watch %s", root, st.Written.Local().Format("2 January 15:04"), root)
	}
	for _, told := range []struct {
		what string
		list []string
	}{{"Being made", st.InHand}, {"To be made", st.Queue}, {"Refused", st.Refused}, {"Could not be made", st.Failed}} {
		if len(told.list) > 0 {
			line("%s: %s.", told.what, strings.Join(told.list, ", "))
		}
	}
	if st.Waiting > 0 {
		line("Waiting for files that are still being copied: %d.", st.Waiting)
	}
	if st.Last != nil {
		line("Made last: %s, %s, at %s.", st.Last.Delivery, st.Last.Verdict, st.Last.At.Local().Format("2 January 15:04"))
	}
	if st.Settings != "" {
		line("The settings cannot be used, and those of before stand: %s", st.Settings)
	}
	if st.Trouble != "" {
		line("Trouble: %s", st.Trouble)
	}
	line("Deliveries that stand: %d. Open %s.", st.Standing, filepath.Join(shop.Dir(root), "index.html"))
	return b.String()
}

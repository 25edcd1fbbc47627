package main

import (
	"errors"
	"log/slog"
	"regexp"
	"strings"
	"testing"
)

func TestPlainLog(t *testing.T) {
	var b strings.Builder
	log := slog.New(newPlainLog(&b))
	log.Info("delivered", "aircraft", "marsh-wren", "side", "left", "verdict", "caution", "why", "new")
	log.With("aircraft", "wr\x1b[31m\nen").Error("delivery failed", "side", "right", "error", errors.New("the disk\nis full"))
	log.Warn("left out", "code", "stray-file", "text", "left.ply lies in the inbox itself.")
	log.Debug("nothing for people")
	log.Info("the settings have changed", "scans_at_once", 2, "trace", "a\nb")
	got := regexp.MustCompile(`(?m)^\d\d:\d\d:\d\d `).ReplaceAllString(b.String(), "")
	want := `marsh-wren, left: delivered (caution, new)
error: wr�[31m en, right: delivery failed: the disk is full
warn: left out: left.ply lies in the inbox itself.
the settings have changed (scans at once 2): "a\nb"
`
	if got != want {
		t.Errorf("the log is\n%s\nwant\n%s", got, want)
	}
}

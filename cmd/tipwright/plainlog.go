package main

import (
	"context"
	"fmt"
	"io"
	"log/slog"
	"slices"
	"strconv"
	"strings"
	"sync"

	"tipwright/outbox/draw"
)

// plainLog writes the log for people, a line each:
//
//	17:13:50 marsh-wren, left: delivered (caution, new)
//
// Aircraft and side come first, a text or an error last, all else stands in brackets. It takes no groups.
type plainLog struct {
	w    io.Writer
	turn *sync.Mutex // several jobs are at work at once
	with []slog.Attr
}

func newPlainLog(w io.Writer) *plainLog { return &plainLog{w: w, turn: new(sync.Mutex)} }

// Enabled reports whether a level is worth a line.
func (*plainLog) Enabled(_ context.Context, l slog.Level) bool { return l >= slog.LevelInfo }

// Handle writes one line.
func (p *plainLog) Handle(_ context.Context, r slog.Record) error {
	var subject, rest, said []string
	word := func(a slog.Attr) bool {
		v := draw.LegibleLine(a.Value.String())
		switch a.Key {
		case "aircraft", "side":
			subject = append(subject, v)
		case "text", "error":
			said = append(said, v)
		case "verdict", "why": // tell themselves
			rest = append(rest, v)
		case "code": // for machines
		case "trace":
			said = append(said, strconv.Quote(a.Value.String()))
		default:
			rest = append(rest, strings.ReplaceAll(a.Key, "_", " ")+" "+v)
		}
		return true
	}
	for _, a := range p.with {
		word(a)
	}
	r.Attrs(word)
	var b strings.Builder
	if !r.Time.IsZero() {
		b.WriteString(r.Time.Format("15:04:05 "))
	}
	if r.Level >= slog.LevelWarn {
		b.WriteString(strings.ToLower(r.Level.String()) + ": ")
	}
	if len(subject) > 0 {
		b.WriteString(strings.Join(subject, ", ") + ": ")
	}
	b.WriteString(r.Message)
	if len(rest) > 0 {
		b.WriteString(" (" + strings.Join(rest, ", ") + ")")
	}
	for _, text := range said {
		b.WriteString(": " + text)
	}
	p.turn.Lock()
	defer p.turn.Unlock()
	_, err := fmt.Fprintln(p.w, b.String())
	return err
}

// WithAttrs returns a log that adds these to every line.
func (p *plainLog) WithAttrs(attrs []slog.Attr) slog.Handler {
	return &plainLog{p.w, p.turn, slices.Concat(p.with, attrs)}
}

// WithGroup returns the same log.
func (p *plainLog) WithGroup(string) slog.Handler { return p }

package main

import (
	"fmt"
	"io"
	"os"
	"sync"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"tipwright/outbox/shop"
)

// progress shows long work on a terminal and is silent everywhere else.
type progress struct {
	mu    sync.Mutex // guards the terminal, and the bar's ways in that have no lock of their own
	out   io.Writer
	bar   *progressbar.ProgressBar // nil: silent
	ended chan struct{}            // nil until the first job, closed at the end
}

func newProgress(s setting) *progress {
	f, ok := s.stderr.(*os.File)
	if !ok || s.json || !term.IsTerminal(int(f.Fd())) {
		return &progress{out: s.stderr}
	}
	return &progress{out: f, bar: progressbar.NewOptions(1, progressbar.OptionSetWriter(f), progressbar.OptionSetWidth(24),
		progressbar.OptionSetPredictTime(false), progressbar.OptionSetElapsedTime(true), progressbar.OptionShowCount())}
}

// job shows that job number done of total begins, and for how long the work has gone on.
func (p *progress) job(done, total int, job shop.Job) {
	if p.bar == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.bar.ChangeMax(total)
	p.bar.Describe(fmt.Sprintf("%s, %s", job.Aircraft, job.Side))
	_ = p.bar.Set(done) // a bar that cannot be drawn must not stop the work
	if p.ended == nil {
		p.ended = make(chan struct{})
		go p.tick(p.ended)
	}
}

// tick draws the bar once a second: a single scan has no steps to show, and a bar that stands still looks hung.
func (p *progress) tick(ended <-chan struct{}) {
	t := time.NewTicker(time.Second)
	defer t.Stop()
	for {
		select {
		case <-ended:
			return
		case <-t.C:
			p.mu.Lock()
			_ = p.bar.RenderBlank()
			p.mu.Unlock()
		}
	}
}

// Write passes a line on to the terminal, in the place of the bar, which comes back below it.
func (p *progress) Write(line []byte) (int, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.clear()
	return p.out.Write(line)
}

// end takes the bar from the terminal.
func (p *progress) end() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.ended != nil {
		close(p.ended)
		p.clear()
	}
	p.bar, p.ended = nil, nil
}

func (p *progress) clear() {
	if p.ended != nil {
		_ = p.bar.Clear()
	}
}

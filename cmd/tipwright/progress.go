package main

import (
	"fmt"
	"os"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"tipwright/outbox/shop"
)

// progress shows long work on a terminal and is silent everywhere else.
type progress struct {
	bar *progressbar.ProgressBar
}

func newProgress(s setting) *progress {
	f, ok := s.stderr.(*os.File)
	if !ok || s.json || !term.IsTerminal(int(f.Fd())) {
		return &progress{}
	}
	return &progress{progressbar.NewOptions(1, progressbar.OptionSetWriter(f), progressbar.OptionClearOnFinish(),
		progressbar.OptionSetWidth(24), progressbar.OptionSetPredictTime(false), progressbar.OptionShowCount())}
}

// job shows that job number done of total begins.
func (p *progress) job(done, total int, job shop.Job) {
	if p.bar == nil {
		return
	}
	p.bar.ChangeMax(total)
	p.bar.Describe(fmt.Sprintf("%s, %s", job.Aircraft, job.Side))
	_ = p.bar.Set(done) // a bar that cannot be drawn must not stop the work
	if done == total {
		_ = p.bar.Finish()
	}
}

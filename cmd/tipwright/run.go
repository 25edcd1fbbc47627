package main

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"golang.org/x/sync/errgroup"

	"tipwright/outbox/shop"
)

type runCommand struct {
	Out      string   `default:"tipwright-out" help:"Where to write DIR/left, DIR/right and DIR/pair (${default})." placeholder:"DIR"`
	Sheet    string   `help:"The wing sheet for all the scans. Without it wing.toml beside them counts, which must be the same beside each." placeholder:"WING.TOML"`
	Settings string   `help:"A settings file as a shop has it, for its limits." placeholder:"SHOP.TOML"`
	Scans    []string `arg:"" name:"scan" help:"Scans; each file's name begins with left or right, left-2 is a repeat."`
}

// Run processes the scans and writes one delivery a side, and the pair if both sides are given.
func (c runCommand) Run(s setting) error {
	jobs, err := c.jobs(s.ctx)
	if err != nil {
		return err
	}
	set := shop.DefaultSettings()
	if c.Settings != "" {
		if err := readable(c.Settings, "a settings file", "Name the file itself, as in shop.toml"); err != nil {
			return err
		}
		if set, err = shop.ReadSettingsFile(c.Settings); err != nil {
			return err
		}
	}
	if err := folder(c.Out, "--out"); err != nil {
		return err
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return fmt.Errorf("%s cannot be made (%w). Name another folder with --out", c.Out, cause(err))
	}
	p, end, err := s.processor(filepath.Join(c.Out, shop.Unfinished("kept")))
	if err != nil {
		return err
	}
	defer end()
	made, err := c.deliverAll(s, p, set, jobs)
	for _, record := range made {
		c.tell(s, record)
	}
	if err != nil || !slices.ContainsFunc(made, wasRefused) {
		return err
	}
	if len(jobs) > len(made) {
		c.say(s, "The tips were not compared, since a side was refused.")
	}
	return errRefused
}

func wasRefused(r shop.Record) bool { return r.Verdict == "refused" }

// deliverAll makes both sides at once and then the pair, and returns the records of what was made.
func (c runCommand) deliverAll(s setting, p shop.Processor, set shop.Settings, jobs []shop.Job) ([]shop.Record, error) {
	bar := newProgress(s)
	defer bar.end()
	made := make([]shop.Record, len(jobs))
	sides := min(len(jobs), 2)
	bar.job(0, len(jobs), jobs[0])
	var g errgroup.Group
	for i, job := range jobs[:sides] {
		g.Go(func() (err error) {
			made[i], err = c.deliver(s, p, set, job)
			return err
		})
	}
	err := g.Wait()
	if retired := c.retire(s); err == nil {
		err = retired
	}
	bar.job(sides, len(jobs), jobs[len(jobs)-1])
	done := slices.DeleteFunc(made, func(r shop.Record) bool { return r.Verdict == "" })
	if err != nil || len(jobs) == sides {
		return done, err
	}
	if slices.ContainsFunc(done, wasRefused) {
		return done, nil
	}
	pair, err := c.deliver(s, p, set, jobs[sides])
	if err != nil {
		return done, err
	}
	return append(done, pair), nil
}

// retire sets an earlier comparison aside that is of other deliveries than those that stand beside it now.
func (c runCommand) retire(s setting) error {
	to, err := shop.RetirePair(c.Out)
	if to != "" {
		c.say(s, fmt.Sprintf("The comparison in %s was of other deliveries than those beside it now; it is kept in %s.", filepath.Join(c.Out, shop.Pair), to))
	}
	return err
}

// say tells something to people or, with --json, to the log.
func (runCommand) say(s setting, text string) {
	if s.json {
		s.log().Info(text)
	} else {
		fmt.Fprintln(s.stdout, text)
	}
}

// tell says what came of a job, and of one that was refused why and what to do.
func (c runCommand) tell(s setting, r shop.Record) {
	page := filepath.Join(c.Out, r.Side, "report.html")
	if s.json {
		s.log().Info("delivered", "aircraft", r.Aircraft, "side", r.Side, "verdict", r.Verdict, "report", page)
	} else {
		fmt.Fprintf(s.stdout, "%s: %s\n", page, r.Verdict)
	}
	if wasRefused(r) {
		s.sayRefused(r.Aircraft, r.Side, r.Messages)
	}
}

// deliver makes one job and puts it into its place; what stood there moves to earlier.
func (c runCommand) deliver(s setting, p shop.Processor, set shop.Settings, job shop.Job) (record shop.Record, err error) {
	if job.Dir, err = os.MkdirTemp(c.Out, shop.Unfinished(job.Side)+"-"); err != nil {
		return record, err
	}
	defer os.RemoveAll(job.Dir)
	job.LeftDir, job.RightDir = filepath.Join(c.Out, shop.Left), filepath.Join(c.Out, shop.Right)
	record, err = shop.Make(s.ctx, p, job, set.Limits, s.log())
	if err != nil {
		return record, err
	}
	return record, shop.Publish(job.Dir, filepath.Join(c.Out, job.Side), filepath.Join(c.Out, "earlier", job.Side))
}

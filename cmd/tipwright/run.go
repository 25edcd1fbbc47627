package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"tipwright/outbox/shop"
	"tipwright/scan/inbox"
	"tipwright/scan/sheet"
	"tipwright/section/airfoil"
)

type runCommand struct {
	Out      string   `default:"tipwright-out" help:"Where to write DIR/left, DIR/right and DIR/pair (${default})." placeholder:"DIR"`
	Sheet    string   `help:"The wing sheet, if it is not wing.toml beside the first scan." placeholder:"WING.TOML"`
	Settings string   `help:"A settings file as a shop has it, for its limits." placeholder:"SHOP.TOML"`
	Scans    []string `arg:"" name:"scan" help:"Scans; each file's name begins with left or right, left-2 is a repeat."`
}

// Run processes the scans and writes one delivery a side, and the pair if both sides are given.
func (c runCommand) Run(s setting) error {
	jobs, err := c.jobs()
	if err != nil {
		return err
	}
	set := shop.DefaultSettings()
	if c.Settings != "" {
		if set, err = shop.ReadSettingsFile(c.Settings); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return err
	}
	p, end, err := s.processor(filepath.Join(c.Out, shop.Unfinished("kept")), set.Limits)
	if err != nil {
		return err
	}
	defer end()
	verdicts, err := c.deliverAll(s, p, set, jobs)
	for i, verdict := range verdicts {
		if verdict != "" {
			fmt.Fprintf(s.stdout, "%s: %s\n", filepath.Join(c.Out, jobs[i].Side, "report.html"), verdict)
		}
	}
	if err == nil && slices.Contains(verdicts, "refused") {
		err = errRefused
	}
	return err
}

// deliverAll makes both sides at once and then the pair, and returns a verdict for each job that was made.
func (c runCommand) deliverAll(s setting, p shop.Processor, set shop.Settings, jobs []shop.Job) ([]string, error) {
	bar := newProgress(s)
	verdicts := make([]string, len(jobs))
	sides := min(len(jobs), 2)
	bar.job(0, len(jobs), jobs[0])
	var g errgroup.Group
	for i, job := range jobs[:sides] {
		g.Go(func() (err error) {
			verdicts[i], err = c.deliver(s, p, set, job)
			return err
		})
	}
	err := g.Wait()
	bar.job(sides, len(jobs), jobs[len(jobs)-1])
	if err == nil && len(jobs) > sides {
		verdicts[sides], err = c.deliver(s, p, set, jobs[sides])
		bar.job(len(jobs), len(jobs), jobs[sides])
	}
	return verdicts, err
}

// jobs sorts the scans into sides and reads their fingerprints.
func (c runCommand) jobs() ([]shop.Job, error) {
	sides := map[string][]string{}
	for _, path := range c.Scans {
		side, err := sideOfFile(path)
		if err != nil {
			return nil, err
		}
		sides[side] = append(sides[side], path)
	}
	var jobs []shop.Job
	for _, side := range []string{shop.Left, shop.Right} {
		paths := sides[side]
		if len(paths) == 0 {
			continue
		}
		slices.SortFunc(paths, func(a, b string) int { return inbox.Compare(filepath.Base(a), filepath.Base(b)) })
		job, err := c.job(side, paths)
		if err != nil {
			return nil, err
		}
		jobs = append(jobs, job)
	}
	if len(jobs) == 2 {
		pair := jobs[0]
		pair.Side, pair.Scans = shop.Pair, slices.Concat(jobs[0].Scans, jobs[1].Scans)
		jobs = append(jobs, pair)
	}
	return jobs, nil
}

func (c runCommand) job(side string, paths []string) (shop.Job, error) {
	folder, err := filepath.Abs(filepath.Dir(paths[0]))
	if err != nil {
		return shop.Job{}, err
	}
	job := shop.Job{Aircraft: filepath.Base(folder), Side: side, Version: version}
	for _, path := range paths {
		f, err := fingerprint(path)
		if err != nil {
			return shop.Job{}, err
		}
		job.Scans = append(job.Scans, f)
	}
	path := c.Sheet
	if path == "" {
		path = filepath.Join(filepath.Dir(paths[0]), "wing.toml")
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			return job, nil
		}
	}
	if job.Sheet, err = fingerprint(path); err != nil {
		return shop.Job{}, err
	}
	if beside := airfoilBeside(path); beside != "" {
		job.Airfoil, err = fingerprint(beside)
	}
	return job, err
}

// airfoilBeside returns the path of the coordinate file that a sheet names, if there is one; a sheet that
// cannot be read is refused later, with its page.
func airfoilBeside(path string) string {
	sh, err := sheet.Read(path)
	if err != nil || sh.Airfoil == "" || airfoil.IsDesignation(sh.Airfoil) {
		return ""
	}
	beside := filepath.Join(filepath.Dir(path), sh.Airfoil)
	if _, err := os.Stat(beside); err != nil {
		return ""
	}
	return beside
}

func fingerprint(path string) (shop.File, error) {
	source, err := inbox.Stable(path)
	return shop.File{Path: path, Source: source}, err
}

// sideOfFile tells the side by the beginning of the file's name.
func sideOfFile(path string) (string, error) {
	name := strings.ToLower(filepath.Base(path))
	for _, side := range []string{shop.Left, shop.Right} {
		if strings.HasPrefix(name, side) {
			return side, nil
		}
	}
	return "", fmt.Errorf("%s: which wing is it? Rename the file so that its name begins with left or right", path)
}

// deliver makes one job and puts it into its place; what stood there moves to earlier.
func (c runCommand) deliver(s setting, p shop.Processor, set shop.Settings, job shop.Job) (verdict string, err error) {
	if job.Dir, err = os.MkdirTemp(c.Out, shop.Unfinished(job.Side)+"-"); err != nil {
		return "", err
	}
	defer os.RemoveAll(job.Dir)
	if job.Side == shop.Pair {
		job.LeftDir, job.RightDir = filepath.Join(c.Out, shop.Left), filepath.Join(c.Out, shop.Right)
		for _, d := range []string{job.LeftDir, job.RightDir} {
			if shop.ReadRecord(d, job.Aircraft, filepath.Base(d)).Verdict == "refused" {
				return "not compared, since a side was refused", nil
			}
		}
	}
	record, err := shop.Make(s.ctx, p, job, set.Limits, s.log())
	if err != nil {
		return "", err
	}
	earlier := filepath.Join(c.Out, "earlier")
	if err := os.MkdirAll(earlier, 0o755); err != nil {
		return "", err
	}
	return record.Verdict, shop.Publish(job.Dir, filepath.Join(c.Out, job.Side), filepath.Join(earlier, job.Side))
}

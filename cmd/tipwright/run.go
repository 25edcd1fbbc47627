package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/outbox/shop"
	"tipwright/scan/inbox"
	"tipwright/scan/sheet"
	"tipwright/section/airfoil"
)

type runCommand struct {
	Out   string   `default:"tipwright-out" help:"Where to write DIR/left, DIR/right and DIR/pair (${default})." placeholder:"DIR"`
	Sheet string   `help:"The wing sheet, if it is not wing.toml beside the first scan." placeholder:"WING.TOML"`
	Scans []string `arg:"" name:"scan" help:"Scans; each file's name begins with left or right, left-2 is a repeat."`
}

// Run processes the scans and writes one delivery a side, and the pair if both sides are given.
func (c runCommand) Run(s setting) error {
	jobs, err := c.jobs()
	if err != nil {
		return err
	}
	bar, m := newProgress(s), newMaker()
	anyRefused := false
	for i, job := range jobs {
		bar.job(i, len(jobs), job)
		verdict, err := c.deliver(s, m, job)
		if err != nil {
			return err
		}
		bar.job(i+1, len(jobs), job)
		fmt.Fprintf(s.stdout, "%s: %s\n", filepath.Join(c.Out, job.Side, "report.html"), verdict)
		if verdict == "refused" {
			anyRefused = true
		}
	}
	if anyRefused {
		return errRefused
	}
	return nil
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
func (c runCommand) deliver(s setting, m maker, job shop.Job) (verdict string, err error) {
	if err := os.MkdirAll(c.Out, 0o755); err != nil {
		return "", err
	}
	dir, err := os.MkdirTemp(c.Out, ".making-")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(dir)
	job.Dir = dir
	if job.Side == shop.Pair {
		job.LeftDir, job.RightDir = filepath.Join(c.Out, shop.Left), filepath.Join(c.Out, shop.Right)
		for _, d := range []string{job.LeftDir, job.RightDir} {
			if shop.ReadRecord(d, job.Aircraft, filepath.Base(d)).Verdict == "refused" {
				return "not compared, since a side was refused", nil
			}
		}
		err = m.Pair(s.ctx, job)
	} else {
		err = m.Side(s.ctx, job)
	}
	if err != nil {
		return "", err
	}
	verdict = shop.ReadRecord(dir, job.Aircraft, job.Side).Verdict
	earlier := filepath.Join(c.Out, "earlier")
	if err := os.MkdirAll(earlier, 0o755); err != nil {
		return "", err
	}
	return verdict, shop.Publish(dir, filepath.Join(c.Out, job.Side), filepath.Join(earlier, job.Side))
}

package main

import (
	"cmp"
	"context"
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

// jobs sorts the scans into sides and reads their fingerprints. The jobs are of one aircraft, so that one wing
// sheet counts for all of them.
func (c runCommand) jobs(ctx context.Context) ([]shop.Job, error) {
	scans := slices.Clone(c.Scans)
	for _, path := range scans {
		if err := readable(path, "a scan", "Name the scans in it, as in left.ply and right.ply"); err != nil {
			return nil, err
		}
		if _, err := sideOfFile(path); err != nil {
			return nil, err
		}
	}
	slices.SortStableFunc(scans, func(a, b string) int { return inbox.Compare(filepath.Base(a), filepath.Base(b)) })
	common, err := c.common(ctx, scans)
	if err != nil {
		return nil, err
	}
	var jobs []shop.Job
	for _, side := range []string{shop.Left, shop.Right} {
		job := common
		job.Side = side
		for _, path := range scans {
			if of, _ := sideOfFile(path); of != side {
				continue
			}
			f, err := shop.Look(ctx, path)
			if err != nil {
				return nil, err
			}
			job.Scans = append(job.Scans, f)
		}
		if len(job.Scans) > 0 {
			jobs = append(jobs, job)
		}
	}
	if len(jobs) == 2 {
		pair := common
		pair.Side, pair.Scans = shop.Pair, slices.Concat(jobs[0].Scans, jobs[1].Scans)
		jobs = append(jobs, pair)
	}
	return jobs, nil
}

// common returns what the jobs have in common: the aircraft, by the folder of the first scan, and the wing
// sheet. It is an error if two scans have different sheets beside them: the one side would be delivered by the
// one, and compared by the other.
func (c runCommand) common(ctx context.Context, scans []string) (shop.Job, error) {
	first, err := filepath.Abs(filepath.Dir(scans[0]))
	if err != nil {
		return shop.Job{}, err
	}
	job := shop.Job{Aircraft: filepath.Base(first), Version: version}
	if c.Sheet != "" {
		job.Sheet, job.Airfoil, err = sheetFiles(ctx, c.Sheet)
		return job, err
	}
	for i, scan := range scans {
		sh, af, err := sheetFiles(ctx, filepath.Join(filepath.Dir(scan), "wing.toml"))
		if errors.Is(err, fs.ErrNotExist) {
			err = nil
		}
		switch {
		case err != nil:
			return job, err
		case i == 0:
			job.Sheet, job.Airfoil = sh, af
		case sh.Source.SHA256 != job.Sheet.Source.SHA256 || af.Source.SHA256 != job.Airfoil.Source.SHA256:
			return job, fmt.Errorf("%s beside %s and %s beside %s are not the same, and both wings are measured and compared by one. Name the wing sheet that counts with --sheet, or run the scans one by one",
				sheetWord(job.Sheet), scans[0], sheetWord(sh), scan)
		}
	}
	return job, nil
}

// sheetWord names a sheet, or says that there is none.
func sheetWord(f shop.File) string { return cmp.Or(f.Path, "no wing sheet") }

// sheetFiles reads the fingerprints of a wing sheet and of the coordinate file that it names, if there is one.
// The error is [fs.ErrNotExist] if there is nothing at path at all.
func sheetFiles(ctx context.Context, path string) (sh, af shop.File, err error) {
	if _, err := os.Lstat(path); errors.Is(err, fs.ErrNotExist) {
		return sh, af, missing{readable(path, "a wing sheet", "")}
	}
	if err := readable(path, "a wing sheet", "Name the sheet itself, as in wing.toml"); err != nil {
		return sh, af, err
	}
	if sh, err = shop.Look(ctx, path); err != nil {
		return sh, af, err
	}
	if beside := airfoilBeside(path); beside != "" {
		af, err = shop.Look(ctx, beside)
	}
	return sh, af, err
}

// missing is an error in words that is [fs.ErrNotExist].
type missing struct{ error }

func (missing) Unwrap() error { return fs.ErrNotExist }

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

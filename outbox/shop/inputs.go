// Package shop keeps a shop's outbox a function of its inbox: it tells which deliveries are not up to date,
// has them made, and puts each into its place whole or not at all. There is no list of jobs to lose: what
// a delivery was made from stands in its result.json. Nothing in the inbox is ever written.
package shop

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// The deliveries of one aircraft, by the names of their folders.
const (
	Left  = "left"
	Right = "right"
	Pair  = "pair" // left against right
)

// Dir returns the outbox of a shop.
func Dir(root string) string { return filepath.Join(root, "outbox") }

// File is one file of the inbox with its contents' fingerprint. The zero File is none.
type File struct {
	Path   string
	Source scan.Source
	// Seen is what the system told of it when it was summed up; zero if it may have changed since without a trace.
	Seen inbox.Stamp
}

// Look reads a file to its end, for its fingerprint. The errors are those of [inbox.Stable].
func Look(ctx context.Context, path string) (File, error) {
	s, err := sourceOf(ctx, path)
	return s.file(path), err
}

// Still tells whether an open file is the one that was summed up and holds what it held, as far as the system tells. It is
// false where it tells too little.
func (f File) Still(open *os.File) bool {
	now, err := inbox.StampOfOpen(open)
	return err == nil && f.Seen != (inbox.Stamp{}) && now == f.Seen
}

func sourceOf(ctx context.Context, path string) (source, error) {
	begun := time.Now()
	read, seen, err := inbox.Stable(ctx, path)
	return source{seen, read, seen.Rested(begun)}, err
}

func (s source) file(path string) File {
	f := File{Path: path, Source: s.Source}
	if s.Rested {
		f.Seen = s.Stamp
	}
	return f
}

// Inputs is what one aircraft's deliveries are made from.
type Inputs struct {
	Aircraft string // the folder's name
	Sheet    File   // zero if there is none
	Airfoil  File   // the coordinate file that the sheet names; zero if there is none
	Left     Scans
	Right    Scans
	Strange  []string // names of files that are neither scan nor sheet
	Moving   bool     // still being written to, so nothing else is known of it
}

// Scans is the scans of one side, in the order of their names.
type Scans struct {
	Files []File
	Err   error // why they cannot be used now; inbox.ErrUnsettled among the causes if one has only to wait
}

// Fingerprint reads the files of one aircraft to their ends. A file that cannot be read is told with the
// side it belongs to, the sheet's and the airfoil's with both.
func Fingerprint(ctx context.Context, a inbox.Aircraft) Inputs {
	return fingerprints{}.of(ctx, a, math.MaxInt64, fingerprints{})
}

// fingerprints remembers the contents of files by aircraft and file name, so that a large inbox is not read
// again each time that one file has come.
type fingerprints map[key]source

// of reads the files of one aircraft but for those that are known and have not been touched; a scan of more
// than most bytes is not read, and has no SHA-256. What it has learned goes into next.
func (p fingerprints) of(ctx context.Context, a inbox.Aircraft, most int64, next fingerprints) Inputs {
	in := Inputs{Aircraft: a.Name, Strange: a.Strange}
	var common, err error
	in.Sheet, common = p.file(ctx, a.Name, a.SheetPath, math.MaxInt64, next)
	in.Airfoil, err = p.file(ctx, a.Name, a.AirfoilPath, math.MaxInt64, next)
	common = errors.Join(common, err)
	in.Left, in.Right = p.scans(ctx, a.Name, a.Left, most, next), p.scans(ctx, a.Name, a.Right, most, next)
	in.Left.Err, in.Right.Err = errors.Join(common, in.Left.Err), errors.Join(common, in.Right.Err)
	return in
}

func (p fingerprints) scans(ctx context.Context, aircraft string, paths []string, most int64, next fingerprints) (s Scans) {
	for _, path := range paths {
		f, err := p.file(ctx, aircraft, path, most, next)
		s.Files = append(s.Files, f)
		s.Err = errors.Join(s.Err, err)
	}
	return s
}

func (p fingerprints) file(ctx context.Context, aircraft, path string, most int64, next fingerprints) (File, error) {
	if path == "" {
		return File{}, nil
	}
	name := filepath.Base(path)
	k := key{aircraft, name}
	begun := time.Now()
	now, unstamped := inbox.StampOf(path)
	if unstamped == nil && now.Size > most {
		return File{Path: path, Source: scan.Source{File: name, Bytes: now.Size}}, nil
	}
	if old, there := p[k]; there && unstamped == nil && old.Stamp == now {
		next[k] = old
		return old.file(path), nil
	}
	read, err := sourceOf(ctx, path)
	if err == nil && read.Stamp.Settled(begun) {
		next[k] = read
	}
	return read.file(path), err
}

// scans returns the scans of one side; those of the pair are left, then right.
func (in *Inputs) scans(side string) Scans {
	switch side {
	case Left:
		return in.Left
	case Right:
		return in.Right
	}
	return Scans{slices.Concat(in.Left.Files, in.Right.Files), errors.Join(in.Left.Err, in.Right.Err)}
}

// origin is what decides whether a delivery is up to date: the program's version and the SHA-256 of
// everything that it was made from. Names do not count, but for the side that a scan is of.
type origin struct {
	version, sheet, airfoil string
	scans                   string // "left SHA256" a line, sorted
}

// ofScans makes the scans' part of an origin from pairs of file name and SHA-256.
func ofScans(scans [][2]string) string {
	lines := make([]string, len(scans))
	for i, s := range scans {
		lines[i] = sideOfScan(s[0]) + " " + s[1]
	}
	slices.Sort(lines)
	return strings.Join(lines, "\n")
}

// sideOfScan tells the side by the name's beginning, as the inbox does.
func sideOfScan(name string) string {
	for _, side := range []string{Left, Right} {
		if len(name) >= len(side) && strings.EqualFold(name[:len(side)], side) {
			return side
		}
	}
	return "?"
}

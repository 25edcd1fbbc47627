// Package shop keeps a shop's outbox a function of its inbox: it tells which deliveries are not up to date,
// has them made, and puts each into its place whole or not at all. There is no list of jobs to lose: what
// a delivery was made from stands in its result.json. Nothing in the inbox is ever written.
package shop

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

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
func Fingerprint(a inbox.Aircraft) Inputs {
	in := Inputs{Aircraft: a.Name, Strange: a.Strange}
	var common error
	in.Sheet, common = fingerprint(a.SheetPath)
	airfoil, err := fingerprint(a.AirfoilPath)
	in.Airfoil, common = airfoil, errors.Join(common, err)
	in.Left, in.Right = fingerprints(a.Left), fingerprints(a.Right)
	in.Left.Err, in.Right.Err = errors.Join(common, in.Left.Err), errors.Join(common, in.Right.Err)
	return in
}

func fingerprint(path string) (File, error) {
	if path == "" {
		return File{}, nil
	}
	source, err := inbox.Stable(path)
	return File{path, source}, err
}

func fingerprints(paths []string) (s Scans) {
	for _, p := range paths {
		f, err := fingerprint(p)
		s.Files = append(s.Files, f)
		s.Err = errors.Join(s.Err, err)
	}
	return s
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

// short returns ten digits that tell one origin from another, for a folder's name.
func (o origin) short() string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %q %q %q", o.version, o.sheet, o.airfoil, o.scans))
	return hex.EncodeToString(sum[:5])
}

package main

import (
	"errors"
	"fmt"
	"path/filepath"

	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/sheet"
)

// distinct divides files by whether one before has the same contents, by the SHA-256. A copy of a scan tells
// nothing new, so that to average it with the first as a repeat would make every uncertainty too small.
func distinct(files []shop.File) (first, copies []shop.File) {
	seen := map[string]bool{}
	for _, f := range files {
		sum := f.Source.SHA256
		if sum != "" && seen[sum] {
			copies = append(copies, f)
			continue
		}
		seen[sum] = true
		first = append(first, f)
	}
	return first, copies
}

// copiesLeftOut tells of each scan that has the same contents as one before.
func copiesLeftOut(files []scan.Source) (notes []scan.Message) {
	first := map[string]string{}
	for _, f := range files {
		of, copied := first[f.SHA256]
		switch {
		case f.SHA256 == "" || !copied:
			first[f.SHA256] = f.File
		case of == f.File:
			notes = append(notes, scan.Notef("copy-left-out", "%s was given twice and was measured once: only a scan made anew counts as a repeat.", f.File))
		default:
			notes = append(notes, scan.Notef("copy-left-out", "%s holds the same bytes as %s and was left out: a copy tells nothing new, and only a scan made anew counts as a repeat.", f.File, of))
		}
	}
	return notes
}

// ofFile has a refusal name the file that it is about, where a side has several scans.
func ofFile(err error, f shop.File, scans int) error {
	why, ok := errors.AsType[*scan.RefusalError](err)
	if !ok || scans < 2 {
		return err
	}
	named := *why
	named.Text = fmt.Sprintf("%s: %s", filepath.Base(f.Path), why.Text)
	return &named
}

// otherTip refuses a side whose wing sheet says that the scan is of the other tip: one of the two is wrong, and
// which cannot be told from here.
func otherTip(s *sheet.Sheet, job shop.Job) error {
	if s.Tip == "" || s.Tip == job.Side || len(job.Scans) == 0 {
		return nil
	}
	return scan.Refusef("other-tip",
		fmt.Sprintf("Rename the scan so that its name begins with %s if that is the wing to be measured; otherwise correct tip under [scan] in the wing sheet, or take it out: the name alone says which wing it is.", s.Tip),
		"The name of %s says %s wing, but the wing sheet says tip = %q.", job.Scans[0].Source.File, job.Side, s.Tip)
}

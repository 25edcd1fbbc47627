package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/inbox"
)

// TestReadKnownScan reads a scan that is known, and one that is not what it was when it became known: then it tells what it
// holds by now, wherever the change may lie.
func TestReadKnownScan(t *testing.T) {
	dir := t.TempDir()
	path, other := filepath.Join(dir, "left.ply"), filepath.Join(dir, "other.ply")
	var first, second bytes.Buffer
	for i, to := range []*bytes.Buffer{&first, &second} {
		if err := scan.WritePLY(to, &scan.Scan{Points: [][3]float32{{1, 2, 3}, {4, 5, float32(i)}}}); err != nil {
			t.Fatal(err)
		}
	}
	put := func(path string, data []byte) {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put(path, first.Bytes())
	put(other, second.Bytes())
	looked, err := shop.Look(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	known := looked
	if known.Seen, err = inbox.StampOf(path); err != nil {
		t.Fatal(err)
	}
	known.Source.SHA256 = "as it was told"
	sum := func(f shop.File) string {
		s, err := read(f, shop.DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		return s.Source.SHA256
	}
	if got := sum(known); got != known.Source.SHA256 {
		t.Errorf("known, and yet summed up: %s", got)
	}
	elsewhere := known
	elsewhere.Path = other
	if got := sum(elsewhere); got == known.Source.SHA256 || got == looked.Source.SHA256 {
		t.Errorf("another file of the same size counts as known: %s", got)
	}
	if got := sum(looked); got != looked.Source.SHA256 {
		t.Errorf("just written: %s", got)
	}
	put(path, append(first.Bytes(), '\n'))
	if got := sum(known); got == known.Source.SHA256 || got == looked.Source.SHA256 {
		t.Errorf("written to, and yet known: %s", got)
	}
}

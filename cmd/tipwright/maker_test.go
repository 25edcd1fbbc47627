package main

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"tipwright/outbox/shop"
	"tipwright/scan/inbox"
)

// TestMeasureSame measures a scan that is taken for known and yet was touched: what holds the same is measured, under
// what it holds, and what does not is given up.
func TestMeasureSame(t *testing.T) {
	data, err := scans["left"]()
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "left.ply")
	put := func(data []byte) {
		if err := os.WriteFile(path, data, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	put(data)
	file, err := shop.Look(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	if moved(file) {
		t.Error("a file that nothing is told of counts as moved")
	}
	told := file.Source
	file.Seen = shop.Stamp{Size: told.Bytes, Modified: 1}
	job := shop.Job{Aircraft: "wren", Side: shop.Left, Scans: []shop.File{file}, Limits: shop.DefaultLimits}
	made, err := measureSame(t.Context(), job)
	if err != nil || made.Scans[0].Source != told {
		t.Errorf("touched: %v, %+v", err, made.Scans)
	}
	changed := slices.Clone(data)
	changed[len(changed)-1]++ // of a coordinate, which is larger then
	put(changed)
	if _, err := measureSame(t.Context(), job); !errors.Is(err, inbox.ErrUnsettled) {
		t.Errorf("changed: %v", err)
	}
	put([]byte("no scan any more"))
	if _, err := measureSame(t.Context(), job); !errors.Is(err, inbox.ErrUnsettled) {
		t.Errorf("replaced: %v", err)
	}
}

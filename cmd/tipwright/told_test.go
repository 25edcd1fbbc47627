package main

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/sheet"
)

// A run that was stopped has not done what it was asked for; a service that was stopped has.
func TestStopped(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	stop()
	dir := t.TempDir()
	scanned := filepath.Join(dir, "inbox", "wren", "left.ply")
	if err := os.MkdirAll(filepath.Dir(scanned), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(scanned, []byte("no scan"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		want int
	}{
		{[]string{"once", dir}, refused},
		{[]string{"run", "--out", filepath.Join(dir, "out"), scanned}, refused},
		{[]string{"watch", dir}, delivered},
	} {
		var stdout, stderr bytes.Buffer
		got := program{ctx: ctx, stdin: strings.NewReader(""), stdout: &stdout, stderr: &stderr}.run(c.args)
		if got != c.want || strings.Contains(stderr.String(), "stopped before all was done") != (c.want == refused) {
			t.Errorf("%v: status %d, want %d; %s", c.args, got, c.want, stderr.String())
		}
	}
}

func TestDistinct(t *testing.T) {
	file := func(name, sum string) shop.File {
		return shop.File{Path: name, Source: scan.Source{File: name, SHA256: sum}}
	}
	a, b, c, long1, long2 := file("left.ply", "1"), file("left-2.ply", "1"), file("left-3.ply", "2"), file("left-4.ply", ""), file("left-5.ply", "")
	first, copies := distinct([]shop.File{a, b, c, long1, long2})
	// What was too large to be read has no SHA-256, so nothing says that it is a copy.
	if !slices.Equal(first, []shop.File{a, c, long1, long2}) || !slices.Equal(copies, []shop.File{b}) {
		t.Errorf("first %v, copies %v", first, copies)
	}
	notes := copiesLeftOut([]scan.Source{a.Source, b.Source, c.Source, long1.Source, long2.Source})
	if len(notes) != 1 || notes[0].Level != scan.Note || !strings.HasPrefix(notes[0].Text, "left-2.ply holds the same bytes as left.ply") {
		t.Errorf("told %v", notes)
	}
}

func TestOfFile(t *testing.T) {
	why := scan.Refusef("wrong-side", "Rename the file.", "It is a left wing.")
	f := shop.File{Path: filepath.Join("x", "right-2.ply")}
	if got := ofFile(why, f, 2).Error(); got != "right-2.ply: It is a left wing. Rename the file." {
		t.Errorf("of two: %s", got)
	}
	if got := ofFile(why, f, 1); got != error(why) {
		t.Errorf("of one: %v", got)
	}
	if got := ofFile(context.Canceled, f, 2); !errors.Is(got, context.Canceled) {
		t.Errorf("no refusal: %v", got)
	}
}

// A sheet that is none at all does not fill the page, the log and the terminal.
func TestSheetRefusal(t *testing.T) {
	for mistakes, want := range map[int]int{0: 0, 1: 1, mostMistakes: mostMistakes, mostMistakes + 1: mostMistakes + 1, 100_000: mostMistakes + 1} {
		wrong := make(sheet.Errors, mistakes)
		for i := range wrong {
			wrong[i] = &scan.FormatError{File: "wing.toml", Line: i + 1, Msg: "no such key"}
		}
		got := sheetRefusal(wrong)
		if len(got) != want {
			t.Errorf("%d mistakes: %d messages", mistakes, len(got))
		}
	}
}

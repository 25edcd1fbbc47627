package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/simulate"
)

// status runs a command that must end with the exit status: status 1 tipwright check wing.toml. What it
// wrote can be looked at with stdout and stderr.
func status(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N COMMAND...")
	}
	got, err := 0, ts.Exec(args[1], args[2:]...)
	if exit := new(exec.ExitError); errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if strconv.Itoa(got) != args[0] {
		ts.Fatalf("exit status %d, want %s", got, args[0])
	}
}

// What is scanned of each wing: little, so that the scripts are quick, and enough for every figure if there is
// a wing sheet. The spots reach 260 mm inboard.
const (
	scanPoints = 30_000
	scanSpan   = 450 // mm
	longSpan   = 700 // mm
)

// scans holds the Marsh Wren's wings as PLY clouds; they are made once for all scripts.
var scans = map[string]func() ([]byte, error){
	"left":      sync.OnceValues(func() ([]byte, error) { return simulated(section.Left, scanSpan) }),
	"left-long": sync.OnceValues(func() ([]byte, error) { return simulated(section.Left, longSpan) }),
	"right":     sync.OnceValues(func() ([]byte, error) { return simulated(section.Right, scanSpan) }),
}

func simulated(side section.Side, span float64) ([]byte, error) {
	wing, scanner := simulate.MarshWren(side)
	wing.Span, scanner.Points = span, scanPoints
	s, _, err := simulate.Scan(wing, scanner)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	err = scan.WritePLY(&b, s)
	return b.Bytes(), err
}

// writeScan writes a scan of one of the Marsh Wren's wings: scan left inbox/wren/left.ply. The folders are
// made, and the file appears whole: how long a copy takes must not decide what a watched shop sees.
func writeScan(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 || scans[args[0]] == nil {
		ts.Fatalf("usage: scan left|left-long|right FILE")
	}
	data, err := scans[args[0]]()
	ts.Check(err)
	path := ts.MkAbs(args[1])
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
	part := ts.MkAbs("scan.part")
	ts.Check(os.WriteFile(part, data, 0o666))
	ts.Check(os.Rename(part, path))
}

// field compares one value of a JSON file with what it must be, or with the range it must lie in:
// field left/result.json section.chord_mm.value 1218 1220. Items of a list go by number; a path that ends
// in len is the list's length. With ! the field must not be there.
func field(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) < 2 || neg && len(args) != 2 || !neg && len(args) != 3 && len(args) != 4 {
		ts.Fatalf("usage: field FILE PATH VALUE, field FILE PATH LOW HIGH, ! field FILE PATH")
	}
	decoder := json.NewDecoder(strings.NewReader(ts.ReadFile(args[0])))
	decoder.UseNumber()
	var v any
	ts.Check(decoder.Decode(&v))
	v, there := walk(v, strings.Split(args[1], "."))
	if there == neg {
		ts.Fatalf("%s: %s is there: %t (%v)", args[0], args[1], there, v)
	}
	got := fmt.Sprint(v)
	switch len(args) {
	case 3:
		if got != args[2] {
			ts.Fatalf("%s: %s is %s, want %s", args[0], args[1], got, args[2])
		}
	case 4:
		if n := number(ts, got); !(n >= number(ts, args[2]) && n <= number(ts, args[3])) {
			ts.Fatalf("%s: %s is %s, want %s to %s", args[0], args[1], got, args[2], args[3])
		}
	}
}

func number(ts *testscript.TestScript, s string) float64 {
	n, err := strconv.ParseFloat(s, 64)
	ts.Check(err)
	return n
}

// near compares a table on standard output with the rows of a file: near 0.03 printed. For each row of the
// file one row must begin with the same number and have every other number within the tolerance.
func near(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: near TOLERANCE FILE")
	}
	got := map[float64][]float64{}
	for _, row := range rows(ts.ReadFile("stdout")) {
		got[row[0]] = row
	}
	for _, want := range rows(ts.ReadFile(args[1])) {
		have := got[want[0]]
		if len(have) != len(want) {
			ts.Fatalf("at %g: %v, want %v", want[0], have, want)
		}
		for i := range want {
			if !(math.Abs(have[i]-want[i]) <= number(ts, args[0])) {
				ts.Fatalf("at %g: %v, want %v within %s", want[0], have, want, args[0])
			}
		}
	}
}

// rows returns the lines of a text that hold nothing but numbers.
func rows(text string) [][]float64 {
	var out [][]float64
	for line := range strings.Lines(text) {
		var row []float64
		for _, word := range strings.Fields(line) {
			v, err := strconv.ParseFloat(word, 64)
			if err != nil {
				row = nil
				break
			}
			row = append(row, v)
		}
		if len(row) > 0 {
			out = append(out, row)
		}
	}
	return out
}

// walk follows a path into a JSON value.
func walk(v any, path []string) (any, bool) {
	for _, name := range path {
		switch in := v.(type) {
		case map[string]any:
			next, there := in[name]
			if !there {
				return nil, false
			}
			v = next
		case []any:
			i, err := strconv.Atoi(name)
			switch {
			case name == "len":
				v = len(in)
			case err != nil || i < 0 || i >= len(in):
				return nil, false
			default:
				v = in[i]
			}
		default:
			return nil, false
		}
	}
	return v, true
}

// same compares two folders, or two files, byte for byte, names and all.
func same(ts *testscript.TestScript, neg bool, args []string) {
	if len(args) != 2 {
		ts.Fatalf("usage: [!] same FOLDER FOLDER")
	}
	a, b := tree(ts, args[0]), tree(ts, args[1])
	var differ []string
	for name := range a {
		if other, there := b[name]; !there || other != a[name] {
			differ = append(differ, name)
		}
	}
	for name := range b {
		if _, there := a[name]; !there {
			differ = append(differ, name)
		}
	}
	slices.Sort(differ)
	if (len(differ) == 0) == neg {
		ts.Fatalf("%s and %s differ in %d of %d files: %q", args[0], args[1], len(differ), len(a), differ)
	}
}

// kept looks for a folder's whole contents in one of another's: kept before outbox/wren/earlier.
func kept(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: kept FOLDER EARLIER")
	}
	want := tree(ts, args[0])
	entries, err := os.ReadDir(ts.MkAbs(args[1]))
	ts.Check(err)
	for _, e := range entries {
		if maps.Equal(want, tree(ts, filepath.Join(args[1], e.Name()))) {
			return
		}
	}
	ts.Fatalf("what %s holds is in none of the %d folders of %s", args[0], len(entries), args[1])
}

// tree reads everything in a folder; a folder within has a name that ends in / and no contents. Of a shop's
// lock only the name counts: it holds the number of the process that was the last to take it.
func tree(ts *testscript.TestScript, dir string) map[string]string {
	root := ts.MkAbs(dir)
	files := map[string]string{}
	ts.Check(filepath.WalkDir(root, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := filepath.ToSlash(strings.TrimPrefix(path, root))
		if e.IsDir() {
			files[name+"/"] = ""
			return nil
		}
		data, err := os.ReadFile(path)
		if e.Name() == ".lock" {
			data = nil
		}
		files[name] = string(data)
		return err
	}))
	return files
}

// listing compares the names in a folder, sorted, with what they must be: listing inbox left.ply wing.toml.
func listing(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: listing FOLDER NAME...")
	}
	entries, err := os.ReadDir(ts.MkAbs(args[0]))
	ts.Check(err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if !slices.Equal(names, args[1:]) {
		ts.Fatalf("%s holds %q, want %q", args[0], names, args[1:])
	}
}

// tidy looks in a folder for what is half done: no name in it may begin with a dot, but for the shop's lock.
func tidy(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: tidy FOLDER")
	}
	for name := range tree(ts, args[0]) {
		if strings.Contains(name, "/.") && name != "/.lock" && name != "/outbox/.lock" {
			ts.Fatalf("%s was left in %s", name, args[0])
		}
	}
}

// copydir keeps a copy of a folder, to be compared with it later.
func copydir(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: copydir FROM TO")
	}
	ts.Check(os.CopyFS(ts.MkAbs(args[1]), os.DirFS(ts.MkAbs(args[0]))))
}

// mostWait bounds a wait on a program in the background; it is only ever used up by a fault.
const mostWait = 5 * time.Minute

// await waits until a file is there.
func await(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: await FILE")
	}
	path := ts.MkAbs(args[0])
	look := time.NewTicker(10 * time.Millisecond)
	defer look.Stop()
	limit := time.After(mostWait)
	for {
		if _, err := os.Stat(path); err == nil {
			return
		}
		select {
		case <-look.C:
		case <-limit:
			ts.Fatalf("%s is not there after %v", args[0], mostWait)
		}
	}
}

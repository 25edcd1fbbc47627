//go:build unix

package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

var (
	speed    = flag.Bool("speed", false, "time everything and write SPEED.md: some fifteen minutes, 2 GB of memory and of disk")
	speedDir = flag.String("speeddir", "", "folder that keeps the scans for -speed")
	speedMax = flag.Int("speedmax", 10_000_000, "leave larger scans out of -speed")
)

// timed is what one scan came to.
type timed struct {
	speedScan
	Bytes  int64
	Cat    spent // cat FILE >/dev/null
	Raw    spent // reading the bytes into memory
	Sum    spent // summing them up there
	Numpy  spent // numpy's load into a list of numbers, zero if there is none
	Alone  spent // of that, numpy's fromfile alone
	Read   steps // the reading alone
	Steps  steps // all steps
	Run    spent // tipwright run, as a process
	Peak   int64 // of that process and its workers, bytes
	Cut    other // VTK: read and cut; zero where not tried
	Script other // script.py; zero where not tried
}

// moreScans are timed beside those of the benchmark.
var moreScans = []speedScan{
	{Name: "2M", Ending: ".ply", Mesh: true, Count: 2_000_000},
	{Name: "2M-shuffled", Ending: ".stl", Mesh: true, Count: 2_000_000, Shuffled: true},
	{Name: "4M-shuffled", Ending: ".ply", Count: 4_000_000, Shuffled: true},
}

// binaryScans are timed from the bytes to the delivery, the smaller ones first.
func binaryScans() []speedScan {
	first := slices.Clone(benchScans)
	slices.SortStableFunc(first, func(a, b speedScan) int { return cmp.Compare(a.Count, b.Count) })
	return slices.DeleteFunc(append(first, moreScans...), func(c speedScan) bool { return c.Count > *speedMax })
}

// textScans are only read, on one processor.
var textScans = []speedScan{
	{Name: "text", Ending: ".stl", Mesh: true, Count: 300_000},
	{Name: "text", Ending: ".ply", Mesh: true, Count: 1_000_000},
	{Name: "text", Ending: ".obj", Mesh: true, Count: 1_000_000},
	{Name: "text", Ending: ".xyz", Count: 1_000_000},
	{Name: "text", Ending: ".csv", Count: 1_000_000},
}

// TestSpeed times everything in one run and writes SPEED.md.
func TestSpeed(t *testing.T) {
	if !*speed {
		t.Skip("takes many minutes; -speed writes SPEED.md")
	}
	dir := *speedDir
	if dir == "" {
		dir = t.TempDir()
	}
	writeSpeedSheet(t, dir)
	lab := bench{t, dir, filepath.Join(t.TempDir(), "tipwright")}
	lab.do(exec.Command("go", "build", "-o", lab.program, "."))
	var r speedReport
	for range 5 {
		took, _, _ := lab.do(exec.Command(lab.program, "version"))
		r.Start = append(r.Start, took)
	}
	r.Once = lab.once()
	for _, c := range textScans {
		r.Text = append(r.Text, lab.text(c))
	}
	for _, c := range binaryScans() {
		r.Binary = append(r.Binary, lab.binary(c))
		lab.write(&r)
	}
}

// write keeps what is known so far, so that a run that is broken off leaves something.
func (b bench) write(r *speedReport) {
	b.Helper()
	f, err := os.Create("SPEED.md")
	if err != nil {
		b.Fatal(err)
	}
	if err := r.write(f); err != nil {
		b.Fatal(err)
	}
	if err := f.Close(); err != nil {
		b.Fatal(err)
	}
}

// bench runs what is timed, one at a time.
type bench struct {
	*testing.T
	dir     string // of the scans
	program string
}

// do runs a command and returns what it took, the most memory that it or one of its own had, and what it wrote.
func (b bench) do(cmd *exec.Cmd) (took spent, peak int64, out []byte) {
	b.Helper()
	var said bytes.Buffer
	cmd.Stderr = &said
	begin := time.Now()
	out, err := cmd.Output()
	if err != nil {
		b.Fatalf("%v: %v\n%s%s", cmd, err, out, said.Bytes())
	}
	took = spent{(cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), time.Since(begin).Seconds()}
	return took, cmd.ProcessState.SysUsage().(*syscall.Rusage).Maxrss << 10, out
}

// steps runs the steps on a file in a process of their own.
func (b bench) steps(path, upTo string, env ...string) (s steps) {
	b.Helper()
	cmd := exec.Command(os.Args[0], "-test.run", "^TestSpeedChild$", "-speedfile", path, "-speedupto", upTo)
	cmd.Env = append(os.Environ(), env...)
	_, _, out := b.do(cmd)
	line, _, _ := bytes.Cut(out, []byte("\n"))
	if err := json.Unmarshal(line, &s); err != nil {
		b.Fatalf("%s: %v", out, err)
	}
	return s
}

func (b bench) file(c speedScan) (path string, r timed) {
	b.Helper()
	path = filepath.Join(b.dir, c.file())
	// A process of its own makes the scan: what a process is started from counts in its peak of memory on Linux.
	b.do(exec.Command(os.Args[0], "-test.run", "^TestSpeedChild$", "-speedfile", path, "-speedupto", "write"))
	info, err := os.Stat(path)
	if err != nil {
		b.Fatal(err)
	}
	b.Log(info.Name(), info.Size())
	return path, timed{speedScan: c, Bytes: info.Size()}
}

// binary times all of one scan.
func (b bench) binary(c speedScan) timed {
	path, r := b.file(c)
	for i := range 5 { // the first may find the file on the disk only
		took, _, _ := b.do(exec.Command("sh", "-c", `exec cat "$0" >/dev/null`, path))
		if i == 0 {
			r.Cat = took
		}
		r.Cat = r.Cat.least(took)
	}
	raw := b.steps(path, "bytes").Took
	r.Raw, r.Sum = raw["bytes"], raw["sum"]
	r.Read = b.steps(path, "read")
	r.Steps = b.steps(path, "fit")
	if !c.Mesh || c.Ending == ".stl" { // the rows of a PLY mesh are not all of one kind
		r.Alone, r.Numpy = b.numpy(path, r.Read)
	}
	out := filepath.Join(b.TempDir(), "out")
	r.Run, r.Peak, _ = b.do(exec.Command(b.program, "run", "--out", out, path))
	if c.Ending == ".stl" && c.Count == 2_000_000 {
		r.Cut = b.against("cut.py", path, &r.Steps)
	}
	if c.Name == "2M" && c.Ending == ".stl" || c.Name == "1M" || c.Name == "4M" {
		r.Script = b.against("script.py", path, &r.Steps)
	}
	return r
}

// other is what a script took, with the start of Python and its libraries and without it.
type other struct{ Whole, Own spent }

// against times a script and the steps in turn and keeps the quickest of each, so that both meet the machine in the
// same state.
func (b bench) against(name, path string, own *steps) (o other) {
	b.Helper()
	for i := range 3 {
		whole, _, out := b.do(script(name, path))
		b.Log(name, strings.TrimSpace(string(out)))
		var self spent
		_, said, _ := strings.Cut(string(out), "\nspent ")
		if _, err := fmt.Sscan(said, &self.Processor, &self.Clock); err != nil {
			b.Fatalf("%s: %v\n%s", name, err, out)
		}
		if i == 0 {
			o = other{whole, self}
		}
		o = other{o.Whole.least(whole), o.Own.least(self)}
		if again := b.steps(path, "fit"); again.measuring().Processor < own.measuring().Processor {
			*own = again
		}
	}
	return o
}

// text times the reading of one scan on one processor.
func (b bench) text(c speedScan) timed {
	path, r := b.file(c)
	r.Raw = b.steps(path, "bytes").Took["bytes"]
	r.Read = b.steps(path, "read", "GOMAXPROCS=1")
	if c.Ending == ".xyz" || c.Ending == ".csv" {
		_, r.Numpy = b.numpy(path, r.Read)
	}
	return r
}

// numpy has numpy load what can be loaded at once, the triangles or the points: as it stands, and as a list of numbers.
func (b bench) numpy(path string, s steps) (alone, list spent) {
	b.Helper()
	rows, before := s.Points, 0
	switch filepath.Ext(path) {
	case ".stl":
		rows, before = s.Triangles, 84
	case ".ply":
		head := make([]byte, 4096)
		f, err := os.Open(path)
		if err != nil {
			b.Fatal(err)
		}
		defer f.Close()
		n, _ := f.Read(head)
		before = bytes.Index(head[:n], []byte("end_header\n")) + len("end_header\n")
	}
	for i := range 5 {
		_, _, out := b.do(script("load.py", path, fmt.Sprint(rows), fmt.Sprint(before)))
		var a, l spent
		if _, err := fmt.Sscan(string(out), &a.Processor, &a.Clock, &l.Processor, &l.Clock); err != nil {
			b.Fatal(err)
		}
		if i == 0 {
			alone, list = a, l
		}
		alone, list = alone.least(a), list.least(l)
	}
	return alone, list
}

func script(name string, args ...string) *exec.Cmd {
	return exec.Command("/usr/bin/python3", append([]string{filepath.Join("testdata", "speed", name)}, args...)...)
}

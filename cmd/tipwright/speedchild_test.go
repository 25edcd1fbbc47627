//go:build unix

package main

import (
	"crypto/sha256"
	"encoding/json"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"tipwright/fit"
	"tipwright/outbox"
	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/section"
)

var (
	speedFile = flag.String("speedfile", "", "scan whose steps are timed; for -speed alone")
	speedUpTo = flag.String("speedupto", "fit", "last step: bytes, read or fit; for -speed alone")
)

// spent is what a step took, seconds.
type spent struct{ Processor, Clock float64 }

// least takes the lesser of each.
func (s spent) least(t spent) spent {
	return spent{min(s.Processor, t.Processor), min(s.Clock, t.Clock)}
}

// spentBy times a step, the least of so many times by the processors and by the clock. Each begins with no memory at
// hand, as a program does that has just started; forget lets go of what the last left.
func spentBy(times int, forget func(), step func() error) (best spent, err error) {
	best = spent{math.Inf(1), math.Inf(1)}
	for range times {
		forget()
		debug.FreeOSMemory()
		cpu, clock := processorTime(), time.Now()
		if err := step(); err != nil {
			return best, err
		}
		best = best.least(spent{processorTime() - cpu, time.Since(clock).Seconds()})
	}
	return best, nil
}

// processorTime returns what this process has taken of all processors, seconds.
func processorTime() float64 {
	var u syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &u)
	return time.Duration(u.Utime.Nano() + u.Stime.Nano()).Seconds()
}

// peakMemory returns the most memory that this process has had, bytes; 0 where the system does not tell.
func peakMemory() int64 {
	status, _ := os.ReadFile("/proc/self/status")
	for line := range strings.Lines(string(status)) {
		if rest, ok := strings.CutPrefix(line, "VmHWM:"); ok {
			kb, _ := strconv.ParseInt(strings.Fields(rest)[0], 10, 64)
			return kb << 10
		}
	}
	return 0
}

// steps is what the steps on one file came to.
type steps struct {
	Points, Triangles int
	Took              map[string]spent
	Peak              int64 // bytes, from the start to the last step; the program's own is told by the whole job
}

// TestSpeedChild does the steps in a process of their own, so that each has its own peak of memory.
func TestSpeedChild(t *testing.T) {
	if *speedFile == "" {
		t.Skip("for -speed alone")
	}
	if *speedUpTo == "write" {
		if err := writeNamed(*speedFile); err != nil {
			t.Fatal(err)
		}
		return
	}
	s, err := timeSteps(*speedFile, *speedUpTo)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.NewEncoder(os.Stdout).Encode(s); err != nil {
		t.Fatal(err)
	}
}

// writeNamed writes the scan that is called as the file, unless it is there.
func writeNamed(path string) error {
	for _, c := range slices.Concat(benchScans, moreScans, textScans) {
		if c.file() == filepath.Base(path) {
			_, err := c.write(filepath.Dir(path))
			return err
		}
	}
	return fmt.Errorf("no scan is called %s", path)
}

func timeSteps(path, upTo string) (s steps, err error) {
	s.Took = map[string]spent{}
	if upTo == "bytes" {
		if s.Took["bytes"], err = spentBy(5, func() {}, func() error { return readBytes(path) }); err != nil {
			return s, err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return s, err
		}
		s.Took["sum"], err = spentBy(5, func() {}, func() error {
			sha256.Sum256(data)
			return nil
		})
		return s, err
	}
	var read *scan.Scan
	times := 5
	if upTo != "read" {
		times = 1
	}
	info, err := os.Stat(path)
	if err != nil {
		return s, err
	}
	known := scan.Source{File: filepath.Base(path), SHA256: strings.Repeat("0", 64), Bytes: info.Size()}
	if s.Took["read"], err = spentBy(times, func() { read = nil }, func() (err error) {
		// A run has summed it up before.
		read, err = scan.ReadKnown(path, known, func(*os.File) bool { return true }, scan.DefaultLimits)
		return err
	}); err != nil {
		return s, err
	}
	s.Points, s.Triangles = len(read.Points), len(read.Triangles)
	if upTo == "fit" {
		if err := s.measure(read, filepath.Dir(path)); err != nil {
			return s, err
		}
	}
	s.Peak = peakMemory()
	return s, nil
}

// measure times the steps after the reading, as the program leads through them.
func (s *steps) measure(read *scan.Scan, dir string) error {
	sh, nominal, err := readSheet(filepath.Join(dir, "wing.toml"))
	if err != nil {
		return err
	}
	info := outbox.Describe(read)
	if s.Took["measure"], err = spentBy(1, func() {}, func() (err error) {
		info.Survey, err = section.Measure(read, sectionOptions(sh, nominal, shop.Left))
		return err
	}); err != nil {
		return err
	}
	d := outbox.Delivery{Identity: outbox.Identity{Aircraft: "marsh-wren", Side: shop.Left}, Sheet: sh, Scans: []outbox.ScanInfo{info}}
	if s.Took["fit"], err = spentBy(1, func() {}, func() (err error) {
		d.Result, err = fit.Fit(section.Merge([]*section.Survey{info.Survey}), fitOptions(sh))
		return err
	}); err != nil {
		return err
	}
	out, err := os.MkdirTemp("", "tipwright-speed-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(out)
	s.Took["delivery"], err = spentBy(1, func() {}, func() error { return outbox.Deliver(out, d) })
	return err
}

// readBytes reads a file into memory, as a reader that does nothing would have to.
func readBytes(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return err
	}
	_, err = io.ReadFull(f, make([]byte, info.Size()))
	return err
}

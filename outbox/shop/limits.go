package shop

import (
	"errors"
	"fmt"
	"strconv"
	"time"

	"tipwright/scan"
)

// Limits bound what one scan may cost, so that a damaged, hostile or merely huge one costs nobody else theirs.
type Limits struct {
	File   int64         // bytes of one file of the inbox
	Points int           // points of a cloud or corners of a mesh
	Memory int64         // bytes that making one delivery may take
	Time   time.Duration // that making one delivery may take
}

// DefaultLimits suits a machine with 4 GB of memory and two processors. It is never changed.
var DefaultLimits = Limits{File: 1 << 30, Points: 20_000_000, Memory: 1500 << 20, Time: 10 * time.Minute}

// filled puts the defaults in for what is not given.
func (l Limits) filled() Limits {
	if l.File <= 0 {
		l.File = DefaultLimits.File
	}
	if l.Points <= 0 {
		l.Points = DefaultLimits.Points
	}
	if l.Memory <= 0 {
		l.Memory = DefaultLimits.Memory
	}
	if l.Time <= 0 {
		l.Time = DefaultLimits.Time
	}
	return l
}

// need guesses the memory that a job on so many bytes of scans takes. Text takes less a byte than this.
func (l Limits) need(bytes int64) int64 { return min(leastMemory+memoryPerByte*bytes, l.Memory) }

// The memory that a job takes at least, and on top of that for each byte of its scans. Measured with binary PLY clouds,
// whole: 83 MB for 0.2 million points in 2 MB, 132 MB for 4 million in 48 MB, 230 MB for 10 million in 120 MB. A packed
// file holds several times its own bytes, which is what the most of the second is for.
const (
	leastMemory   = 128 << 20
	memoryPerByte = 8
)

// The limits, as the settings file names them.
const (
	LimitFile   = "file"
	LimitPoints = "points"
	LimitMemory = "memory"
	LimitTime   = "time"
)

// LimitError is the error of a job that went over one of the limits.
type LimitError struct {
	Limit string // LimitFile, LimitPoints, LimitMemory or LimitTime
	Value string // that it went over, as the settings file has it
}

// Error says which limit it was and how to raise it. It depends on nothing but the limit, so that a refusal
// can be told to be of a limit that was since raised.
func (e *LimitError) Error() string {
	what := map[string]string{
		LimitFile:   "The file, or what is packed in it, is larger than the %s that are allowed for one file.",
		LimitPoints: "The scan has more than the %s points, or the four triangles for each, that are allowed for one scan.",
		LimitMemory: "Measuring it took more than the %s of memory that are allowed for one scan.",
		LimitTime:   "Measuring it took longer than the %s that are allowed for one scan.",
	}[e.Limit]
	return fmt.Sprintf(what, e.Value) + fmt.Sprintf(" Export the scan with fewer points, or cut away what is not wing; "+
		"200,000 points on the outboard metre of a wing are plenty. If the machine has room to spare, raise the limit: "+
		"write %s = %s under [limits] in the file %s of the shop.", e.Limit, e.higher(), SettingsName)
}

// higher returns an example of a higher limit, as the settings file has it.
func (e *LimitError) higher() string {
	if e.Limit == LimitPoints {
		if n, err := strconv.Atoi(e.Value); err == nil {
			return strconv.Itoa(2 * n)
		}
	}
	if d, err := time.ParseDuration(e.Value); err == nil {
		return strconv.Quote(durationText(2 * d))
	}
	if n, err := parseBytes(e.Value); err == nil {
		return strconv.Quote(bytesText(2 * n))
	}
	return strconv.Quote(e.Value)
}

// Over returns the error for having gone over a limit.
func (l Limits) Over(limit string) *LimitError {
	l = l.filled()
	return &LimitError{limit, map[string]string{
		LimitFile: bytesText(l.File), LimitPoints: strconv.Itoa(l.Points), LimitMemory: bytesText(l.Memory), LimitTime: durationText(l.Time),
	}[limit]}
}

// overFile returns the error for a job with too large a file, which is not even read, or nil.
func (j *Job) overFile() error {
	for _, f := range j.Scans {
		if f.Source.Bytes > j.Limits.File {
			return j.Limits.Over(LimitFile)
		}
	}
	return nil
}

// FaultError is the error of a job that met a fault in the program itself.
type FaultError struct {
	What  string // in a line
	Trace string // of the program's calls
}

func (e *FaultError) Error() string {
	return "a fault in the program itself, not in the scan: " + e.What
}

// limitCode begins the code of the refusal for a job that went over a limit.
const limitCode = "over-limit-"

// refusal returns what the builder is told of a job that is given up for good, nil if it is to be tried again.
func refusal(err error) *scan.Message {
	if over, ok := errors.AsType[*LimitError](err); ok {
		return &scan.Message{Code: limitCode + over.Limit, Level: scan.Refusal, Text: over.Error()}
	}
	if _, ok := errors.AsType[*FaultError](err); ok {
		return &scan.Message{Code: "program-fault", Level: scan.Refusal, Text: "The program met a fault of its own while it measured this scan. " +
			"The scan may be good. Send it to whoever looks after the program, with the log, which has the trace; " +
			"until then try another export or another scan."}
	}
	return nil
}

// raised tells whether a delivery is the refusal for going over a limit that has another value now.
func (l Limits) raised(r Record) bool {
	for _, m := range r.Messages {
		for _, limit := range []string{LimitFile, LimitPoints, LimitMemory, LimitTime} {
			if r.Verdict == refused && m.Code == limitCode+limit && m.Text != l.Over(limit).Error() {
				return true
			}
		}
	}
	return false
}

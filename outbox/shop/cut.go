package shop

import (
	"errors"
	"slices"
	"time"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// CutCode is the code of a refusal for a scan that ends too early: it may be half copied, by a program that
// pauses for longer than it should.
const CutCode = "file-cut"

// errCut is the error of a job whose scan is given time to become whole.
var errCut = errors.New("the scan ends too early, and may still be growing")

// cutScan is a scan that ended too early, to be given up at a time if it is still the same then.
type cutScan struct {
	of    origin
	until time.Time
}

// patiencePerQuiet is how much longer than any other scan one that ends too early must have been left alone.
const patiencePerQuiet = 10

// patient tells whether a job that begins now shall be given time if its scan ends too early.
func (r *run) patient(t *task) bool {
	c, known := r.cut[t.key]
	return r.patience > 0 && (!known || c.of != t.job.from() || time.Now().Before(c.until))
}

// growing tells whether a delivery refuses a scan that ends too early and was written to lately.
func (j *Job) growing(made Record, patience time.Duration) bool {
	early := patience > 0 && slices.ContainsFunc(made.Messages, func(m scan.Message) bool { return m.Code == CutCode })
	return early && slices.ContainsFunc(j.Scans, func(f File) bool {
		s, err := inbox.StampOf(f.Path)
		return err != nil || time.Since(s.Touched()) < patience
	})
}

// waitFor gives the scan of a job time.
func (r *run) waitFor(t *task) {
	if c, known := r.cut[t.key]; !known || c.of != t.job.from() {
		r.cut[t.key] = cutScan{t.job.from(), time.Now().Add(r.patience)}
	}
	time.AfterFunc(time.Until(r.cut[t.key].until), func() {
		select {
		case r.wake <- struct{}{}:
		default: // it will be looked at everything in any case
		}
	})
}

// waitedFor tells whether a job is to be left for another time.
func (r *run) waitedFor(k key, job Job) bool {
	c, known := r.cut[k]
	return known && c.of == job.from() && time.Now().Before(c.until)
}

// waited counts the scans that are being given time.
func (r *run) waited() (n int) {
	for _, c := range r.cut {
		if time.Now().Before(c.until) {
			n++
		}
	}
	return n
}

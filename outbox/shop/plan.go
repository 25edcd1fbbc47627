package shop

import (
	"errors"
	"fmt"
	"strings"
)

// Job is one delivery to make.
type Job struct {
	Aircraft string // the folder's name
	Side     string // Left, Right or Pair
	Sheet    File   // zero if there is none: the scan is served with the sheet's defaults
	Airfoil  File   // the coordinate file that the sheet names; zero if there is none
	Scans    []File // of the side; of a pair, left and then right
	Version  string // of the program, to be recorded
	Why      string // what is out of date, in words
	Retire   bool   // a pair that no longer fits its sides and cannot be made again: move it to earlier

	// Dir is the empty folder to write the delivery into, result.json among its files, which must record
	// the contents of Sheet, Airfoil and Scans as they are here. It is set when the job is run.
	Dir string
	// LeftDir and RightDir are the deliveries that a pair is made of. They are set when the job is run.
	LeftDir, RightDir string
	// Limits are those that the job is to keep within, every field filled in. They are set when the job is run.
	Limits Limits
	// Processors is how many are left for the job by those at work beside it; 0: all. It is set when the job is run.
	Processors int
}

// bytes counts what the job's scans hold; a pair has nothing to read.
func (j *Job) bytes() (n int64) {
	if j.Side != Pair {
		for _, f := range j.Scans {
			n += f.Source.Bytes
		}
	}
	return n
}

// LeftScans and RightScans divide a pair's scans by side.
func (j *Job) LeftScans() []File { return ofSide(j.Scans, Left) }

// RightScans returns the scans of the right side.
func (j *Job) RightScans() []File { return ofSide(j.Scans, Right) }

func ofSide(files []File, side string) []File {
	var out []File
	for _, f := range files {
		if sideOfScan(f.Source.File) == side {
			out = append(out, f)
		}
	}
	return out
}

// from returns what the job's delivery must record.
func (j *Job) from() origin {
	scans := make([][2]string, len(j.Scans))
	for i, f := range j.Scans {
		scans[i] = [2]string{f.Source.File, f.Source.SHA256}
	}
	return origin{j.Version, j.Sheet.Source.SHA256, j.Airfoil.Source.SHA256, ofScans(scans)}
}

// Plan lists what is to be made now so that the deliveries out are up to date with the inbox in, under
// the program's version and the limits of the options, of which nothing else counts: first the sides, then the pairs whose two sides are up to date and not
// refused. A pair whose sides are still to be made is not in it: plan again when they stand. It depends on
// nothing but its arguments.
//
// A delivery whose scans were taken away stays as it is; so does everything of an aircraft that is still
// being written to, or whose files cannot be read.
func Plan(in []Inputs, out []Record, o Options) []Job {
	stand := map[[2]string]Record{}
	for _, r := range out {
		stand[[2]string{r.Aircraft, r.Side}] = r
	}
	var sides, pairs []Job
	for i := range in {
		fresh := true
		for _, side := range []string{Left, Right} {
			job, usable := in[i].job(side, o.Version)
			record, there := stand[[2]string{in[i].Aircraft, side}]
			job.Why = o.outdated(job.from(), record, there)
			if usable && job.Why != "" {
				sides = append(sides, job)
			}
			fresh = fresh && usable && job.Why == "" && record.Verdict != refused
		}
		if fresh {
			job, _ := in[i].job(Pair, o.Version)
			record, there := stand[[2]string{job.Aircraft, Pair}]
			if job.Why = o.outdated(job.from(), record, there); job.Why != "" {
				pairs = append(pairs, job)
			}
		}
	}
	return append(append(sides, pairs...), retired(out, pairs)...)
}

// job makes the job for one delivery; usable is false if there is nothing to make it from, now.
func (in *Inputs) job(side, version string) (j Job, usable bool) {
	s := in.scans(side)
	j = Job{Aircraft: in.Aircraft, Side: side, Sheet: in.Sheet, Airfoil: in.Airfoil, Scans: s.Files, Version: version}
	return j, len(s.Files) > 0 && s.Err == nil && !in.Moving
}

// outdated says why a delivery is not up to date, empty if it is.
func (o Options) outdated(want origin, have Record, there bool) string {
	switch {
	case !there:
		return "new"
	case have.Err != nil:
		return "its record cannot be read"
	case o.Limits.raised(have):
		return "the limits have changed"
	}
	return differs(want, have.from)
}

// differs says in what two origins differ, empty if in nothing.
func differs(want, have origin) string {
	switch {
	case have.version != want.version:
		return fmt.Sprintf("made by version %s of the program", have.version)
	case have.scans != want.scans:
		return "the scans have changed"
	case have.sheet != want.sheet:
		return "the wing sheet has changed"
	case have.airfoil != want.airfoil:
		return "the airfoil's coordinates have changed"
	}
	return ""
}

// retired lists the pairs that stand beside sides they were not made from and are not made again. A pair
// that says "the tips match" of other deliveries than those beside it could be believed.
func retired(out []Record, made []Job) []Job {
	byAircraft := map[string]map[string]Record{}
	var order []string
	for _, r := range out {
		if byAircraft[r.Aircraft] == nil {
			byAircraft[r.Aircraft] = map[string]Record{}
			order = append(order, r.Aircraft)
		}
		byAircraft[r.Aircraft][r.Side] = r
	}
	remade := map[string]bool{}
	for _, j := range made {
		remade[j.Aircraft] = true
	}
	var jobs []Job
	for _, name := range order {
		pair, there := byAircraft[name][Pair]
		if there && !remade[name] && !fits(pair, byAircraft[name]) {
			jobs = append(jobs, Job{Aircraft: name, Side: Pair, Retire: true, Why: "it was made from other deliveries than those beside it"})
		}
	}
	return jobs
}

// fits tells whether a pair was made from the two sides that stand beside it.
func fits(pair Record, sides map[string]Record) bool {
	left, okL := sides[Left]
	right, okR := sides[Right]
	if !okL || !okR || errors.Join(pair.Err, left.Err, right.Err) != nil || left.Verdict == refused || right.Verdict == refused {
		return false
	}
	want := left.from
	want.scans = strings.Join([]string{left.from.scans, right.from.scans}, "\n")
	other := right.from
	other.scans = want.scans
	return pair.from == want && want == other
}

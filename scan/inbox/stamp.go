package inbox

import "time"

// Stamp is what the system tells of a file without reading it. The times are in nanoseconds.
type Stamp struct {
	Size, Modified int64
	Changed        int64  // by the system's own clock, which no program sets; 0 where there is none
	Number         uint64 // of the file on its disk; 0 where there is none
}

const (
	// coarseTime is the step of the time stamps of the coarsest file system in use, that of memory cards, with as
	// much again: a file that was written to within it may change without a trace.
	coarseTime = 4 * time.Second
	// mapTime is longer than a program may go on changing a file through a map of its memory without a trace: Linux notes
	// the time of the first change alone, until it has written that to the disk, half a minute later if nothing else is set.
	mapTime = time.Minute
)

// Touched returns when the file was last written to or put there, as far as the system tells.
func (s Stamp) Touched() time.Time {
	if s.Changed != 0 {
		return time.Unix(0, s.Changed)
	}
	return time.Unix(0, s.Modified)
}

// Settled tells whether any change of the file after a time will show in its stamp, if the file is written to as programs
// do that copy. A time stamp that lies ahead was set by a program, and tells nothing where the system has its own.
func (s Stamp) Settled(at time.Time) bool { return s.older(at.Add(-coarseTime), at) }

// Rested is Settled in whatever way the file is written to. It is false where the system has no time of its own.
func (s Stamp) Rested(at time.Time) bool { return s.Changed != 0 && s.older(at.Add(-mapTime), at) }

func (s Stamp) older(than, now time.Time) bool {
	if s == (Stamp{}) {
		return false
	}
	old := than.UnixNano()
	if s.Changed == 0 {
		return s.Modified < old
	}
	return s.Changed < old && (s.Modified < old || s.Modified > now.UnixNano())
}

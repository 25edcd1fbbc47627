package shop

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"maps"
	"path/filepath"
	"time"

	"tipwright/scan"
)

// memory is what is known of files by their stamps; one with another stamp is read again. A run leaves it to the
// next in the lock's file, so that a shop of hundreds of aircraft is looked through without reading all their
// scans and records. Nothing hangs on it: without it everything is read.
type memory struct {
	Version string           // of the program, which alone understands it
	Sources fingerprints     // of the inbox
	Records map[key]recorded // of the outbox
}

// source is a file of the inbox that was read to its end.
type source struct {
	Stamp  Stamp
	Source scan.Source
}

// recorded is a record of the outbox as it was read.
type recorded struct {
	Stamp                                 Stamp
	Name, Verdict                         string
	Messages                              []scan.Message
	Version, Sheet, Airfoil, Scans, Check string
}

// Stamp is what the system tells of a file without reading it. The times are in nanoseconds.
type Stamp struct {
	Size, Modified int64
	Changed        int64  // by the system's own clock, which no program sets; 0 where there is none
	Number         uint64 // of the file on its disk; 0 where there is none
}

// coarseTime is the step of the time stamps of the coarsest file system in use, that of memory cards, with as
// much again: a file that was written to within it may change without a trace.
const coarseTime = 4 * time.Second

// touched returns when the file was last written to or put there, as far as the system tells.
func (s Stamp) touched() time.Time {
	if s.Changed != 0 {
		return time.Unix(0, s.Changed)
	}
	return time.Unix(0, s.Modified)
}

// settled tells whether any change of the file after a time will show in its stamp. A time stamp that lies ahead
// was set by a program, and tells nothing where the system has its own.
func (s Stamp) settled(at time.Time) bool {
	old := at.Add(-coarseTime).UnixNano()
	if s.Changed == 0 {
		return s.Modified < old
	}
	return s.Changed < old && (s.Modified < old || s.Modified > at.UnixNano())
}

// remember notes a record that was read, if it has a stamp.
func (m *memory) remember(r Record) {
	if r.Err != nil || r.at == (Stamp{}) {
		return
	}
	m.Records[key{r.Aircraft, r.Side}] = recorded{r.at, r.Name, r.Verdict, r.Messages, r.from.version, r.from.sheet, r.from.airfoil, r.from.scans, r.sum}
}

// record is [ReadRecord] for one that may be known.
func (m *memory) record(outbox, aircraft, side string) Record {
	dir := filepath.Join(outbox, aircraft, side)
	old, there := m.Records[key{aircraft, side}]
	if !there {
		return ReadRecord(dir, aircraft, side)
	}
	if now, err := stampOf(filepath.Join(dir, ResultName)); err != nil || now != old.Stamp {
		return ReadRecord(dir, aircraft, side)
	}
	return Record{
		Aircraft: aircraft, Side: side, Name: old.Name, Verdict: old.Verdict, Messages: old.Messages, at: old.Stamp, sum: old.Check,
		from: origin{old.Version, old.Sheet, old.Airfoil, old.Scans},
	}
}

// decodeMemory reads what an earlier run of the same version left. What is damaged, as by a power cut while it
// was written, is not known.
func decodeMemory(data []byte, version string) (m memory) {
	if len(data) < sha256.Size {
		return memory{}
	}
	sum := sha256.Sum256(data[sha256.Size:])
	if !bytes.Equal(sum[:], data[:sha256.Size]) || gob.NewDecoder(bytes.NewReader(data[sha256.Size:])).Decode(&m) != nil || m.Version != version {
		return memory{}
	}
	return m
}

// same tells whether two memories hold the same. A stamp tells one record of a delivery from another.
func (m *memory) same(other *memory) bool {
	return m.Version == other.Version && maps.Equal(m.Sources, other.Sources) &&
		maps.EqualFunc(m.Records, other.Records, func(a, b recorded) bool { return a.Stamp == b.Stamp })
}

// encode writes a memory as decodeMemory reads it: the SHA-256 of what follows, and that.
func (m *memory) encode() ([]byte, error) {
	var b bytes.Buffer
	err := gob.NewEncoder(&b).Encode(m)
	sum := sha256.Sum256(b.Bytes())
	return append(sum[:], b.Bytes()...), err
}

// keep leaves what is known for the next run, if that is other than what lies there.
func (r *run) keep() {
	now := memory{r.Version, r.known.Sources, maps.Clone(r.known.Records)}
	if r.lock == nil || now.same(&r.kept) {
		return
	}
	data, err := now.encode()
	if err == nil {
		err = r.lock.leave(data)
	}
	if err != nil {
		r.log.Debug("keeping what is known for the next run", "error", err)
		return
	}
	r.kept = now
}

package shop

import (
	"bytes"
	"crypto/sha256"
	"encoding/gob"
	"maps"
	"path/filepath"

	"tipwright/scan"
	"tipwright/scan/inbox"
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
	Stamp  inbox.Stamp
	Source scan.Source
	Rested bool // see File.Seen
}

// recorded is a record of the outbox as it was read.
type recorded struct {
	Stamp                                 inbox.Stamp
	Name, Verdict                         string
	Messages                              []scan.Message
	Version, Sheet, Airfoil, Scans, Check string
}

// remember notes a record that was read, if it has a stamp.
func (m *memory) remember(r Record) {
	if r.Err != nil || r.at == (inbox.Stamp{}) {
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
	if now, err := inbox.StampOf(filepath.Join(dir, ResultName)); err != nil || now != old.Stamp {
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

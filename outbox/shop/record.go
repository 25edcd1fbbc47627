package shop

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/scan"
	"tipwright/scan/inbox"
)

// ResultName is the name of the record in every delivery.
const ResultName = "result.json"

// The verdict of a delivery that says only what is wrong.
const refused = "refused"

// mostRecord bounds a result.json, bytes: the largest hold a hundred outlines of two thousand points.
const mostRecord = 64 << 20

// Record is what a delivery in the outbox tells of itself in its result.json.
type Record struct {
	Aircraft string // the folder's name in the outbox
	Side     string // Left, Right or Pair
	Name     string // of the aircraft, as its wing sheet has it; empty if that does not say
	Verdict  string // "good", "caution" or "refused"
	Messages []scan.Message
	Err      error // why the record cannot be read; the delivery is not up to date then

	from origin
	at   inbox.Stamp // of the file; zero if unknown
	sum  string      // of the record's bytes, ten digits that tell one delivery of a side from another
}

// file is a file as result.json names it.
type file struct {
	File   string `json:"file"`
	SHA256 string `json:"sha256"`
}

// head is the part of result.json that the shop reads. "airfoil" is the coordinate file that the sheet
// names, absent for a section by formula.
type head struct {
	Program struct {
		Version string `json:"version"`
	} `json:"program"`
	Name     string    `json:"name"`
	Side     string    `json:"side"`
	Sheet    file      `json:"sheet"`
	Airfoil  file      `json:"airfoil"`
	Scans    []file    `json:"scans"`
	Verdict  string    `json:"verdict"`
	Messages []message `json:"messages"`
}

// message is a message as result.json has it.
type message struct {
	Code  string `json:"code"`
	Level string `json:"level"`
	Text  string `json:"text"`
}

// ReadRecord reads the record of the delivery in dir, which is or will be that of an aircraft's side. What
// is wrong with it is told in Err.
func ReadRecord(dir, aircraft, side string) Record {
	r := Record{Aircraft: aircraft, Side: side}
	path := filepath.Join(dir, ResultName)
	r.at, _ = inbox.StampOf(path)
	f, err := os.Open(path)
	if err != nil {
		r.Err = err
		return r
	}
	defer f.Close()
	if r.Err = r.parse(f); r.Err != nil {
		r.Err = fmt.Errorf("%s: %w", path, r.Err)
	}
	return r
}

func (r *Record) parse(from io.Reader) error {
	data, err := io.ReadAll(io.LimitReader(from, mostRecord))
	if err != nil {
		return err
	}
	var h head
	if err := json.Unmarshal(data, &h); err != nil {
		return err
	}
	if h.Side != r.Side {
		return fmt.Errorf("this is the delivery of side %q", h.Side)
	}
	if !slices.Contains([]string{"good", "caution", refused}, h.Verdict) {
		return fmt.Errorf("the verdict %q is not known", h.Verdict)
	}
	r.Name, r.Verdict = h.Name, h.Verdict
	for _, m := range h.Messages {
		r.Messages = append(r.Messages, scan.Message{Code: m.Code, Level: level(m.Level), Text: m.Text})
	}
	scans := make([][2]string, len(h.Scans))
	for i, s := range h.Scans {
		scans[i] = [2]string{s.File, s.SHA256}
	}
	sum := sha256.Sum256(data)
	r.sum = hex.EncodeToString(sum[:5])
	r.from = origin{h.Program.Version, h.Sheet.SHA256, h.Airfoil.SHA256, ofScans(scans)}
	return nil
}

// level reads a level's word; one that is not known weighs as the middle one.
func level(word string) scan.Level {
	for _, l := range []scan.Level{scan.Note, scan.Caution, scan.Refusal} {
		if l.String() == word {
			return l
		}
	}
	return scan.Caution
}

// ReadRecords reads the records of all deliveries in an outbox, by aircraft, then left, right, pair. An
// outbox that is not there yet holds none. A delivery whose record cannot be read is among them, with Err.
func ReadRecords(outbox string) ([]Record, error) { return new(memory).records(outbox) }

// records is [ReadRecords] for those that are not known.
func (m *memory) records(outbox string) ([]Record, error) {
	folders, err := os.ReadDir(outbox)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, fmt.Errorf("the outbox cannot be read: %w", err)
	}
	slices.SortFunc(folders, func(a, b fs.DirEntry) int { return inbox.Compare(a.Name(), b.Name()) })
	var out []Record
	for _, f := range folders {
		if !f.IsDir() || strings.HasPrefix(f.Name(), ".") {
			continue
		}
		for _, side := range []string{Left, Right, Pair} {
			if _, err := os.Lstat(filepath.Join(outbox, f.Name(), side)); err == nil {
				out = append(out, m.record(outbox, f.Name(), side))
			}
		}
	}
	return out, nil
}

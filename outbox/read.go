package outbox

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
)

// mostRecord bounds a result.json, bytes: a hundred outlines of two thousand points fit.
const mostRecord = 64 << 20

// ReadResult reads the result.json of a side's delivery. It returns an error that names the file if it
// cannot be read, is of a layout that this program does not know, or holds what cannot be.
func ReadResult(path string) (*Record, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r, err := readRecord(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return r, nil
}

func readRecord(from io.Reader) (*Record, error) {
	var r Record
	if err := json.NewDecoder(io.LimitReader(from, mostRecord)).Decode(&r); err != nil {
		return nil, fmt.Errorf("this is no result of a delivery: %w", err)
	}
	switch {
	case r.Schema != Schema:
		return nil, fmt.Errorf("the layout has number %d, and this program reads number %d: make the delivery again", r.Schema, Schema)
	case !slices.Contains([]string{"left", "right"}, r.Side):
		return nil, fmt.Errorf("the side %q is neither left nor right", r.Side)
	case !slices.Contains([]string{"good", "caution", "refused"}, r.Verdict):
		return nil, fmt.Errorf("the verdict %q is not known", r.Verdict)
	case r.Verdict != "refused" && (r.Section == nil || r.Target == nil):
		return nil, fmt.Errorf("the verdict is %q, but there is no section: the file is not whole", r.Verdict)
	}
	if s := r.Section; s != nil && (!(s.ChordMM.Value > 0) || !(s.ChordMM.U >= 0) || math.IsInf(s.ChordMM.Value, 0)) {
		return nil, fmt.Errorf("a chord of %v ± %v mm cannot be", s.ChordMM.Value, s.ChordMM.U)
	}
	return &r, nil
}

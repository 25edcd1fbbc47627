package shop

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tipwright/scan"
)

// The record is read from a result.json as the design page writes it, with fields the shop knows nothing of.
const result = `{
  "schema": 1,
  "program": {"name": "tipwright", "version": "1.2.3"},
  "aircraft": "marsh-wren", "side": "left",
  "sheet": {"file": "wing.toml", "sha256": "aa"},
  "airfoil": {"file": "mysection.dat", "sha256": "bb"},
  "scans": [{"file": "left.ply", "sha256": "cc", "format": "ply", "points": 5}, {"file": "Left-2.ply", "sha256": "ab"}],
  "section": {"outline_mm": [[1.0, 2.0], [3, 4]]},
  "verdict": "caution",
  "messages": [{"code": "scale-corrected", "level": "caution", "text": "Mind."}, {"code": "x", "level": "loud", "text": "?"}]
}`

func TestParseRecord(t *testing.T) {
	r := Record{Side: Left}
	if err := r.parse(strings.NewReader(result)); err != nil {
		t.Fatal(err)
	}
	want := origin{"1.2.3", "aa", "bb", "left ab\nleft cc"}
	if r.from != want || r.Verdict != "caution" {
		t.Errorf("read %+v, want %+v", r, want)
	}
	if len(r.Messages) != 2 || r.Messages[0] != scan.Cautionf("scale-corrected", "Mind.") || r.Messages[1].Level != scan.Caution {
		t.Errorf("messages %v", r.Messages)
	}
}

func TestParseRecordRefuses(t *testing.T) {
	for name, text := range map[string]string{
		"empty":         "",
		"cut":           result[:200],
		"not JSON":      "PDF",
		"other side":    strings.Replace(result, `"side": "left"`, `"side": "right"`, 1),
		"no verdict":    strings.Replace(result, `"verdict": "caution"`, `"verdict": ""`, 1),
		"wrong kind":    strings.Replace(result, `"scans": [`, `"scans": 3, "x": [`, 1),
		"list, no head": "[]",
	} {
		r := Record{Side: Left}
		if err := r.parse(strings.NewReader(text)); err == nil {
			t.Errorf("%s: read as %+v", name, r)
		}
	}
}

func FuzzRecord(f *testing.F) {
	f.Add(result)
	f.Add("{}")
	f.Add(`{"side": "left", "verdict": "good", "scans": [{}, null], "sheet": null, "messages": [null]}`)
	f.Fuzz(func(t *testing.T, text string) {
		r := Record{Side: Left}
		if err := r.parse(strings.NewReader(text)); err != nil {
			return
		}
		if r.Verdict == "" || len(r.sum) != 10 {
			t.Fatalf("%+v", r)
		}
	})
}

func TestReadRecords(t *testing.T) {
	outbox := t.TempDir()
	for _, dir := range []string{"b 10/left", "b 10/earlier/left-0123456789", "b 9/right", "b 9/pair", ".hidden/left", "a"} {
		if err := os.MkdirAll(filepath.Join(outbox, filepath.FromSlash(dir)), 0o755); err != nil {
			t.Fatal(err)
		}
	}
	for path, text := range map[string]string{"b 10/left/result.json": result, "b 9/right/result.json": result, "index.html": "<p>"} {
		if err := os.WriteFile(filepath.Join(outbox, filepath.FromSlash(path)), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := ReadRecords(outbox)
	if err != nil || len(got) != 3 {
		t.Fatalf("%+v, %v", got, err)
	}
	if r := got[0]; r.Aircraft != "b 9" || r.Side != Right || r.Err == nil {
		t.Errorf("a left delivery in the place of a right one: %+v", r)
	}
	if r := got[1]; r.Side != Pair || !errors.Is(r.Err, os.ErrNotExist) {
		t.Errorf("a delivery without a record: %+v", r)
	}
	if r := got[2]; r.Aircraft != "b 10" || r.Side != Left || r.Err != nil || r.Verdict != "caution" {
		t.Errorf("a good one: %+v", r)
	}
	if got, err := ReadRecords(filepath.Join(outbox, "none")); got != nil || err != nil {
		t.Errorf("no outbox yet: %v, %v", got, err)
	}
}

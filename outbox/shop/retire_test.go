package shop

import (
	"os"
	"path/filepath"
	"testing"

	"tipwright/scan"
)

// A comparison stands only beside the two sides that it was made from.
func TestRetirePair(t *testing.T) {
	scans := func(side, text string) []File {
		return []File{{Source: scan.Source{File: side + ".ply", SHA256: text}}}
	}
	for _, c := range []struct {
		name, left, verdict string
		gone                bool
		set                 bool
	}{
		{"as it was made", "L", "good", false, false},
		{"another scan", "M", "good", false, true},
		{"a refused side", "L", refused, false, true},
		{"a side that is not there", "L", "good", true, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			put := func(side, verdict string, files []File) {
				job := Job{Side: side, Version: "v1", Scans: files, Dir: filepath.Join(dir, side)}
				if err := os.Mkdir(job.Dir, 0o755); err != nil {
					t.Fatal(err)
				}
				if err := writeResult(job, verdict, "report"); err != nil {
					t.Fatal(err)
				}
			}
			if !c.gone {
				put(Left, c.verdict, scans(Left, c.left))
			}
			put(Right, "good", scans(Right, "R"))
			put(Pair, "good", append(scans(Left, "L"), scans(Right, "R")...))
			want := ""
			if c.set {
				want = filepath.Join(dir, "earlier", Pair)
			}
			to, err := RetirePair(dir)
			if err != nil || to != want {
				t.Fatalf("went to %q, want %q (%v)", to, want, err)
			}
			stands, err := standing(filepath.Join(dir, Pair))
			if err != nil || stands == c.set {
				t.Errorf("stands: %t (%v)", stands, err)
			}
			if kept := ReadRecord(to, "x", Pair); c.set && kept.Verdict != "good" {
				t.Errorf("kept %+v", kept)
			}
		})
	}
	if to, err := RetirePair(t.TempDir()); to != "" || err != nil {
		t.Errorf("with nothing there: %q, %v", to, err)
	}
}

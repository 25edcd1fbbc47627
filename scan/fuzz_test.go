package scan

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"
)

// FuzzDecode feeds anything at all: a sound scan or a full refusal comes out, and what was read once, written
// and read again is the same.
func FuzzDecode(f *testing.F) {
	s := wave(3)
	for _, v := range variants() {
		f.Add(v.write(f, s), "left"+v.ending)
	}
	files, err := filepath.Glob("testdata/corner/*")
	if err != nil {
		f.Fatal(err)
	}
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data, filepath.Base(path))
	}
	f.Fuzz(func(t *testing.T, data []byte, name string) {
		before := bytes.Clone(data)
		s, err := Decode(data, name, Limits{MaxBytes: 1 << 20, MaxPoints: 10_000})
		if !bytes.Equal(before, data) {
			t.Fatal("the reader changed the file's bytes")
		}
		if err != nil {
			checkRefusal(t, err)
			return
		}
		sound(t, s)
		rereads(t, s)
	})
}

// checkRefusal wants an error that says what to do next.
func checkRefusal(t *testing.T, err error) {
	t.Helper()
	var f *FormatError
	if !errors.As(err, &f) || f.Msg == "" || f.Mend == "" {
		t.Fatalf("%v is no full format error", err)
	}
}

// rereads writes a scan as PLY, which keeps everything, and compares.
func rereads(t *testing.T, s *Scan) {
	t.Helper()
	again, err := Decode(written(t, s, WritePLY), "again.ply", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Triangles) > 0 && len(again.Triangles) != len(s.Triangles) {
		t.Fatalf("%d triangles became %d", len(s.Triangles), len(again.Triangles))
	}
	sound(t, again)
}

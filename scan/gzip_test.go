package scan

import (
	"bytes"
	"compress/gzip"
	"strings"
	"testing"
)

// gzipped packs bytes.
func gzipped(t testing.TB, data []byte) []byte {
	t.Helper()
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	if _, err := w.Write(data); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func gzippedOBJ(t testing.TB, s *Scan) []byte { return gzipped(t, texturedOBJ(t, s)) }

// TestGZ reads a packed scan under several names: its contents tell the format, or the name without .gz does.
func TestGZ(t *testing.T) {
	for name, data := range map[string][]byte{
		"left.stl.gz": written(t, one(), WriteSTL), "left.OBJ.GZ": written(t, one(), WriteOBJ), "left": written(t, one(), WritePLY),
		"left.off.gz": []byte("3 1 0\n0 0 0\n1 0 0\n0 1 0\n3 0 1 2\n"),
	} {
		s, err := Decode(gzipped(t, data), name, Limits{})
		if err != nil || len(s.Triangles) != 1 || s.Source.File != name {
			t.Errorf("%s: %+v %v", name, s, err)
		}
	}
}

func TestGZRefused(t *testing.T) {
	mesh := written(t, one(), WriteOBJ)
	good := gzipped(t, mesh)
	wrong := bytes.Clone(good)
	wrong[len(wrong)-6] ^= 1 // the checksum
	tar := append(append([]byte("left.obj"), make([]byte, 249)...), "ustar\x00"...)
	for _, c := range []struct {
		data       []byte
		says, mend string
	}{
		{good[:len(good)-9], "ends too early", stillCopying},
		{wrong, "is damaged", "Pack it again"},
		{gzipped(t, good), "packed twice", unpackFirst},
		{gzipped(t, tar), "packed archive", unpackIt},
		{gzipped(t, nil), "the file is empty", stillCopying},
		{gzipped(t, []byte("v 1 2\n")), "three numbers", exportAgain},
		{gzipped(t, make([]byte, 4<<20)), "which no scan does", unpackFirst},
		{packed(t, "a.obj.gz", string(good)), "another archive", unpackFirst},
	} {
		s, err := Decode(c.data, "left.obj.gz", Limits{})
		f, ok := err.(*FormatError)
		if s != nil || !ok || !strings.Contains(f.Msg, c.says) || !strings.Contains(f.Mend, c.mend) || !strings.Contains(f.File, "left.obj.gz") {
			t.Errorf("%v, want %s", err, c.says)
		}
	}
	if _, err := Decode(gzipped(t, []byte("v 1 2\n")), "left.obj.gz", Limits{}); err == nil || !strings.HasPrefix(err.Error(), "left.obj in left.obj.gz, line 1: ") {
		t.Error(err)
	}
	_, err := Decode(gzipped(t, bytes.Repeat(mesh, 99)), "left.obj.gz", Limits{MaxBytes: 600})
	if f, ok := err.(*FormatError); !ok || f.Mend != exportCoarser || !strings.Contains(f.Msg, "unpacks to more than the 600 bytes") {
		t.Error(err)
	}
}

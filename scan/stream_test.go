package scan

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"
)

// inBlocks decodes from a reader with only so many bytes known at first.
func inBlocks(r io.Reader, name string, size, head int64) (*Scan, error) {
	in := newInput(r, name, size, nil, Limits{}.filled())
	if err := in.begin(head); err != nil {
		return nil, err
	}
	return decode(in)
}

// TestBlocks reads each variant in blocks that end anywhere and wants exactly what the whole file gives.
func TestBlocks(t *testing.T) {
	want := wave(40)
	for _, v := range variants() {
		t.Run(v.name, func(t *testing.T) {
			data := v.write(t, want)
			whole, err := Decode(data, "left"+v.ending, Limits{})
			if err != nil {
				t.Fatal(err)
			}
			sum := sha256.Sum256(data)
			if whole.Source.SHA256 != hex.EncodeToString(sum[:]) {
				t.Errorf("SHA-256 is %s", whole.Source.SHA256)
			}
			for head := int64(4096); head < 4120; head += 9 {
				for _, r := range []io.Reader{bytes.NewReader(data), iotest.HalfReader(bytes.NewReader(data))} {
					got, err := inBlocks(r, "left"+v.ending, int64(len(data)), head)
					if err != nil {
						t.Fatal(err)
					}
					if !reflect.DeepEqual(got, whole) {
						t.Fatalf("with a head of %d bytes: %d points, %d triangles, %+v, %v", head, len(got.Points), len(got.Triangles), got.Source, got.Messages)
					}
				}
			}
		})
	}
}

// TestLongList has a list that is longer than a block, once wanted and once passed over.
func TestLongList(t *testing.T) {
	head := "ply\nformat binary_little_endian 1.0\nelement note 1\nproperty list int double w\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n" +
		"element tristrips 1\nproperty list int int vertex_indices\nend_header\n"
	const long = 3 * windowBytes / 8
	data := []byte(head)
	data = binary.LittleEndian.AppendUint32(data, long)
	data = append(data, make([]byte, 8*long)...)
	data = append(data, make([]byte, 12)...)
	data = append(data, "\x00\x00\x80\x3f\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x00\x80\x3f\x00\x00\x00\x00"...)
	data = binary.LittleEndian.AppendUint32(data, long)
	for i := range long {
		data = binary.LittleEndian.AppendUint32(data, uint32(i%3))
	}
	s, err := inBlocks(bytes.NewReader(data), "left.ply", int64(len(data)), 4096)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Points) != 3 || len(s.Triangles) != long-2 {
		t.Errorf("%d points, %d triangles", len(s.Points), len(s.Triangles))
	}
}

// TestEmptyTailInBlocks has a copy whose last blocks are all empty: how many bytes that are is summed over blocks.
func TestEmptyTailInBlocks(t *testing.T) {
	data := written(t, wave(150), WriteSTL)
	const empty = 3*windowBytes + 17
	clear(data[len(data)-empty:])
	_, err := inBlocks(bytes.NewReader(data), "left.stl", int64(len(data)), 4096)
	var f *FormatError
	if !errors.As(err, &f) || f.Mend != stillCopying || f.Offset > int64(len(data)-empty) || f.Offset < int64(len(data)-empty-50) {
		t.Error(err)
	}
}

// TestFailingFiles reads files that end, grow or fail on the way.
func TestFailingFiles(t *testing.T) {
	surface := wave(40)
	broken := errors.New("the cable came loose")
	for _, v := range variants() {
		data := v.write(t, surface)
		size := int64(len(data))
		for _, c := range []struct {
			what  string
			r     io.Reader
			cause error
			says  string
		}{
			{"shrinks", bytes.NewReader(data[:size/2]), nil, "was cut from"},
			{"shrinks at once", bytes.NewReader(nil), nil, "was cut from"},
			{"grows", bytes.NewReader(append(bytes.Clone(data), "more"...)), nil, "it grew"},
			{"fails", io.MultiReader(bytes.NewReader(data[:size/2]), iotest.ErrReader(broken)), broken, "cannot be read on"},
			{"fails at once", iotest.ErrReader(broken), broken, "cannot be read on"},
			{"fails at its end", io.MultiReader(bytes.NewReader(data), iotest.ErrReader(broken)), broken, "cannot be read on"},
		} {
			s, err := inBlocks(c.r, "left"+v.ending, size, 4096)
			var f *FormatError
			if s != nil || !errors.As(err, &f) || !strings.Contains(f.Msg, c.says) || f.File != "left"+v.ending || f.Mend == "" {
				t.Errorf("%s %s: %v", v.name, c.what, err)
			}
			if c.cause != nil && !errors.Is(err, c.cause) {
				t.Errorf("%s %s: the cause is lost in %v", v.name, c.what, err)
			}
		}
	}
}

// TestRead reads files larger than the head from the disk, and what is no file.
func TestRead(t *testing.T) {
	dir := t.TempDir()
	mesh, cloud := wave(175), wave(330)
	for _, v := range variants() {
		data := v.write(t, mesh)
		if v.cloud {
			data = v.write(t, cloud)
		}
		if len(data) <= headBytes && !v.packed() {
			t.Fatalf("%s has only %d bytes", v.name, len(data))
		}
		path := filepath.Join(dir, "left"+v.ending)
		if err := os.WriteFile(path, data, 0o644); err != nil {
			t.Fatal(err)
		}
		got, err := Read(path, DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		want, err := Decode(data, "left"+v.ending, DefaultLimits)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s: Read and Decode differ", v.name)
		}
		told := Source{File: "as told", SHA256: "as told", Bytes: int64(len(data))}
		for same, sources := range map[string]Source{"yes yes": told, "no": want.Source, "yes no": want.Source} {
			answers := strings.Fields(same)
			got, err := ReadKnown(path, told, func(*os.File) bool {
				answer := answers[0]
				answers = answers[1:]
				return answer == "yes"
			}, DefaultLimits)
			if err != nil {
				t.Fatal(err)
			}
			want.Source = sources
			if !reflect.DeepEqual(got, want) || len(answers) > 0 {
				t.Errorf("%s: still the same %s, and ReadKnown and Decode differ: %+v", v.name, same, got.Source)
			}
		}
	}
	var f *FormatError
	if _, err := Read(filepath.Join(dir, "none.ply"), Limits{}); !errors.Is(err, fs.ErrNotExist) || !errors.As(err, &f) || f.File != "none.ply" {
		t.Error(err)
	}
	if _, err := Read(dir, Limits{}); !errors.As(err, &f) || !strings.Contains(f.Msg, "folder") {
		t.Error(err)
	}
}

// TestLimits holds that no format takes in more than it may.
func TestLimits(t *testing.T) {
	surface := wave(20)
	for _, v := range variants() {
		data := v.write(t, surface)
		size := int64(len(data))
		enough := size
		if v.packed() {
			enough *= 100
		}
		for _, c := range []struct {
			lim  Limits
			over Limit
		}{
			{Limits{MaxBytes: enough, MaxPoints: 400}, ""},
			{Limits{MaxBytes: size - 1}, OverBytes},
			{Limits{MaxPoints: 399}, OverPoints},
			{Limits{}, ""},
		} {
			_, err := Decode(data, "left"+v.ending, c.lim)
			var f *FormatError
			if (err == nil) != (c.over == "") || err != nil && (!errors.As(err, &f) || f.Over != c.over || !strings.Contains(f.Msg, "no more than") || f.Mend != exportCoarser) {
				t.Errorf("%s with %+v: %v", v.name, c.lim, err)
			}
		}
	}
}

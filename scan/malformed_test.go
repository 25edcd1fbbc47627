package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"
)

// asciiHead is the header of an ASCII cloud of so many points, ready for rows of x y z.
func asciiHead(count string) string {
	return "ply\nformat ascii 1.0\nelement vertex " + count + "\nproperty float x\nproperty float y\nproperty float z\n"
}

// binaryHead is the same for a binary one.
func binaryHead(count string) string {
	return strings.Replace(asciiHead(count), "ascii", "binary_little_endian", 1)
}

const faceHead = "element face 1\nproperty list uchar int vertex_indices\nend_header\n"

// binarySTL returns a header with that count and so many bytes after it.
func binarySTL(head string, count uint32, rest int) string {
	b := make([]byte, stlHeader+rest)
	copy(b, head)
	binary.LittleEndian.PutUint32(b[80:], count)
	return string(b)
}

const facet = "facet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\nvertex 0 1 0\nendloop\nendfacet\n"

func TestMalformed(t *testing.T) {
	three := "0 0 0\n1 0 0\n0 1 0\n"
	for _, c := range []struct {
		name, data string
		line       int
		offset     int64
		says       string
		mend       string
	}{
		{"left.ply", "", 0, 0, "empty", stillCopying},
		{"left.stl", strings.Repeat("\x00", 5000), 0, 0, "begins with 4096 empty bytes", stillCopying},
		{"left.bin", "\x01\x02\x03\x04", 0, 0, "neither its contents nor its name", exportInstead},
		{"left", "Dear builder,\nthe scan comes later.\n", 0, 0, "neither", exportInstead},

		{"left.ply", "hello\nworld\n", 1, 0, `begins with "hello", not with ply`, exportInstead},
		{"left.ply", "ply\nformat ascii 1.0\n", 2, 0, "ends within the PLY header, at byte 21", stillCopying},
		{"left.ply", "ply\nformat ascii_big 1.0\nend_header\n", 2, 0, "unknown PLY format", exportAgain},
		{"left.ply", "ply\nelement vertex 0\nend_header\n", 3, 0, "no format line", exportAgain},
		{"left.ply", "ply\nformat ascii 1.0\nend_header\n", 3, 0, "no element vertex", exportAgain},
		{"left.ply", "ply\nformat binary_little_endian 1.0\nwing left\n", 3, 0, "unknown statement", exportAgain},
		{"left.ply", "ply\nformat ascii 1.0\nwing left\n", 3, 0, "ends within the PLY header", stillCopying},
		{"left.ply", "ply\nformat ascii 1.0\nproperty float x\n", 3, 0, "before the first element", exportAgain},
		{"left.ply", asciiHead("-3"), 3, 0, "count makes no sense", exportAgain},
		{"left.ply", asciiHead("1e5"), 3, 0, "count makes no sense", exportAgain},
		{"left.ply", asciiHead("1") + "property real w\n", 7, 0, "not a property", exportAgain},
		{"left.ply", asciiHead("1") + "property list float int w\n", 7, 0, "not a property", exportAgain},
		{"left.ply", asciiHead("1") + "property float x\n", 7, 0, "there twice", exportAgain},
		{"left.ply", asciiHead("1") + "element vertex 2\n", 7, 0, "there twice", exportAgain},
		{"left.ply", "ply\nformat ascii 1.0\nelement vertex 1\nproperty float x\nproperty float y\nend_header\n0 0\n", 0, 0, "no property z", exportAgain},
		{"left.ply", asciiHead("0") + "end_header\n", 0, 0, "not one point", exportAgain},
		{"left.ply", asciiHead("4") + "end_header\n" + three, 7, 0, "4 rows of vertex, more than the 18 bytes", stillCopying},
		{"left.ply", asciiHead("4") + "end_header\n0.000 0.000 0.000\n1 0 0\n0 1 0\n", 10, 0, "ends within the 4 rows of vertex", stillCopying},
		{"left.ply", asciiHead("3") + "end_header\n0 0 0\n1 0.0\n0 1 0\n", 9, 0, "fewer values", exportAgain},
		{"left.ply", asciiHead("3") + "end_header\n0 0 0\n1 0 0 0\n0 1 0\n", 9, 0, `"0" is left over`, exportAgain},
		{"left.ply", asciiHead("3") + "end_header\n0 0 0\n1 O 0\n0 1 0\n", 9, 0, `"O" in a row of vertex`, exportAgain},
		{"left.ply", asciiHead("2") + "end_header\nnan nan nan\n1e30 inf 0\n", 0, 0, "none of its 2 points", exportAgain},
		{"left.ply", asciiHead("99999999999") + "end_header\n" + three, 0, 0, "99999999999 points", "coarser"},
		{"left.ply", asciiHead("40000000") + "end_header\n" + three, 7, 0, "promises 40000000 rows", stillCopying},
		{"left.ply", asciiHead("3") + faceHead + three + "3 0 1 3\n", 13, 0, "uses point 3, but the points are numbered 0 to 2", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "3 0 1 -1\n", 13, 0, "uses point -1", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "3 0 1 1.5\n", 13, 0, "uses point 1.5", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "-3 0 1 2\n", 13, 0, "a list of -3 values", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "900000000 0 1 2\n", 13, 0, "a list of 9e+08 values", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "3 0 1\n", 13, 0, "fewer values", exportAgain},
		{"left.ply", asciiHead("3") + faceHead + three + "3 0 1", 13, 0, "fewer values", stillCopying},
		{"left.ply", asciiHead("3") + "element face 1\nproperty int vertex_indices\nend_header\n" + three + "3\n", 0, 0, "no list vertex_indices", exportAgain},
		{"left.ply", binaryHead("1000000000") + "end_header\n", 0, 0, "1000000000 points", "coarser"},
		{"left.ply", binaryHead("10000000") + "end_header\n" + three, 0, 122, "take 120000000 bytes or more, but only 18", stillCopying},
		{"left.ply", binaryHead("0") + "element note 999999999999999999\nproperty double w\nproperty double v\nend_header\n" + three, 0, 183, "more bytes than any disk holds", stillCopying},
		{"left.ply", binaryHead("1") + faceHead + strings.Repeat("\x00", 12) + "\xff\x00\x00\x00\x00", 0, 181, "ends at byte 186", stillCopying},
		{"left.ply", binaryHead("1") + faceHead + strings.Repeat("\x00", 12) + "\x01\x01\x00\x00\x00", 0, 181, "uses point 1, but", exportAgain},

		{"left.stl", "A scan", 1, 0, `begins with "A", not with solid`, exportInstead},
		{"left.stl", "\x00\x01\x02", 0, 3, "within the 84 bytes", stillCopying},
		{"left.stl", binarySTL("\x01", 0, 0), 0, 80, "not one triangle", exportAgain},
		{"left.stl", binarySTL("\x01", 0, 100), 0, 80, "there are bytes for 2", exportAgain},
		{"left.stl", binarySTL("\x01", 5000, 1234), 0, 1318, "should have 250084 bytes for the 5000 triangles that its header promises, but only 1318 are there, for 24", stillCopying},
		{"left.stl", binarySTL("solid \x00", 0xffffffff, 100), 0, 184, "should have 214748364834 bytes", stillCopying},
		{"left.stl", "solid wing\n", 1, 0, "ends at byte 11 before the last endsolid", stillCopying},
		{"left.stl", "solid wing\nendsolid wing\n", 0, 0, "not one triangle", exportAgain},
		{"left.stl", "solid wing\n" + strings.TrimSuffix(facet, "t\n"), 8, 0, "before the last endsolid", stillCopying},
		{"left.stl", "solid wing\n" + facet + "endsolid wing\nsolid tip\n", 10, 0, "before the last endsolid", stillCopying},
		{"left.stl", "solid wing\n" + strings.Replace(facet, "vertex 1 0", "vertex 1 l", 1) + "endsolid", 5, 0, `"l" stands where an ASCII STL has a number`, exportAgain},
		{"left.stl", "solid wing\n" + strings.Replace(facet, "endloop", "vertex 5 5 5\nendloop", 1) + "endsolid", 7, 0, `"vertex" stands where`, exportAgain},
		{"left.stl", "solid wing\n" + facet + "endsolid wing\nfacet", 10, 0, "before the last endsolid", stillCopying},
		{"left.stl", "solid wing\n" + strings.Replace(facet, "vertex 1 0", "vertex nan 0", 1) + "endsolid", 0, 0, "none of its 1 triangles", exportAgain},

		{"left.obj", "v 1 2\nv 1 2 3\n", 1, 0, "three numbers, and the line has fewer", exportAgain},
		{"left.obj", "v 1 2 x3\nv 1 2 3\n", 1, 0, `"x3" is none`, exportAgain},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2\nf 3\n", 4, 0, "three corners, and the line has fewer", exportAgain},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2", 4, 0, "three corners", stillCopying},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\nf 1 2 3\n", 4, 0, "uses point 4, but there are only 3", exportAgain},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 0\n", 4, 0, "uses point 0", exportAgain},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 -4\n", 4, 0, "uses point -4", exportAgain},
		{"left.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 three\n", 4, 0, `"three" is none`, exportAgain},
		{"left.obj", "v 1,5 2,5 3,5\n", 1, 0, `"1,5" is none`, "decimal points"},
		{"left.obj", "cstype bezier\nv 1 2 3 4\nv 1 2\n", 3, 0, "the line has fewer", exportAgain},
		{"left.obj", "# nothing\no wing\n", 0, 0, "not one point", exportAgain},

		{"left.xyz", "1 2 3\n4 5\n7 8 9\n", 2, 0, "only 2 values", exportAgain},
		{"left.xyz", "1 2 3\n4 5", 2, 0, "the last line has only 2 values", stillCopying},
		{"left.xyz", "1 2 3\n4 five 6\n", 2, 0, `"five" is not a number`, "names them"},
		{"left.pts", "1\n1 2 3\n2\n4 5 6\n", 4, 0, "promises 3 points, but only 2", stillCopying},
		{"left.pts", "2\n1 2 3\n2\n4 5 6\n", 3, 0, "only 1 values", exportAgain},
		{"left.xyz", "7\n1 2 3\n4 5 6\n", 3, 0, "promises 7 points, but only 2", stillCopying},
		{"left.csv", "1.5;2.5;3.5\n1,234.5;2.5;3.5\n", 2, 0, `"1,234.5" is not a number`, "without marks between thousands"},
		{"left.csv", "1.5;2.5;3.5\n1,234;2.5;3.5\n", 2, 0, `"1,234" is not a number`, "without marks between thousands"},
		{"left.csv", "1,5, 2,5, 3,5\n", 1, 0, "cannot be told apart", "decimal points"},
		{"left.csv", "x,y,z\n1,5,2,5,3,5\n", 2, 0, "names 3 columns", "decimal points"},
		{"left.txt", "ncols 5\nnrows 5\ncellsize 1\n0.1 0.2 0.3 0.4 0.5\n", 4, 0, "3 lines that are neither", "put # before"},
		{"left.txt", "x y\n1 2\n3 4\n", 0, 0, "no line with the three numbers", exportAgain},
	} {
		_, err := Decode([]byte(c.data), c.name, Limits{})
		var f *FormatError
		switch {
		case !errors.As(err, &f):
			t.Errorf("%s %.40q: no format error but %v", c.name, c.data, err)
		case !strings.Contains(f.Msg, c.says) || !strings.Contains(f.Mend, c.mend) || f.Line != c.line || f.Offset != c.offset || f.File != c.name:
			t.Errorf("%s %.40q:\n got %q\n     line %d, byte %d, mend %q\nwant %q, line %d, byte %d, mend %q",
				c.name, c.data, f.Msg, f.Line, f.Offset, f.Mend, c.says, c.line, c.offset, c.mend)
		}
	}
}

// TestEmptyTail looks at a file of full length of which only the beginning was copied.
func TestEmptyTail(t *testing.T) {
	s := wave(40)
	for _, write := range []func() []byte{
		func() []byte { return written(t, s, WritePLY) },
		func() []byte { return written(t, s, WriteSTL) },
	} {
		data := write()
		clear(data[len(data)-8000:])
		var f *FormatError
		if _, err := Decode(data, "left", Limits{}); !errors.As(err, &f) || f.Mend != stillCopying {
			t.Errorf("read: %v", err)
		}
	}
	s.Triangles = nil
	data := written(t, s, WritePLY)
	clear(data[len(data)-8000:])
	got, err := Decode(data, "left", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	has(t, got, "empty-tail", Caution)
	has(t, got, "no-echo", Note)
	if want := len(s.Points) - 8000/12 - 1; len(got.Points) != want && len(got.Points) != want+1 {
		t.Errorf("%d points, want %d", len(got.Points), want)
	}
}

// has wants a message.
func has(t *testing.T, s *Scan, code string, level Level) {
	t.Helper()
	for _, m := range s.Messages {
		if m.Code == code && m.Level == level && strings.HasSuffix(m.Text, ".") {
			return
		}
	}
	t.Errorf("no %v %s in %v", level, code, s.Messages)
}

// TestLeftOver reads files that go on after their end.
func TestLeftOver(t *testing.T) {
	s := wave(4)
	for _, data := range [][]byte{written(t, s, WritePLY), written(t, s, WriteSTL), asciiPLY(t, s)} {
		got, err := Decode(append(bytes.Clone(data), "\nfarewell"...), "left.stl", Limits{})
		if err != nil {
			t.Fatal(err)
		}
		compare(t, got, s, false)
		has(t, got, "left-over", Note)
	}
}

// TestUnusable drops what is not a number, with the triangles that use it, and nothing else.
func TestUnusable(t *testing.T) {
	for _, bad := range []float32{float32(math.NaN()), float32(math.Inf(1)), -2e12, 3e38} {
		s := wave(12)
		s.Points[50][1] = bad
		for _, write := range []func() []byte{
			func() []byte { return written(t, s, WritePLY) },
			func() []byte { return written(t, s, WriteSTL) },
			func() []byte { return written(t, s, WriteOBJ) },
			func() []byte { return bigEndianPLY(t, s) },
		} {
			got, err := Decode(write(), "left", Limits{})
			if err != nil {
				t.Fatal(err)
			}
			sound(t, got)
			has(t, got, "points-dropped", Caution)
			if len(got.Points) != 143 || len(got.Triangles) != len(s.Triangles)-6 {
				t.Errorf("%d points and %d triangles are left", len(got.Points), len(got.Triangles))
			}
		}
	}
}

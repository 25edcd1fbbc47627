package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"
)

// plyStyle is a way to write a mesh as PLY, with properties round the coordinates and the lists.
type plyStyle struct {
	order   binary.AppendByteOrder // nil for text
	kind    string                 // of the coordinates: float or double
	counted string                 // of the lists' lengths: uchar or ushort
}

// number appends a coordinate.
func (y plyStyle) number(d []byte, v float32) []byte {
	switch {
	case y.order == nil:
		return fmt.Append(d, v, " ")
	case y.kind == "double":
		return y.order.AppendUint64(d, math.Float64bits(float64(v)))
	}
	return y.order.AppendUint32(d, math.Float32bits(v))
}

// whole appends a whole number of so many bytes.
func (y plyStyle) whole(d []byte, v uint32, size int) []byte {
	switch {
	case y.order == nil:
		return fmt.Append(d, v, " ")
	case size == 1:
		return append(d, byte(v))
	case size == 2:
		return y.order.AppendUint16(d, uint16(v))
	}
	return y.order.AppendUint32(d, v)
}

// end ends a row.
func (y plyStyle) end(d []byte) []byte {
	if y.order == nil {
		return append(d, '\n')
	}
	return d
}

// write makes a file of more than one block, now and then with a square among the triangles.
func (y plyStyle) write(s *Scan, squares bool) []byte {
	format := "ascii"
	if y.order != nil {
		format = map[bool]string{true: "binary_big_endian", false: "binary_little_endian"}[y.order == binary.BigEndian]
	}
	var points, faces []byte
	for _, p := range s.Points {
		points = y.number(y.whole(points, 7, 1), p[2])
		points = y.end(y.number(y.number(y.whole(points, 9, 2), p[0]), p[1]))
	}
	n := 0
	for i := 0; i < len(s.Triangles); i, n = i+1, n+1 {
		corners := s.Triangles[i][:]
		if squares && i%1000 == 998 { // the next triangle is the other half
			i++
			corners = []uint32{corners[0], corners[1], s.Triangles[i][2], corners[2]}
		}
		size := map[string]int{"uchar": 1, "ushort": 2}[y.counted]
		faces = y.whole(y.whole(faces, 3, 2), uint32(len(corners)), size)
		for _, c := range corners {
			faces = y.whole(faces, c, 4)
		}
		faces = y.end(y.whole(faces, 200, 1))
	}
	head := fmt.Sprintf("ply\nformat %s 1.0\nelement vertex %d\nproperty uchar red\nproperty %s z\nproperty short s\nproperty %[3]s x\nproperty %[3]s y\n"+
		"element face %d\nproperty short group\nproperty list %s uint vertex_indices\nproperty uchar red\nend_header\n",
		format, len(s.Points), y.kind, n, y.counted)
	return append(append([]byte(head), points...), faces...)
}

// TestBinaryPLYAgreesWithText wants what the lines of text say, whatever the layout and the number of processors.
func TestBinaryPLYAgreesWithText(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	s := wave(160)
	s.Points = append(s.Points, [3]float32{1e30, 0, 0}) // not used, and dropped
	for _, squares := range []bool{false, true} {
		want, err := Decode(plyStyle{nil, "float", "uchar"}.write(s, squares), "left.ply", Limits{})
		if err != nil {
			t.Fatal(err)
		}
		for _, y := range []plyStyle{
			{binary.LittleEndian, "float", "uchar"}, {binary.LittleEndian, "double", "ushort"},
			{binary.BigEndian, "float", "ushort"}, {binary.BigEndian, "double", "uchar"},
		} {
			data := y.write(s, squares)
			for _, processors := range []int{1, 2, 5} {
				runtime.GOMAXPROCS(processors)
				got, err := inBlocks(bytes.NewReader(data), "left.ply", int64(len(data)), 4096)
				if err != nil {
					t.Fatal(err)
				}
				got.Source = want.Source
				if !reflect.DeepEqual(got, want) {
					t.Errorf("%+v, squares %v, %d processors: %d points and %d triangles differ from %d and %d", y, squares, processors,
						len(got.Points), len(got.Triangles), len(want.Points), len(want.Triangles))
				}
			}
		}
	}
}

// TestPlainFacesOfText reads the usual line of three numbers as it does any other, and refuses a wrong one by its line.
func TestPlainFacesOfText(t *testing.T) {
	const head = "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nproperty float y\nproperty float z\n" +
		"element face 7\nproperty list uchar int vertex_indices\nend_header\n0 0 0\n1 0 0\n0 1 0\n0 0 1\n1 1 1\n"
	faces := []string{"3 0 1 2", "3 1 2 3", "  3\t2 3 4  ", "4 0 1 4 2", "", "3 0 2 3\r", "3 0000000001 2 4", "3 +0 1 3"}
	read := func(faces []string) (*Scan, error) {
		return Decode([]byte(head+strings.Join(faces, "\n")+"\n"), "left.ply", Limits{})
	}
	got, err := read(faces)
	if err != nil {
		t.Fatal(err)
	}
	slow := slices.Clone(faces)
	for i := range slow {
		slow[i] = strings.Replace(slow[i], "3", "3.0", 1)
	}
	want, err := read(slow)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Triangles) != 8 || !reflect.DeepEqual(got.Triangles, want.Triangles) || !reflect.DeepEqual(got.Points, want.Points) {
		t.Errorf("%v, want %v", got.Triangles, want.Triangles)
	}
	for _, c := range []struct{ face, says string }{
		{"3 1 2 5", "uses point 5"}, {"3 1 2 4294967297", "uses point 4.29"}, {"3 1 2", "fewer values"},
		{"3 1 2 4 4", "is left over"}, {"3 1 2 x", `"x"`}, {"3 1 2 -1", "uses point -1"},
	} {
		wrong := slices.Clone(faces)
		wrong[2] = c.face
		var f *FormatError
		if _, err := read(wrong); !errors.As(err, &f) || f.Line != 17 || !strings.Contains(f.Msg, c.says) {
			t.Errorf("%s: %v", c.face, err)
		}
	}
}

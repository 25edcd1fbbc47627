package scan

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"reflect"
	"runtime"
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

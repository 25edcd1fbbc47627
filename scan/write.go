package scan

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"strconv"

	"github.com/hschendel/stl"
)

// WritePLY writes a cloud or mesh as binary little-endian PLY, with coordinates in file units: float for a
// scan about its own origin, double for one with an [Scan.Origin]. The bytes depend on nothing but points
// and triangles.
func WritePLY(w io.Writer, s *Scan) error {
	out := bufio.NewWriter(w)
	kind, add := "float", appendFloat
	if s.Origin != [3]float64{} {
		kind, add = "double", appendDouble
	}
	fmt.Fprintf(out, "ply\nformat binary_little_endian 1.0\nelement vertex %d\n", len(s.Points))
	fmt.Fprintf(out, "property %s x\nproperty %s y\nproperty %s z\n", kind, kind, kind)
	if len(s.Triangles) > 0 {
		fmt.Fprintf(out, "element face %d\nproperty list uchar int vertex_indices\n", len(s.Triangles))
	}
	fmt.Fprint(out, "end_header\n")
	var row []byte
	for i := range s.Points {
		row = row[:0]
		for _, c := range s.At(i) {
			row = add(row, c)
		}
		out.Write(row)
	}
	for _, t := range s.Triangles {
		row = append(row[:0], 3)
		for _, c := range t {
			row = binary.LittleEndian.AppendUint32(row, c)
		}
		out.Write(row)
	}
	return out.Flush() // keeps the first error of all writes
}

func appendFloat(row []byte, v float64) []byte {
	return binary.LittleEndian.AppendUint32(row, math.Float32bits(float32(v)))
}

func appendDouble(row []byte, v float64) []byte {
	return binary.LittleEndian.AppendUint64(row, math.Float64bits(v))
}

// WriteSTL writes a mesh as binary STL, with unit normals by the right-hand rule. STL has neither clouds nor
// more than single precision, so a cloud and a scan with an [Scan.Origin] are errors.
func WriteSTL(w io.Writer, s *Scan) error {
	switch {
	case len(s.Triangles) == 0:
		return fmt.Errorf("a cloud of points cannot be written as STL: write PLY")
	case s.Origin != [3]float64{}:
		return fmt.Errorf("a scan far from its origin cannot be written as STL without loss: write PLY")
	case uint64(len(s.Triangles)) > math.MaxUint32:
		return fmt.Errorf("%d triangles are more than STL can count", len(s.Triangles))
	}
	solid := stl.Solid{Name: "scan", Triangles: make([]stl.Triangle, len(s.Triangles))}
	for i, t := range s.Triangles {
		for k, c := range t {
			solid.Triangles[i].Vertices[k] = s.Points[c]
		}
		solid.Triangles[i].Normal = normal(solid.Triangles[i].Vertices)
	}
	out := bufio.NewWriterSize(w, 1<<16)
	if err := solid.WriteAll(out); err != nil {
		return err
	}
	return out.Flush()
}

// normal returns a triangle's unit normal, zero for one without area.
func normal(v [3]stl.Vec3) stl.Vec3 {
	var a, b [3]float64
	for i := range 3 {
		a[i], b[i] = float64(v[1][i])-float64(v[0][i]), float64(v[2][i])-float64(v[0][i])
	}
	n := [3]float64{a[1]*b[2] - a[2]*b[1], a[2]*b[0] - a[0]*b[2], a[0]*b[1] - a[1]*b[0]}
	length := math.Sqrt(n[0]*n[0] + n[1]*n[1] + n[2]*n[2])
	if length == 0 {
		return stl.Vec3{}
	}
	return stl.Vec3{float32(n[0] / length), float32(n[1] / length), float32(n[2] / length)}
}

// WriteOBJ writes a cloud or mesh as text, in file units and with as many digits as the precision needs.
func WriteOBJ(w io.Writer, s *Scan) error {
	out := bufio.NewWriter(w)
	for i := range s.Points {
		out.Write(append(s.appendPoint([]byte("v "), i), '\n'))
	}
	var row []byte
	for _, t := range s.Triangles {
		row = append(row[:0], 'f')
		for _, c := range t {
			row = strconv.AppendUint(append(row, ' '), uint64(c)+1, 10)
		}
		out.Write(append(row, '\n'))
	}
	return out.Flush()
}

// WriteXYZ writes the points alone as lines of x y z, in file units.
func WriteXYZ(w io.Writer, s *Scan) error {
	out := bufio.NewWriter(w)
	var row []byte
	for i := range s.Points {
		row = append(s.appendPoint(row[:0], i), '\n')
		out.Write(row)
	}
	return out.Flush()
}

// appendPoint appends "x y z", each with the fewest digits that read back the same.
func (s *Scan) appendPoint(row []byte, i int) []byte {
	bits := 32
	if s.Origin != [3]float64{} {
		bits = 64
	}
	for axis, c := range s.At(i) {
		if axis > 0 {
			row = append(row, ' ')
		}
		row = strconv.AppendFloat(row, c, 'g', -1, bits)
	}
	return row
}

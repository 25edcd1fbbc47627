package scan

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/hschendel/stl"
)

// variant is one way to write a surface down.
type variant struct {
	name   string
	ending string
	cloud  bool // it keeps the points alone
	write  func(t testing.TB, s *Scan) []byte
}

// packed tells the variants whose bytes stand for more than they are.
func (v variant) packed() bool { return slices.Contains([]string{".zip", ".3mf", ".gz"}, v.ending) }

// ours wraps a writer of the package.
func ours(w func(io.Writer, *Scan) error) func(testing.TB, *Scan) []byte {
	return func(t testing.TB, s *Scan) []byte { return written(t, s, w) }
}

func written(t testing.TB, s *Scan, write func(io.Writer, *Scan) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b, s); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// variants lists the package's own writers, the STL library's, and styles that only the tests write.
func variants() []variant {
	text := func(style textStyle) func(testing.TB, *Scan) []byte {
		return func(_ testing.TB, s *Scan) []byte { return style.write(s) }
	}
	return []variant{
		{"ply little endian", ".ply", false, ours(WritePLY)},
		{"ply big endian doubles", ".ply", false, bigEndianPLY},
		{"ply ascii", ".ply", false, asciiPLY},
		{"ply ascii, rows broken", ".ply", false, brokenPLY},
		{"ply of strips", ".ply", false, stripPLY},
		{"stl binary", ".stl", false, ours(WriteSTL)},
		{"stl ascii", ".stl", false, asciiSTL},
		{"obj", ".obj", false, ours(WriteOBJ)},
		{"obj with textures", ".obj", false, texturedOBJ},
		{"xyz", ".xyz", true, ours(WriteXYZ)},
		{"csv", ".csv", true, text(textStyle{separator: ",", head: "id,X,Y,Z,i", before: "7,", after: ",0.5", end: "\r\n"})},
		{"semicolons and decimal commas", ".csv", true, text(textStyle{separator: ";", comma: true, end: "\r\n"})},
		{"tabs and decimal commas", ".txt", true, text(textStyle{separator: "\t", comma: true, head: "x [m]\ty [m]\tz [m]\tr", after: "\t255", end: "\n"})},
		{"blanks and decimal commas", ".txt", true, text(textStyle{separator: "  ", comma: true, end: "\n"})},
		{"old line ends and a count", ".pts", true, text(textStyle{separator: " ", count: true, after: " -12 10 20 30", end: "\r"})},
		{"pcd ascii", ".pcd", true, asciiPCD},
		{"pcd binary", ".pcd", true, binaryPCD},
		{"pcd binary doubles", ".pcd", true, doublePCD},
		{"pcd compressed", ".pcd", true, compressedPCD},
		{"las 1.2", ".las", true, wholeLAS(2, 3)},
		{"las 1.4", ".las", true, wholeLAS(4, 7)},
		{"glb", ".glb", false, plainGLB},
		{"gltf interleaved and turned", ".gltf", false, turnedGLTF},
		{"gltf sparse", ".gltf", false, sparseGLTF},
		{"3mf", ".3mf", false, assembled3MF},
		{"zip of an obj", ".zip", false, sharedOBJ},
		{"zip of a gltf", ".zip", false, sharedGLTF},
		{"gzip of an obj", ".gz", false, gzippedOBJ},
		{"off", ".off", false, textOFF},
		{"off, number by number", ".off", false, wordsOFF},
		{"off binary", ".off", false, binaryOFF},
	}
}

// textStyle is a way to write points as text.
type textStyle struct {
	separator, head, before, after, end string
	comma, count                        bool
}

func (style textStyle) write(s *Scan) []byte {
	var b strings.Builder
	b.WriteString("\ufeff# a remark" + style.end)
	if style.count {
		fmt.Fprintf(&b, "%d%s", len(s.Points), style.end)
	}
	if style.head != "" {
		b.WriteString(style.head + style.end)
	}
	for i := range s.Points {
		line := strings.ReplaceAll(string(s.appendPoint(nil, i)), " ", style.separator)
		if style.comma {
			line = strings.ReplaceAll(line, ".", ",")
		}
		b.WriteString(style.before + line + style.after + style.end)
	}
	return []byte(b.String())
}

// asciiPLY puts the faces before the points, and other properties and elements between.
func asciiPLY(_ testing.TB, s *Scan) []byte {
	var b bytes.Buffer
	b.WriteString("ply\r\nformat ascii 1.0\r\ncomment made for a test\r\n")
	fmt.Fprintf(&b, "element face %d\r\nproperty list uint8 int32 vertex_index\r\nproperty uchar red\r\n", len(s.Triangles))
	b.WriteString("element camera 1\r\nproperty float focal\r\nproperty list int float marks\r\n")
	fmt.Fprintf(&b, "element vertex %d\r\nproperty float32 z\r\nproperty uchar red\r\nproperty float x\r\nproperty double y\r\nend_header\r\n", len(s.Points))
	for _, t := range s.Triangles {
		fmt.Fprintf(&b, "3 %d %d %d 200\r\n", t[0], t[1], t[2])
	}
	b.WriteString("3.5 2 1.5 nan\r\n")
	for i := range s.Points {
		c := bytes.Fields(s.appendPoint(nil, i))
		fmt.Fprintf(&b, "%s 17 %s %s\r\n", c[2], c[0], c[1])
	}
	return b.Bytes()
}

// bigEndianPLY has doubles between other properties, and a list in every point.
func bigEndianPLY(_ testing.TB, s *Scan) []byte {
	var b []byte
	b = fmt.Appendf(b, "ply\nformat binary_big_endian 1.0\nobj_info test\nelement vertex %d\n", len(s.Points))
	b = append(b, "property list uchar short ring\nproperty double x\nproperty uchar red\nproperty double y\nproperty double z\n"...)
	b = fmt.Appendf(b, "element face %d\nproperty float quality\nproperty list ushort uint vertex_indices\nend_header\n", len(s.Triangles))
	for i := range s.Points {
		p := s.At(i)
		b = append(b, byte(i%3))
		b = append(b, make([]byte, 2*(i%3))...)
		b = binary.BigEndian.AppendUint64(b, math.Float64bits(p[0]))
		b = append(b, 9)
		b = binary.BigEndian.AppendUint64(b, math.Float64bits(p[1]))
		b = binary.BigEndian.AppendUint64(b, math.Float64bits(p[2]))
	}
	for _, t := range s.Triangles {
		b = binary.BigEndian.AppendUint32(b, math.Float32bits(0.5))
		b = binary.BigEndian.AppendUint16(b, 3)
		for _, c := range t {
			b = binary.BigEndian.AppendUint32(b, c)
		}
	}
	return b
}

// asciiSTL is written by the library, in single precision's own digits.
func asciiSTL(t testing.TB, s *Scan) []byte {
	solid := stl.Solid{Name: "left wing", IsAscii: true}
	for _, c := range s.Triangles {
		var f stl.Triangle
		for k := range c {
			f.Vertices[k] = s.Points[c[k]]
		}
		f.Normal = normal(f.Vertices)
		solid.AppendTriangle(f)
	}
	var b bytes.Buffer
	if err := solid.WriteAll(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// texturedOBJ has colours, textures, normals, groups, and counts back from the last point.
func texturedOBJ(_ testing.TB, s *Scan) []byte {
	var b bytes.Buffer
	b.WriteString("# a test\nmtllib wing.mtl\no wing\n")
	for i := range s.Points {
		fmt.Fprintf(&b, "v  %s 0.5 0.25 1\n", s.appendPoint(nil, i))
	}
	b.WriteString("vt 0 0\nvn 0 0 1\nusemtl skin\ns off\n")
	n := len(s.Points)
	for i, t := range s.Triangles {
		switch i % 3 {
		case 0:
			fmt.Fprintf(&b, "f %d/1/1 %d/1/1 %d/1/1\n", t[0]+1, t[1]+1, t[2]+1)
		case 1:
			fmt.Fprintf(&b, "f %d//1 %d//1 %d//1\n", t[0]+1, t[1]+1, t[2]+1)
		default:
			fmt.Fprintf(&b, "f %d/1 \\\n%d/1 %d/1\n", int(t[0])-n, int(t[1])-n, int(t[2])-n)
		}
	}
	return b.Bytes()
}

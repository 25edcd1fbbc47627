package scan

import (
	"errors"
	"io"
	"strings"
	"testing"
)

// one is a single triangle.
func one() *Scan {
	return &Scan{Points: [][3]float32{{0, 0, 0}, {2, 0, 0}, {0, 0.5, 0}}, Triangles: [][3]uint32{{0, 1, 2}}}
}

// TestWrittenBytes compares with bytes laid down by hand from the descriptions of the formats; 2 is 0x40000000
// in single precision, 0.5 is 0x3f000000 and 1 is 0x3f800000 (IEEE 754).
func TestWrittenBytes(t *testing.T) {
	zero, half, whole, two := "\x00\x00\x00\x00", "\x00\x00\x00\x3f", "\x00\x00\x80\x3f", "\x00\x00\x00\x40"
	far := one()
	far.Triangles, far.Points, far.Origin = nil, far.Points[1:2], [3]float64{1, 0, -2}
	for _, c := range []struct {
		name  string
		scan  *Scan
		write func(io.Writer, *Scan) error
		want  string
	}{
		{"ply", one(), WritePLY, "ply\nformat binary_little_endian 1.0\nelement vertex 3\nproperty float x\nproperty float y\nproperty float z\n" +
			"element face 1\nproperty list uchar int vertex_indices\nend_header\n" +
			zero + zero + zero + two + zero + zero + zero + half + zero + "\x03" + zero + "\x01\x00\x00\x00" + "\x02\x00\x00\x00"},
		{"ply with an origin", far, WritePLY, "ply\nformat binary_little_endian 1.0\nelement vertex 1\nproperty double x\nproperty double y\nproperty double z\nend_header\n" +
			"\x00\x00\x00\x00\x00\x00\x08\x40" + "\x00\x00\x00\x00\x00\x00\x00\x00" + "\x00\x00\x00\x00\x00\x00\x00\xc0"},
		{"stl", one(), WriteSTL, "scan" + strings.Repeat("\x00", 76) + "\x01\x00\x00\x00" +
			zero + zero + whole + zero + zero + zero + two + zero + zero + zero + half + zero + "\x00\x00"},
		{"obj", one(), WriteOBJ, "v 0 0 0\nv 2 0 0\nv 0 0.5 0\nf 1 2 3\n"},
		{"xyz", one(), WriteXYZ, "0 0 0\n2 0 0\n0 0.5 0\n"},
		{"xyz with an origin", far, WriteXYZ, "3 0 -2\n"},
	} {
		if got := string(written(t, c.scan, c.write)); got != c.want {
			t.Errorf("%s:\n got %q\nwant %q", c.name, got, c.want)
		}
	}
}

// TestSTLRefuses holds that what STL cannot say is not written.
func TestSTLRefuses(t *testing.T) {
	cloud, far := one(), one()
	cloud.Triangles = nil
	far.Origin[0] = 5e6
	for _, s := range []*Scan{cloud, far} {
		if err := WriteSTL(io.Discard, s); err == nil || !strings.Contains(err.Error(), "write PLY") {
			t.Error(err)
		}
	}
}

// full is a disk without room.
type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriteErrors(t *testing.T) {
	for name, write := range map[string]func(io.Writer, *Scan) error{"ply": WritePLY, "stl": WriteSTL, "obj": WriteOBJ, "xyz": WriteXYZ} {
		for _, s := range []*Scan{one(), wave(80)} {
			if err := write(full{}, s); !errors.Is(err, errFull) {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
}

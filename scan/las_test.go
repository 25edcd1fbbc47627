package scan

import (
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"
)

// lasFile lays down a file of that version and point format, with so many bytes between header and points and
// after each point, in steps of step from offset.
func lasFile(minor, format byte, between, extra int, step float64, offset [3]float64, points [][3]int32) []byte {
	header := 227
	switch minor {
	case 3:
		header = 235
	case 4:
		header = 375
	}
	length := lasLeast(format) + extra
	b := make([]byte, header+between, header+between+length*len(points))
	copy(b, "LASF")
	b[24], b[25], b[104] = 1, minor, format
	binary.LittleEndian.PutUint16(b[94:], uint16(header))
	binary.LittleEndian.PutUint32(b[96:], uint32(len(b)))
	binary.LittleEndian.PutUint16(b[105:], uint16(length))
	if minor < 4 || format < 6 {
		binary.LittleEndian.PutUint32(b[107:], uint32(len(points)))
	}
	if minor == 4 {
		binary.LittleEndian.PutUint64(b[247:], uint64(len(points)))
	}
	for axis := range 3 {
		binary.LittleEndian.PutUint64(b[131+8*axis:], math.Float64bits(step))
		binary.LittleEndian.PutUint64(b[155+8*axis:], math.Float64bits(offset[axis]))
	}
	for _, p := range points {
		row := make([]byte, length)
		for axis, c := range p {
			binary.LittleEndian.PutUint32(row[4*axis:], uint32(c))
		}
		for i := 12; i < length; i++ {
			row[i] = 1
		}
		b = append(b, row...)
	}
	return b
}

// wholeLAS writes a surface in the steps on which the coordinates of wave lie; others it cannot say.
func wholeLAS(minor, format byte) func(testing.TB, *Scan) []byte {
	return func(_ testing.TB, s *Scan) []byte {
		const step = 1.0 / (1 << 16)
		points := make([][3]int32, len(s.Points))
		for i := range points {
			for axis, c := range s.At(i) {
				points[i][axis] = int32(c / step)
			}
		}
		return lasFile(minor, format, 3, int(format), step, [3]float64{}, points)
	}
}

// TestLASVersions reads every version with every point format that it has, and wants steps and offsets obeyed:
// the specification's formula is X*scale + offset.
func TestLASVersions(t *testing.T) {
	points := [][3]int32{{0, 0, 0}, {-100000, 1, 2}, {math.MaxInt32, math.MinInt32, 7}}
	for minor, highest := range []byte{1, 1, 3, 5, 10} {
		for format := range highest + 1 {
			s, err := Decode(lasFile(byte(minor), format, 100, 2, 0.001, [3]float64{500000, -2, 1e-3}, points), "left.las", Limits{})
			if err != nil {
				t.Fatalf("1.%d, format %d: %v", minor, format, err)
			}
			sound(t, s)
			for i, p := range points {
				want := [3]float64{float64(p[0])*0.001 + 500000, float64(p[1])*0.001 - 2, float64(p[2])*0.001 + 0.001}
				for axis, c := range s.At(i) {
					if math.Abs(c-want[axis]) > 1e-7*math.Abs(want[axis]-s.Origin[axis])+1e-9 {
						t.Errorf("1.%d, format %d: point %d is %v, want %v", minor, format, i, s.At(i), want)
					}
				}
			}
		}
	}
}

// TestLASWithheld leaves out points that count as deleted, which version 1.0 cannot say.
func TestLASWithheld(t *testing.T) {
	points := [][3]int32{{1, 2, 3}, {4, 5, 6}, {7, 8, 10}}
	for _, c := range []struct{ minor, format, flag, left byte }{{1, 0, 0x80, 2}, {4, 6, 0x04, 2}, {0, 0, 0x80, 3}, {4, 6, 0x80, 3}, {3, 5, 0x04, 3}} {
		data := lasFile(c.minor, c.format, 0, 0, 1, [3]float64{}, points)
		data[len(data)-2*lasLeast(c.format)+15] = c.flag
		s, err := Decode(data, "left.las", Limits{})
		if err != nil || len(s.Points) != int(c.left) || (len(s.Messages) > 0) != (c.left == 2) {
			t.Errorf("%+v: %+v %v", c, s, err)
		}
	}
}

func TestLASMalformed(t *testing.T) {
	points := [][3]int32{{1, 2, 3}, {4, 5, 6}, {7, 8, 10}}
	for i, c := range []struct {
		at         int
		bytes      string
		says, mend string
	}{
		{24, "\x02", "version 2.2", exportInstead}, {24, "\x01\x05", "version 1.5", exportInstead}, {104, "\x83", "LAZ", exportUnpacked}, {104, "\x0b", "format 11", exportAgain},
		{105, "\x13\x00", "19 bytes", exportAgain}, {107, "\x04", "promises 4 points", stillCopying}, {107, "\xff\xff\xff\x7f", "no more than", exportCoarser},
		{96, "\x00\x00", "within the header", exportAgain}, {96, "\xff\xff\xff\xff", "only 0 bytes", stillCopying},
		{131, "\x00\x00\x00\x00\x00\x00\x00\x00", "makes no sense", exportAgain}, {155, "\x00\x00\x00\x00\x00\x00\xf0\x7f", "makes no sense", exportAgain},
		{139, "\xff\xff\xff\xff\xff\xff\xff\xff", "makes no sense", exportAgain},
	} {
		data := lasFile(2, 0, 0, 0, 1, [3]float64{}, points)
		copy(data[c.at:], c.bytes)
		_, err := Decode(data, "left.las", Limits{})
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || f.Mend != c.mend {
			t.Errorf("%d: %v, want %s", i, err, c.says)
		}
	}
	huge := lasFile(4, 6, 0, 0, 1, [3]float64{}, points)
	copy(huge[247:], "\xff\xff\xff\xff\xff\xff\xff\xff")
	if _, err := Decode(huge, "left.las", Limits{}); err == nil || !strings.Contains(err.Error(), fmt.Sprint(int64(math.MaxInt64))) {
		t.Error(err)
	}
}

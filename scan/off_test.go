package scan

import (
	"encoding/binary"
	"fmt"
	"strings"
	"testing"
)

// textOFF has normals, colours of faces and remarks, as the description allows.
func textOFF(_ testing.TB, s *Scan) []byte {
	b := fmt.Appendf(nil, "# made for a test\nNOFF # with normals\n\n%d %d 0\n", len(s.Points), len(s.Triangles))
	for i := range s.Points {
		b = append(s.appendPoint(b, i), " 0 0 1\n"...)
	}
	for i, t := range s.Triangles {
		b = fmt.Appendf(b, "3  %d %d %d", t[0], t[1], t[2])
		b = append(b, []string{"\n", " 255 0 0\n", " 0.5 0.5 0.5 1 # grey\n"}[i%3]...)
	}
	return b
}

func binaryOFF(_ testing.TB, s *Scan) []byte {
	b := []byte("OFF BINARY\n")
	whole := func(n int) { b = binary.BigEndian.AppendUint32(b, uint32(n)) }
	whole(len(s.Points))
	whole(len(s.Triangles))
	whole(0)
	for i := range s.Points {
		for _, c := range s.At(i) {
			d := appendFloat(nil, c)
			b = append(b, d[3], d[2], d[1], d[0])
		}
	}
	for i, t := range s.Triangles {
		whole(3)
		for _, c := range t {
			whole(int(c))
		}
		whole(i % 4)
		b = append(b, make([]byte, 4*(i%4))...)
	}
	return b
}

const square = "0 0 0\n2 0 0\n2 1 0\n0 1 0\n"

// TestOFFStyles reads one square in the ways in which the beginning is written.
func TestOFFStyles(t *testing.T) {
	for _, data := range []string{
		"OFF\n4 1 4\n" + square + "4 0 1 2 3\n", "OFF\r\n4 1 4\r\n" + strings.ReplaceAll(square, "\n", "\r\n") + "4 0 1 2 3",
		"OFF 4 1 4\n" + square + "4 0 1 2 3\n", "OFF4 1 4\n" + square + "4 0 1 2 3\n", "4 1 4\n" + square + "4 0 1 2 3\n", "COFF\n4 1\n" + square + "4 0 1 2 3\n",
		"nOFF 3\n4 1 4\n" + square + "4 0 1 2 3\n", "nOFF\n3\n4 1 4\n" + square + "4 0 1 2 3\n",
		"OFF\n4 1 4\n" + strings.ReplaceAll(square, " ", "\n") + "4\n0 1\n2 3\n", "OFF\n4 1 4\n" + square + "4 0\n1 2\n3\n",
		"NOFF\n4 1 4\n" + strings.ReplaceAll(square, "\n", "\n0 0 1\n") + "4 0 1 2 3\n",
		"\n# square\nSTCNOFF\n\n4 3 4\n\n" + square + "\n1 0\n4 0 1 2 3\n2 0 1\n", " OFF # here\n4 1 4 # counts\n" + square + "4 0 1 2 3\n",
	} {
		s, err := Decode([]byte(data), "left.off", Limits{})
		if err != nil || len(s.Points) != 4 || len(s.Triangles) != 2 || s.At(2) != [3]float64{2, 1, 0} || s.Format != "off" {
			t.Errorf("%q: %+v %v", data, s, err)
		}
	}
}

func TestOFFMalformed(t *testing.T) {
	for _, c := range []struct {
		data, says, mend string
		line             int
	}{
		{"OFF\n", "numbers of points and of faces", exportAgain, 1},
		{"OFF\n4\n" + square, `but "4" does`, exportAgain, 2},
		{"OFF\n4 -1 0\n" + square, "but", exportAgain, 2},
		{"OFF\n900 1 0\n" + square, "more than the 24 bytes", stillCopying, 2},
		{"OFF\n4 900 0\n" + square, "more than the 24 bytes", stillCopying, 2},
		{"OFF\n99999999999 1 0\n" + square, "no more than", exportCoarser, 0},
		{"OFF\n4 2 0\n" + square + "4 0 1 2 3\n", "ends within the 4 points and 2 faces", stillCopying, 7},
		{"OFF\n4 1 0\n" + square + "4 0 1 2 4\n", `uses point "4"`, exportAgain, 7},
		{"OFF\n4 1 0\n" + square + "4 0 1 -2 3\n", `uses point "-2"`, exportAgain, 7},
		{"OFF\n4 1 0\n" + square + "4 0 1 2\n", "has only 3", exportAgain, 7},
		{"OFF\n4 1 0\n" + square + "4 0 1 2", "has only 3", stillCopying, 7},
		{"OFF\n4 1 0\n" + square + "x 0 1 2\n", "the number of its corners", exportAgain, 7},
		{"OFF\n4 1 0\n0 0\n" + square + "4 0 1 2 3\n", "three numbers", exportAgain, 3},
		{"4OFF\n4 1 0\n" + strings.ReplaceAll(square, "\n", " 1\n") + "4 0 1 2 3\n", "other than three coordinates", exportAgain, 1},
		{"nOFF\n4\n4 1 0\n" + strings.ReplaceAll(square, "\n", " 1\n") + "4 0 1 2 3\n", "other than three coordinates", exportAgain, 2},
		{"OFF BINARY\n\x00\x00", "within the numbers", stillCopying, 0},
		{"OFF BINARY\n\x00\x00\x00\x09\x00\x00\x00\x00\x00\x00\x00\x00abc", "more than the 3 bytes", stillCopying, 0},
		{"OFF BINARY\n\x00\x00\x00\x01\x00\x00\x00\x01\x00\x00\x00\x00123456789abc\xff\x00\x00\x00\x00\x00\x00\x00", "ends within", stillCopying, 0},
		{"OFF BINARY\n\x00\x00\x00\x01\x00\x00\x00\x01\x00\x00\x00\x00123456789abc\x00\x00\x00\x01\x00\x00\x00\x01\x00\x00\x00\x00", "uses point 1", exportAgain, 0},
	} {
		_, err := Decode([]byte(c.data), "left.off", Limits{})
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || f.Mend != c.mend || f.Line != c.line {
			t.Errorf("%q: %v, want %s on line %d", c.data, err, c.says, c.line)
		}
	}
}

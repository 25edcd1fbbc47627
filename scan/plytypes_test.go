package scan

import (
	"encoding/binary"
	"fmt"
	"slices"
	"strings"
	"testing"
)

// TestPLYTypes writes the same three points with each type of number, in both byte orders and both spellings.
func TestPLYTypes(t *testing.T) {
	want := [][3]float32{{-100, 7, 0}, {100, -1, 1}, {5, 127, -128}}
	positive := [][3]float32{{200, 7, 0}, {100, 255, 1}, {5, 127, 128}}
	for _, order := range []binary.AppendByteOrder{binary.LittleEndian, binary.BigEndian} {
		for kind, code := range map[string]func(b []byte, v float32) []byte{
			"char": func(b []byte, v float32) []byte { return append(b, byte(int8(v))) }, "uchar": func(b []byte, v float32) []byte { return append(b, byte(v)) },
			"short":  func(b []byte, v float32) []byte { return order.AppendUint16(b, uint16(int16(v))) },
			"uint16": func(b []byte, v float32) []byte { return order.AppendUint16(b, uint16(v)) },
			"int32":  func(b []byte, v float32) []byte { return order.AppendUint32(b, uint32(int32(v))) },
			"uint":   func(b []byte, v float32) []byte { return order.AppendUint32(b, uint32(v)) },
		} {
			points := want
			if kind[0] == 'u' {
				points = positive
			}
			head := strings.ReplaceAll(binaryHead("3"), "float", kind)
			if fmt.Sprint(order) == fmt.Sprint(binary.BigEndian) {
				head = strings.Replace(head, "little", "big", 1)
			}
			data := []byte(head + "end_header\n")
			for _, p := range points {
				for _, c := range p {
					data = code(data, c)
				}
			}
			s, err := Decode(data, "left.ply", Limits{})
			if err != nil {
				t.Errorf("%s %v: %v", kind, order, err)
			} else if !slices.Equal(s.Points, points) {
				t.Errorf("%s %v: %v, want %v", kind, order, s.Points, points)
			}
		}
	}
}

// TestOldLineEndsBeforeABody has a header whose lines end in CR and a body that begins with the byte of an LF.
func TestOldLineEndsBeforeABody(t *testing.T) {
	body := "\x0a\x00\x00\x3f\x00\x00\x80\x3f\x00\x00\x00\x40" // 0.5 and a little, 1, 2
	s, err := Decode([]byte(strings.ReplaceAll(binaryHead("1")+"end_header\n", "\n", "\r")+body), "left.ply", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	if p := s.Points[0]; p[0] < 0.5 || p[0] > 0.5001 || p[1] != 1 || p[2] != 2 {
		t.Error(p)
	}
}

// TestMixedLineEnds holds that no line is lost where a text was put together from several systems.
func TestMixedLineEnds(t *testing.T) {
	s := points(t, "1 0 0\n2 0 0\r3 0 0\r\n4 0 0\r\r5 0 0\n\r6 0 0\r7 0 0")
	for i, p := range s.Points {
		if p != ([3]float32{float32(i + 1), 0, 0}) {
			t.Fatalf("point %d is %v", i, p)
		}
	}
	if len(s.Points) != 7 {
		t.Errorf("%d points", len(s.Points))
	}
	l := newLines([]byte("a\nb\rc\r\n\nd"))
	var seen []string
	for {
		line, ok := l.next()
		if !ok {
			break
		}
		seen = append(seen, fmt.Sprintf("%d%s", l.no, line))
	}
	if want := []string{"1a", "2b", "3c", "4", "5d"}; !slices.Equal(seen, want) {
		t.Errorf("%q, want %q", seen, want)
	}
}

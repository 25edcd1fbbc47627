package scan

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// asciiPCD has columns before, between and after the coordinates, and a remark in the header.
func asciiPCD(_ testing.TB, s *Scan) []byte {
	var b bytes.Buffer
	b.WriteString("# .PCD v.7 - Point Cloud Data file format\r\nVERSION .7\r\nFIELDS normal z x y rgb\r\nSIZE 4 4 4 4 4\r\nTYPE F F F F U\r\nCOUNT 3 1 1 1 1\r\n")
	fmt.Fprintf(&b, "WIDTH %d\r\nHEIGHT 1\r\nVIEWPOINT 0 0 0 1 0 0 0\r\nPOINTS %d\r\nDATA ascii\r\n", len(s.Points), len(s.Points))
	for i := range s.Points {
		c := bytes.Fields(s.appendPoint(nil, i))
		fmt.Fprintf(&b, "0 0 nan %s %s %s 4294967295\r\n", c[2], c[0], c[1])
	}
	return b.Bytes()
}

func pcdHead(points int, fields, sizes, types, counts, data string) []byte {
	return fmt.Appendf(nil, "VERSION 0.7\nFIELDS %s\nSIZE %s\nTYPE %s\nCOUNT %s\nWIDTH %d\nHEIGHT 1\nPOINTS %d\nDATA %s\n", fields, sizes, types, counts, points, points, data)
}

func binaryPCD(_ testing.TB, s *Scan) []byte {
	b := pcdHead(len(s.Points), "x y z _ curvature", "4 4 4 1 4", "F F F U F", "1 1 1 4 1", "binary")
	for i := range s.Points {
		for _, c := range s.At(i) {
			b = appendFloat(b, c)
		}
		b = append(b, 1, 2, 3, 4, 0, 0, 0x80, 0x3f)
	}
	return b
}

// doublePCD has no line POINTS, as older versions, and is a grid of one column.
func doublePCD(_ testing.TB, s *Scan) []byte {
	b := pcdHead(len(s.Points), "z y x", "8 8 8", "F F F", "1 1 1", "binary")
	b = bytes.Replace(b, fmt.Appendf(nil, "WIDTH %d\nHEIGHT 1\nPOINTS %[1]d\n", len(s.Points)), fmt.Appendf(nil, "WIDTH 1\nHEIGHT %d\n", len(s.Points)), 1)
	for i := range s.Points {
		p := s.At(i)
		b = appendDouble(appendDouble(appendDouble(b, p[2]), p[1]), p[0])
	}
	return b
}

func compressedPCD(_ testing.TB, s *Scan) []byte {
	b := pcdHead(len(s.Points), "i x y z", "2 4 4 4", "U F F F", "2 1 1 1", "binary_compressed")
	columns := make([]byte, 4*len(s.Points))
	for axis := range 3 {
		for i := range s.Points {
			columns = appendFloat(columns, s.At(i)[axis])
		}
	}
	packed := packLZF(columns)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(packed)))
	b = binary.LittleEndian.AppendUint32(b, uint32(len(columns)))
	return append(b, packed...)
}

// packLZF packs without haste: at every 64th byte it looks for the same bytes 1, 4 or 8000 before, and writes
// all else out. Up to 16 bytes are packed at a time.
func packLZF(d []byte) (packed []byte) {
	for at := 0; at < len(d); {
		back, length := 0, 0
		for _, b := range []int{1, 4, 8000} {
			n := 0
			for b <= at && at+n < len(d) && n < 16 && d[at+n] == d[at-b+n] {
				n++
			}
			if n > length {
				back, length = b, n
			}
		}
		switch {
		case length >= 9:
			packed = append(packed, byte(7<<5|(back-1)>>8), byte(length-9), byte(back-1))
		case length >= 3:
			packed = append(packed, byte((length-2)<<5|(back-1)>>8), byte(back-1))
		default:
			length = min(32, 64-at%64, len(d)-at)
			packed = append(append(packed, byte(length-1)), d[at:at+length]...)
		}
		at += length
	}
	return packed
}

func TestLZFReturns(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := rapid.SliceOf(rapid.SampledFrom([]byte("aaab"))).Draw(t, "bytes")
		want = bytes.Repeat(want, rapid.IntRange(1, 40).Draw(t, "times"))
		got, ok := unpackLZF(packLZF(want), len(want))
		if !ok || !bytes.Equal(got, want) {
			t.Fatalf("%q became %q, %v", want, got, ok)
		}
	})
}

// TestLZFBytes holds the unpacking to streams laid down by hand from the description of the format.
func TestLZFBytes(t *testing.T) {
	for _, c := range []struct{ packed, want string }{
		{"", ""}, {"\x02abc", "abc"}, {"\x00a\x20\x00", "aaaa"}, {"\x02abc\x40\x02", "abcabca"}, {"\x00a\xe0\x02\x00", "aaaaaaaaaaaa"},
		{"\x02ab", "damaged"}, {"\x00a\x20", "damaged"}, {"\x00a\x20\x01", "damaged"}, {"\x00a\xe0\x02", "damaged"}, {"\x00a\xe0", "damaged"}, {"\x20\x00", "damaged"},
	} {
		got, ok := unpackLZF([]byte(c.packed), len(c.want))
		if ok != (c.want != "damaged") || ok && string(got) != c.want {
			t.Errorf("%q: %q, %v", c.packed, got, ok)
		}
	}
	if _, ok := unpackLZF([]byte("\x02abc"), 2); ok {
		t.Error("more bytes than promised")
	}
}

// TestPCDTypes reads each type of number; two's complement and IEEE 754 say what the bytes mean.
func TestPCDTypes(t *testing.T) {
	for _, c := range []struct {
		size, kind string
		bytes      string
		want       float64
	}{
		{"1", "I", "\xfe", -2}, {"1", "U", "\xfe", 254}, {"2", "I", "\xfe\xff", -2}, {"2", "U", "\xfe\xff", 65534}, {"4", "I", "\xfe\xff\xff\xff", -2},
		{"4", "U", "\xfe\xff\xff\xff", 4294967294}, {"8", "I", "\xfe\xff\xff\xff\xff\xff\xff\xff", -2}, {"8", "U", "\x00\x00\x01\x00\x00\x00\x00\x00", 65536},
		{"4", "F", "\x00\x00\x20\xc1", -10}, {"8", "F", "\x00\x00\x00\x00\x00\x00\x24\xc0", -10},
	} {
		data := append(pcdHead(1, "x y z", c.size+" 1 1", c.kind+" I I", "1 1 1", "binary"), c.bytes+"\x05\xfb"...)
		s, err := Decode(data, "left.pcd", Limits{})
		if err != nil || math.Abs(s.At(0)[0]-c.want) > 0 || s.At(0)[1] != 5 || s.At(0)[2] != -5 {
			t.Errorf("%s%s: %v %v", c.kind, c.size, s, err)
		}
	}
}

func TestPCDMalformed(t *testing.T) {
	good := string(asciiPCD(t, one()))
	swap := func(old, new string) string { return strings.Replace(good, old, new, 1) }
	packed := string(compressedPCD(t, one()))
	body := strings.Index(packed, "compressed\n") + len("compressed\n")
	for _, c := range []struct {
		data, says, mend string
		line             int
	}{
		{"VERSION .7\nFIELDS x y z\n", "ends within the PCD header", stillCopying, 2},
		{swap("DATA ascii", "DATA packed"), "unknown form", exportAgain, 11},
		{swap("WIDTH 3", "WIDE 3"), "unknown statement", exportAgain, 7},
		{swap("WIDTH 3", "WIDTH -3"), "makes no sense", exportAgain, 7},
		{swap("WIDTH 3", "WIDTH 3 3"), "one number", exportAgain, 7},
		{swap("WIDTH 3", "WIDTH 2"), "contradicts itself", exportAgain, 11},
		{swap("SIZE 4 4", "SIZE 4"), "one value for each", exportAgain, 4},
		{swap("SIZE 4 4", "SIZE 4 3"), "a value makes no sense", exportAgain, 4},
		{swap("SIZE 4 4", "SIZE 4 2"), "floating-point values of 2 bytes", exportAgain, 11},
		{swap("COUNT 3", "COUNT 65000"), "more bytes than makes sense", exportAgain, 11},
		{swap("TYPE F F", "TYPE F Q"), "a value makes no sense", exportAgain, 5},
		{swap("normal z x", "normal w x"), "no field z", exportAgain, 0},
		{strings.ReplaceAll(good, " 3\r", " 900\r"), "promises 900 points, more than", stillCopying, 11},
		{strings.ReplaceAll(good, " 3\r", " 4\r"), "ends after 3 of the 4", stillCopying, 14},
		{strings.ReplaceAll(good, " 3\r", " 999999999\r"), "no more than", exportCoarser, 0},
		{swap("0 0 nan 0 2", "0 0 nan 0 2O"), `"2O" is not a number`, exportAgain, 13},
		{swap(" 2 0 4294967295", " 2"), "only 5 values", exportAgain, 13},
		{string(pcdHead(50, "x y z", "4 4 4", "F F F", "1 1 1", "binary")) + "abc", "promises 50 points", stillCopying, 0},
		{"VERSION 1\nFIELDS\nPOINTS 3\nDATA ascii\n", "names no fields", exportAgain, 4},
		{"VERSION 1\nFIELDS x y z\nDATA ascii\n", "how many points", exportAgain, 3},
		{packed[:body+5], "before its packed points", stillCopying, 0},
		{packed[:body+20], "but only 12 are there", stillCopying, 0},
		{packed[:body+4] + "\x31" + packed[body+5:], "unpack to 49 bytes", exportAgain, 0},
		{packed[:body+8] + "\xff" + packed[body+9:], "damaged", exportAgain, 0},
		{string(pcdHead(10000, "x y z", "4 4 4", "F F F", "1 1 1", "binary_compressed")) + "\x02\x00\x00\x00\xc0\xd4\x01\x00ab", "2 packed bytes cannot hold", exportAgain, 0},
	} {
		_, err := Decode([]byte(c.data), "left.pcd", Limits{})
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || f.Mend != c.mend || f.Line != c.line {
			t.Errorf("%.60q: %v, want %s on line %d", c.data, err, c.says, c.line)
		}
	}
}

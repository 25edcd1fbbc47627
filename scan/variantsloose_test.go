package scan

import (
	"bytes"
	"fmt"
	"testing"
)

// brokenPLY has rows that do not keep to lines.
func brokenPLY(_ testing.TB, s *Scan) []byte {
	b := fmt.Appendf(nil, "ply\nformat ascii 1.0\nelement vertex %d\nproperty float x\nproperty float y\nproperty float z\n", len(s.Points))
	b = fmt.Appendf(b, "element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(s.Triangles))
	for i := range s.Points {
		b = append(s.appendPoint(b, i), " \n"[i%2])
	}
	for i, t := range s.Triangles {
		b = fmt.Appendf(b, "3 %d\n%d %d%c", t[0], t[1], t[2], " \n"[i%2])
	}
	return b
}

// stripPLY has its triangles in strips of one each, parted by -1, as some range scans have longer ones.
func stripPLY(_ testing.TB, s *Scan) []byte {
	b := fmt.Appendf(nil, "ply\nformat ascii 1.0\nelement vertex %d\nproperty double x\nproperty double y\nproperty double z\n", len(s.Points))
	b = append(b, "element tristrips 1\nproperty list int int vertex_indices\nend_header\n"...)
	for i := range s.Points {
		b = append(s.appendPoint(b, i), '\n')
	}
	b = fmt.Append(b, 4*len(s.Triangles))
	for _, t := range s.Triangles {
		b = fmt.Appendf(b, " %d %d %d -1", t[0], t[1], t[2])
	}
	return append(b, '\n')
}

// wordsOFF has every number on a line of its own.
func wordsOFF(t testing.TB, s *Scan) []byte {
	b := fmt.Appendf(nil, "OFF %d %d 0\n", len(s.Points), len(s.Triangles))
	for i := range s.Points {
		b = append(s.appendPoint(b, i), '\n')
	}
	for _, t := range s.Triangles {
		b = fmt.Appendf(b, "3 %d %d %d\n", t[0], t[1], t[2])
	}
	head, body, _ := bytes.Cut(b, []byte{'\n'})
	return append(append(head, '\n'), bytes.ReplaceAll(body, []byte{' '}, []byte{'\n'})...)
}

// TestEveryByte changes every byte of a small file of every variant in turn, by one bit, in all bits and to a blank: the file is
// refused in full words or gives a sound scan.
func TestEveryByte(t *testing.T) {
	want := wave(3)
	for _, v := range variants() {
		t.Run(v.name, func(t *testing.T) {
			good := v.write(t, want)
			data := bytes.Clone(good)
			for at, was := range good {
				for _, change := range []byte{0x01, 0xff, was ^ ' '} {
					data[at] = was ^ change
					s, err := Decode(data, "left"+v.ending, Limits{MaxPoints: 1 << 16})
					if err != nil {
						checkRefusal(t, err)
						continue
					}
					sound(t, s)
				}
				data[at] = was
			}
		})
	}
}

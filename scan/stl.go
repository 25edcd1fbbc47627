package scan

import (
	"bytes"
	"encoding/binary"
	"math"
)

// The binary STL has a header of 80 bytes and a count of 4, then 50 bytes for each triangle.
const (
	stlHeader   = 84
	stlTriangle = 50
)

// promisedSTL returns how many triangles a binary STL says it has, and how many bytes that makes.
func promisedSTL(head []byte) (triangles, size int64) {
	n := int64(binary.LittleEndian.Uint32(head[stlHeader-4:]))
	return n, stlHeader + n*stlTriangle
}

// looksBinarySTL tells a binary STL, whole, by its size.
func looksBinarySTL(in *input) bool {
	if in.size <= stlHeader {
		return false
	}
	_, size := promisedSTL(in.data)
	return size == in.size
}

// readSTL reads a file that is a binary STL by its size, or that is an STL by its name alone.
func readSTL(in *input) (*Scan, error) {
	if !looksBinarySTL(in) && isText(in.data) {
		return readTextSTL(in)
	}
	size, b, err := checkBinarySTL(in)
	if err != nil {
		return nil, err
	}
	triangles := (size - stlHeader) / stlTriangle
	sink := newSTLSink(b, triangles)
	if err := sink.binary(newWindow(in, stlHeader), int(triangles)); err != nil {
		return nil, err
	}
	return sink.scan()
}

// checkBinarySTL compares what the header promises with what is there and returns how many bytes to read.
func checkBinarySTL(in *input) (int64, *build, error) {
	if in.size < stlHeader {
		return 0, nil, in.at(in.size, stillCopying, "the file ends within the %d bytes of a binary STL's header", stlHeader)
	}
	n, size := promisedSTL(in.data)
	whole := (in.size - stlHeader) / stlTriangle
	switch {
	case n == 0 && whole > 0:
		return 0, nil, in.at(stlHeader-4, exportAgain, "the binary STL's header promises no triangles, yet there are bytes for %d: its program did not finish it", whole)
	case n == 0:
		return 0, nil, in.at(stlHeader-4, exportAgain, "there is not one triangle in it")
	case size > in.size:
		return 0, nil, in.at(in.size, stillCopying, "it should have %d bytes for the %d triangles that its header promises, but only %d are there, for %d triangles", size, n, in.size, whole)
	}
	if err := in.checkCounts(0, n); err != nil {
		return 0, nil, err
	}
	b := &build{in: in}
	if in.size > size {
		b.messages = append(b.messages, Notef("left-over", "The file goes on for %d bytes after the %d triangles that its header promises. The rest was not read.", in.size-size, n))
	}
	return size, b, nil
}

// stlSink takes triangles and welds their corners.
type stlSink struct {
	build     *build
	weld      *welder
	triangles [][3]uint32
}

// newSTLSink makes one for about so many triangles. A mesh has half as many points, and some more by its open edges.
func newSTLSink(b *build, triangles int64) *stlSink {
	b.faced = true
	return &stlSink{build: b, weld: newWelder(int(triangles/2+triangles/32) + 3), triangles: roomFor[[3]uint32](int(triangles))[:0]}
}

// add takes one triangle. One with an unusable corner is counted and left out.
func (s *stlSink) add(v *[3][3]float32) {
	if !usable(v[0]) || !usable(v[1]) || !usable(v[2]) {
		s.build.lost.triangles++
		return
	}
	s.triangles = append(s.triangles, [3]uint32{s.weld.number(v[0]), s.weld.number(v[1]), s.weld.number(v[2])})
}

func (s *stlSink) scan() (*Scan, error) {
	if len(s.triangles)+s.build.flat == 0 && s.build.lost.triangles > 0 {
		return nil, s.build.in.refuse(exportAgain, "none of its %d triangles has usable coordinates", s.build.lost.triangles)
	}
	if err := s.build.in.checkCounts(int64(len(s.weld.points)), 0); err != nil {
		return nil, err
	}
	s.build.narrow, s.build.triangles, s.build.welded = s.weld.points, s.triangles, true
	s.build.plain = true // what is not usable is out already, and in a mesh a point at zero is as good as any
	return s.build.scan("stl")
}

// looksLongSTL tells a binary STL with bytes after its last triangle: it is not text, its first triangles have
// directions of length one or none and usable corners, and what goes on after the last is little.
func looksLongSTL(in *input) bool {
	if in.size < stlHeader+stlTriangle || isText(in.data) {
		return false
	}
	n, size := promisedSTL(in.data)
	if n == 0 || size > in.size || in.size-size > max(1024, size/100) {
		return false
	}
	for i := range min(n, 100) {
		at := int(stlHeader + i*stlTriangle)
		if at+stlTriangle > len(in.data) {
			break
		}
		if !plausibleFacet(in.data[at:]) {
			return false
		}
	}
	return true
}

// plausibleFacet tells whether twelve numbers of single precision can be a direction and three corners.
func plausibleFacet(d []byte) bool {
	var v [12]float32
	for i := range v {
		v[i] = math.Float32frombits(binary.LittleEndian.Uint32(d[4*i:]))
	}
	square := float64(v[0])*float64(v[0]) + float64(v[1])*float64(v[1]) + float64(v[2])*float64(v[2])
	if !(square == 0 || square > 0.9 && square < 1.1) {
		return false
	}
	return usable([3]float32(v[3:6])) && usable([3]float32(v[6:9])) && usable([3]float32(v[9:12]))
}

// looksTextSTL tells an ASCII STL: "solid", and a facet or the end not far off.
func looksTextSTL(in *input) bool {
	begin := in.data[:min(len(in.data), 4096)]
	begin = bytes.ToLower(begin[solidAt(begin):])
	words := bytes.Fields(begin)
	if len(words) == 0 || string(words[0]) != "solid" || !isText(in.data) {
		return false
	}
	return bytes.Contains(begin, []byte("facet")) || bytes.Contains(begin, []byte("endsolid"))
}

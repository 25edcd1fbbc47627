package scan

import (
	"bytes"
	"encoding/binary"

	"github.com/hschendel/stl"
)

// The binary STL has a header of 80 bytes and a count of 4, then 50 bytes for each triangle.
const (
	stlHeader   = 84
	stlTriangle = 50
)

// promisedSTL returns how many triangles a binary STL says it has, and how many bytes that makes.
func promisedSTL(data []byte) (triangles, size int64) {
	n := int64(binary.LittleEndian.Uint32(data[stlHeader-4:]))
	return n, stlHeader + n*stlTriangle
}

// looksBinarySTL tells a binary STL, whole, by its size.
func looksBinarySTL(in *input) bool {
	if len(in.data) <= stlHeader {
		return false
	}
	_, size := promisedSTL(in.data)
	return size == int64(len(in.data))
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
	sink := newSTLSink(b, (size-stlHeader)/stlTriangle)
	if err := stl.CopyAll(bytes.NewReader(in.data[:size]), sink); err != nil {
		return nil, &FormatError{File: in.name, Msg: "the binary STL cannot be read", Err: err, Mend: exportAgain}
	}
	return sink.scan()
}

// checkBinarySTL compares what the header promises with what is there and returns how many bytes to read.
func checkBinarySTL(in *input) (int64, *build, error) {
	have := int64(len(in.data))
	if have < stlHeader {
		return 0, nil, in.at(len(in.data), stillCopying, "the file ends within the %d bytes of a binary STL's header", stlHeader)
	}
	n, size := promisedSTL(in.data)
	whole := (have - stlHeader) / stlTriangle
	switch {
	case n == 0 && whole > 0:
		return 0, nil, in.at(stlHeader-4, exportAgain, "the binary STL's header promises no triangles, yet there are bytes for %d: its program did not finish it", whole)
	case n == 0:
		return 0, nil, in.at(stlHeader-4, exportAgain, "there is not one triangle in it")
	case size > have:
		return 0, nil, in.at(len(in.data), stillCopying, "it should have %d bytes for the %d triangles that its header promises, but only %d are there, for %d triangles", size, n, have, whole)
	}
	if err := in.checkCounts(0, n); err != nil {
		return 0, nil, err
	}
	b := &build{in: in}
	if have > size {
		b.messages = append(b.messages, Notef("left-over", "The file goes on for %d bytes after the %d triangles that its header promises. The rest was not read.", have-size, n))
	}
	return size, b, nil
}

// stlSink takes triangles one by one, as [stl.Writer], and welds their corners.
type stlSink struct {
	build     *build
	weld      *welder
	triangles [][3]uint32
}

func newSTLSink(b *build, triangles int64) *stlSink {
	b.faced = true
	return &stlSink{build: b, weld: newWelder(int(triangles/2) + 3), triangles: make([][3]uint32, 0, triangles)}
}

// SetName is part of [stl.Writer]; the name says nothing of the surface.
func (s *stlSink) SetName(string) {}

// SetBinaryHeader is part of [stl.Writer].
func (s *stlSink) SetBinaryHeader([]byte) {}

// SetASCII is part of [stl.Writer].
func (s *stlSink) SetASCII(bool) {}

// SetTriangleCount is part of [stl.Writer]; the count was checked before.
func (s *stlSink) SetTriangleCount(uint32) {}

// AppendTriangle is part of [stl.Writer]. Triangles with an unusable corner are counted and left out.
func (s *stlSink) AppendTriangle(t stl.Triangle) {
	for _, v := range t.Vertices {
		if !usable([3]float32(v)) {
			s.build.lost.triangles++
			return
		}
	}
	s.triangles = append(s.triangles, [3]uint32{s.weld.number(t.Vertices[0]), s.weld.number(t.Vertices[1]), s.weld.number(t.Vertices[2])})
}

func (s *stlSink) scan() (*Scan, error) {
	if len(s.triangles) == 0 && s.build.lost.triangles > 0 {
		return nil, s.build.in.refuse(exportAgain, "none of its %d triangles has usable coordinates", s.build.lost.triangles)
	}
	if err := s.build.in.checkCounts(int64(len(s.weld.points)), 0); err != nil {
		return nil, err
	}
	s.build.narrow, s.build.triangles, s.build.welded = s.weld.points, s.triangles, true
	return s.build.scan("stl")
}

// looksTextSTL tells an ASCII STL: "solid", and a facet or the end not far off.
func looksTextSTL(in *input) bool {
	begin := bytes.ToLower(in.data[:min(len(in.data), 1024)])
	words := bytes.Fields(bytes.TrimPrefix(begin, []byte("\xef\xbb\xbf")))
	if len(words) == 0 || string(words[0]) != "solid" || !isText(in.data) {
		return false
	}
	return bytes.Contains(begin, []byte("facet")) || bytes.Contains(begin, []byte("endsolid"))
}

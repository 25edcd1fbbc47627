package scan

import (
	"bytes"
	"encoding/binary"
	"io"
	"math"

	"github.com/hschendel/stl"
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
	sink := newSTLSink(b, (size-stlHeader)/stlTriangle)
	file := &stlFile{in: in, size: size}
	if err := stl.CopyAll(file, sink); err != nil {
		if file.err != nil { // the library keeps only its words
			return nil, in.broken(file.pos, file.err)
		}
		return nil, &FormatError{File: in.name, Msg: "the binary STL cannot be read", Err: err, Mend: exportAgain}
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

// stlFile hands an input to the library, which looks at the header and at the size and then begins anew. It
// ends where the last triangle does.
type stlFile struct {
	in   *input
	size int64
	pos  int64
	err  error // of the file system
}

// Read is part of [io.ReadSeeker].
func (f *stlFile) Read(p []byte) (n int, err error) {
	if f.pos >= f.size {
		return 0, io.EOF
	}
	p = p[:min(int64(len(p)), f.size-f.pos)]
	if f.pos < int64(len(f.in.data)) {
		n = copy(p, f.in.data[f.pos:])
	} else if n, err = f.in.rest.Read(p); err != nil {
		f.err = err
	}
	f.pos += int64(n)
	return n, err
}

// Seek is part of [io.ReadSeeker]. The library asks for the end, to learn the size, and for the beginning.
func (f *stlFile) Seek(offset int64, whence int) (int64, error) {
	if whence == io.SeekEnd {
		offset += f.size
	}
	f.pos = offset
	return offset, nil
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

package scan

import (
	"bytes"
	"encoding/binary"
	"math"
)

// pcdField is one column of a PCD file: count values of one kind, size bytes each in the binary forms.
type pcdField struct {
	name   string
	size   int
	kind   byte // 'I' signed, 'U' unsigned, 'F' floating point
	count  int
	column int // of its first value in the ASCII form
	offset int // of its first byte in a row of the binary form
}

// value decodes the first value of the field.
func (f *pcdField) value(d []byte) float64 {
	var u uint64
	switch f.size {
	case 1:
		u = uint64(d[0])
	case 2:
		u = uint64(binary.LittleEndian.Uint16(d))
	case 4:
		u = uint64(binary.LittleEndian.Uint32(d))
	default:
		u = binary.LittleEndian.Uint64(d)
	}
	switch {
	case f.kind == 'U':
		return float64(u)
	case f.kind == 'I':
		unused := 64 - 8*f.size
		return float64(int64(u<<unused) >> unused)
	case f.size == 4:
		return float64(math.Float32frombits(uint32(u)))
	}
	return math.Float64frombits(u)
}

// looksPCD tells a PCD file by its first remark, or by the keywords that its header begins with.
func looksPCD(in *input) bool {
	if bytes.HasPrefix(in.data, []byte("# .PCD")) {
		return true
	}
	l := newLines(in.data[:min(len(in.data), 4096)])
	for {
		line, ok := l.next()
		if !ok {
			return false
		}
		if isComment(line) {
			continue
		}
		key, rest := word(line)
		return string(key) == "VERSION" && len(rest) > 0
	}
}

// pcdReader reads the points of a PCD file, versions 0.5 to 0.7. The sensor's viewpoint moves the cloud as a
// whole and is passed over, as are all fields but the position.
type pcdReader struct {
	in    *input
	head  *pcdHeader
	build *build
	xyz   [3]*pcdField
}

func readPCD(in *input) (*Scan, error) {
	h, err := readPCDHeader(in)
	if err != nil {
		return nil, err
	}
	p := &pcdReader{in: in, head: h, build: &build{in: in}}
	for i, name := range []string{"x", "y", "z"} {
		if p.xyz[i] = h.field(name); p.xyz[i] == nil {
			return nil, in.refuse(exportAgain, "its points have no field %s", name)
		}
	}
	switch h.data {
	case "ascii":
		err = p.text()
	case "binary":
		err = p.binary()
	default:
		err = p.compressed()
	}
	if err != nil {
		return nil, err
	}
	return p.build.scan("pcd")
}

// single tells whether all three coordinates are in single precision.
func (p *pcdReader) single() bool {
	for _, f := range p.xyz {
		if f.kind != 'F' || f.size != 4 {
			return false
		}
	}
	return true
}

// text reads the ASCII form, a line for each point.
func (p *pcdReader) text() error {
	if err := p.in.load(); err != nil {
		return err
	}
	l := newLines(p.in.data[p.head.length:])
	l.no = p.head.lines
	if left := int64(len(l.rest)) + 1; p.head.points > left/(2*int64(p.head.columns)) {
		return p.in.onLine(l.no, stillCopying, "the header promises %d points, more than the %d bytes left in the file can hold", p.head.points, left-1)
	}
	p.build.wide = make([][3]float64, 0, p.head.points)
	for int64(len(p.build.wide)) < p.head.points {
		line, ok := l.next()
		if !ok {
			return p.in.onLine(l.no, stillCopying, "the file ends after %d of the %d points that its header promises", len(p.build.wide), p.head.points)
		}
		if isComment(line) {
			continue
		}
		point, err := p.line(l, line)
		if err != nil {
			return err
		}
		p.build.wide = append(p.build.wide, point)
	}
	p.tellLeft(int64(len(bytes.TrimSpace(l.rest))))
	return nil
}

// line reads the three coordinates among the values of a line.
func (p *pcdReader) line(l *lines, line []byte) (point [3]float64, err error) {
	for column := range p.head.columns {
		var w []byte
		if w, line = word(line); len(w) == 0 {
			return point, p.in.onLine(l.no, l.mend(), "the line has only %d values, and the header names %d", column, p.head.columns)
		}
		for axis, f := range p.xyz {
			if f.column != column {
				continue
			}
			v, ok := number(w, '.')
			if !ok {
				return point, p.in.onLine(l.no, exportAgain, "%s is not a number", shown(w))
			}
			point[axis] = v
		}
	}
	return point, nil
}

// binary reads the rows one after another.
func (p *pcdReader) binary() error {
	w := newWindow(p.in, p.head.length)
	if p.head.points > w.left()/int64(p.head.row) {
		return p.in.at(w.at(), stillCopying, "the header promises %d points, which take %d bytes each, but only %d are left in the file", p.head.points, p.head.row, w.left())
	}
	row := func() ([3]float64, error) {
		d, err := w.take(p.head.row)
		if err != nil {
			return [3]float64{}, err
		}
		return [3]float64{p.xyz[0].value(d[p.xyz[0].offset:]), p.xyz[1].value(d[p.xyz[1].offset:]), p.xyz[2].value(d[p.xyz[2].offset:])}, nil
	}
	if err := p.gather(row); err != nil {
		return err
	}
	p.tellLeft(w.left())
	return nil
}

// compressed reads the form in which all values of one field stand together, packed as a whole.
func (p *pcdReader) compressed() error {
	d, err := p.unpack()
	if err != nil {
		return err
	}
	var at [3][]byte
	for i, f := range p.xyz {
		at[i] = d[int64(f.offset)*p.head.points:]
	}
	i := 0
	return p.gather(func() (point [3]float64, err error) {
		for axis, f := range p.xyz {
			point[axis] = f.value(at[axis][i*f.size*f.count:])
		}
		i++
		return point, nil
	})
}

// pcdPoint is how many bytes a packed point may have on average: position, normal, colour and curvature take 48.
const pcdPoint = 64

// unpack brings in the packed body. Its two lengths are held to the header and to what is there before
// anything is laid out for them.
func (p *pcdReader) unpack() ([]byte, error) {
	if err := p.in.load(); err != nil {
		return nil, err
	}
	body := p.in.data[p.head.length:]
	if len(body) < 8 {
		return nil, p.in.at(p.in.size, stillCopying, "the file ends before its packed points")
	}
	packed, size := int64(binary.LittleEndian.Uint32(body)), int64(binary.LittleEndian.Uint32(body[4:]))
	body = body[8:]
	switch {
	case packed > int64(len(body)):
		return nil, p.in.at(p.in.size, stillCopying, "its points are packed into %d bytes, but only %d are there", packed, len(body))
	case size != p.head.points*int64(p.head.row):
		return nil, p.in.at(int64(p.head.length)+4, exportAgain, "its points unpack to %d bytes, but the header promises %d points of %d bytes", size, p.head.points, p.head.row)
	case size > pcdPoint*int64(p.in.lim.MaxPoints):
		return nil, p.in.over(OverPoints, "its points unpack to %d bytes, and no more than %d are read", size, pcdPoint*int64(p.in.lim.MaxPoints))
	case size > lzfMost*packed:
		return nil, p.in.at(int64(p.head.length), exportAgain, "%d packed bytes cannot hold the %d that are promised", packed, size)
	}
	d, ok := unpackLZF(body[:packed], int(size))
	if !ok {
		return nil, p.in.at(int64(p.head.length)+8, exportAgain, "its packed points are damaged")
	}
	p.tellLeft(int64(len(body)) - packed)
	return d, nil
}

// gather takes in all points, each from next.
func (p *pcdReader) gather(next func() ([3]float64, error)) (err error) {
	if p.single() {
		p.build.narrow, err = pcdPoints[float32](p.head.points, next)
	} else {
		p.build.wide, err = pcdPoints[float64](p.head.points, next)
	}
	return err
}

func pcdPoints[T float32 | float64](n int64, next func() ([3]float64, error)) ([][3]T, error) {
	points := make([][3]T, n)
	for i := range points {
		v, err := next()
		if err != nil {
			return nil, err
		}
		points[i] = [3]T{T(v[0]), T(v[1]), T(v[2])}
	}
	return points, nil
}

// tellLeft notes bytes after the last point; some writers end with a line end.
func (p *pcdReader) tellLeft(left int64) {
	if left > 2 {
		p.build.messages = append(p.build.messages, Notef("left-over", "The file goes on for %d bytes after all that its header promises. The rest was not read.", left))
	}
}

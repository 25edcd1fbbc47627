package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
)

// offHead is what the beginning of an OFF file says.
type offHead struct {
	binary bool
	extra  int // how many numbers each point has beside its position, as the keyword tells
	points int64
	faces  int64
	lines  int // how many lines it has
	length int // how many bytes
}

// offKeyword is the keyword of an OFF file: OFF, with letters before it that tell what else each point has (ST
// texture, C colour, N normal), and 4 or n for points in other dimensions than three.
type offKeyword struct {
	extra    int  // how many numbers each point has beside its position
	four, nD bool // 4OFF has four coordinates; nOFF says how many before the counts
}

// cutOFFKeyword splits the keyword off a line. What follows may stand against it without a blank.
func cutOFFKeyword(line []byte) (k offKeyword, rest []byte, ok bool) {
	rest = bytes.TrimLeft(line, " \t")
	for _, part := range []struct {
		letters string
		extra   int
	}{{"ST", 2}, {"C", 4}, {"N", 3}} {
		if cut, ok := bytes.CutPrefix(rest, []byte(part.letters)); ok {
			rest, k.extra = cut, k.extra+part.extra
		}
	}
	rest, k.four = bytes.CutPrefix(rest, []byte("4"))
	rest, k.nD = bytes.CutPrefix(rest, []byte("n"))
	rest, ok = bytes.CutPrefix(rest, []byte("OFF"))
	if !ok || len(rest) > 0 && !isBlank(rest[0]) && (rest[0] < '0' || rest[0] > '9') {
		return offKeyword{}, nil, false
	}
	return k, rest, true
}

// offLine returns the next line with something other than a remark on it, without the remark.
func offLine(l *lines) ([]byte, bool) {
	for {
		line, ok := l.next()
		if !ok {
			return nil, false
		}
		if i := bytes.IndexByte(line, '#'); i >= 0 {
			line = line[:i]
		}
		if w, _ := word(line); len(w) > 0 {
			return line, true
		}
	}
}

// looksOFF tells an OFF file by its keyword. It may be left out; then the name must tell and three counts begin
// the file.
func looksOFF(in *input) bool {
	line, ok := offLine(newLines(in.data[:min(len(in.data), 4096)]))
	if !ok {
		return false
	}
	if _, _, ok = cutOFFKeyword(line); ok {
		return true
	}
	counts := bytes.Fields(line)
	return in.ending() == ".off" && len(counts) == 3 && isWhole(counts[0]) && isWhole(counts[1]) && isWhole(counts[2])
}

func isWhole(w []byte) bool {
	n, ok := wholeNumber(w)
	return ok && n >= 0
}

// readOFFHead reads the keyword and the counts.
func readOFFHead(in *input) (*offHead, error) {
	text := in.data[:min(len(in.data), 1<<16)]
	l := newLines(text)
	line, _ := offLine(l)
	k, rest, ok := cutOFFKeyword(line)
	if !ok {
		rest = line
	}
	if rest, ok = k.dimensions(l, rest); !ok {
		return nil, in.onLine(l.no, exportAgain, "its points have other than three coordinates")
	}
	h := &offHead{extra: k.extra, lines: l.no, length: len(text) - len(l.rest)}
	if w, _ := word(rest); string(w) == "BINARY" {
		h.binary = true
		return h, h.readCounts(in)
	} else if len(w) == 0 {
		rest, _ = offLine(l)
	}
	h.lines, h.length = l.no, len(text)-len(l.rest)
	counts := bytes.Fields(rest)
	if len(counts) < 2 || !isWhole(counts[0]) || !isWhole(counts[1]) {
		return nil, in.onLine(l.no, l.mend(), "the numbers of points and of faces should stand here, but %s does", shown(rest))
	}
	h.points, _ = wholeNumber(counts[0])
	h.faces, _ = wholeNumber(counts[1])
	return h, in.checkCounts(h.points, h.faces)
}

// dimensions reads how many coordinates the points have where the keyword leaves it open, and tells whether they
// are three.
func (k offKeyword) dimensions(l *lines, rest []byte) (after []byte, ok bool) {
	if k.four || !k.nD {
		return rest, !k.four
	}
	w, after := word(rest)
	if len(w) == 0 {
		rest, _ = offLine(l)
		w, after = word(rest)
	}
	return after, string(w) == "3"
}

// readCounts reads the three counts of the binary form: points, faces, edges.
func (h *offHead) readCounts(in *input) error {
	if len(in.data)-h.length < 12 {
		return in.at(in.size, stillCopying, "the file ends within the numbers of points and faces")
	}
	h.points = int64(binary.BigEndian.Uint32(in.data[h.length:]))
	h.faces = int64(binary.BigEndian.Uint32(in.data[h.length+4:]))
	h.length += 12
	return in.checkCounts(h.points, h.faces)
}

// offReader reads points and faces. What points have beside their position, and the colours of faces, are
// passed over.
type offReader struct {
	in    *input
	head  *offHead
	build *build
	list  []uint32
	polys polygons
}

func readOFF(in *input) (*Scan, error) {
	h, err := readOFFHead(in)
	if err != nil {
		return nil, err
	}
	o := &offReader{in: in, head: h, build: &build{in: in, faced: h.faces > 0}}
	if h.binary {
		err = o.binary(newWindow(in, h.length))
	} else {
		err = o.text()
	}
	if err != nil {
		return nil, err
	}
	o.polys.unfold(o.build)
	return o.build.scan("off")
}

// fan makes triangles of the polygon read last.
func (o *offReader) fan() error {
	o.polys.add(len(o.build.triangles), len(o.list))
	return o.build.fan(o.list)
}

// text reads a line for each point and each face, or else number by number.
func (o *offReader) text() error {
	if err := o.in.load(); err != nil {
		return err
	}
	l := newLines(o.in.data[o.head.length:])
	l.no = o.head.lines
	if left := int64(len(l.rest)) + 1; o.head.points > left/6 || o.head.faces > left/2 {
		return o.in.onLine(l.no, stillCopying, "it promises %d points and %d faces, more than the %d bytes left in the file can hold", o.head.points, o.head.faces, left-1)
	}
	again := *l
	if o.tooFewLines(*l) {
		return o.words(l)
	}
	err := o.byLines(l)
	_, over := offLine(l)
	if err == nil && !over {
		return nil
	}
	kept, polys, where := *o.build, o.polys, l.no
	o.build.triangles, o.polys = nil, polygons{}
	if o.words(&again) == nil {
		return nil
	}
	*o.build, o.polys = kept, polys
	if over {
		o.build.messages = append(o.build.messages, Notef("left-over", "The file goes on after all that its header promises, from line %d. The rest was not read.", where))
	}
	return err
}

// byLines reads a line for each point and each face; whatever else is on it is passed over.
func (o *offReader) byLines(l *lines) error {
	o.build.wide = make([][3]float64, o.head.points)
	for i := range o.build.wide {
		line, err := o.line(l)
		if err != nil {
			return err
		}
		for axis := range 3 {
			var w []byte
			w, line = word(line)
			v, ok := number(w, '.')
			if !ok {
				return o.in.onLine(l.no, l.mend(), "a point needs three numbers, and %s is none", shown(w))
			}
			o.build.wide[i][axis] = v
		}
	}
	for range o.head.faces {
		line, err := o.line(l)
		if err != nil {
			return err
		}
		if err := o.face(l, line); err != nil {
			return err
		}
	}
	return nil
}

func (o *offReader) line(l *lines) ([]byte, error) {
	line, ok := offLine(l)
	if !ok {
		return nil, o.in.onLine(l.no, stillCopying, "the file ends within the %d points and %d faces that it promises", o.head.points, o.head.faces)
	}
	return line, nil
}

// face reads how many corners a face has and their numbers.
func (o *offReader) face(l *lines, line []byte) error {
	w, line := word(line)
	corners, ok := wholeNumber(w)
	if !ok || corners < 0 {
		return o.in.onLine(l.no, l.mend(), "a face should begin with the number of its corners, and %s is none", shown(w))
	}
	o.list = o.list[:0]
	for range corners {
		if w, line = word(line); len(w) == 0 {
			return o.in.onLine(l.no, l.mend(), "a face of %d corners has only %d", corners, len(o.list))
		}
		n, ok := wholeNumber(w)
		if !ok || n < 0 || n >= o.head.points {
			return o.in.onLine(l.no, l.mend(), "a face uses point %s, but the points are numbered 0 to %d", shown(w), o.head.points-1)
		}
		o.list = append(o.list, uint32(n))
	}
	return o.fan()
}

// binary reads big-endian numbers: of single precision, three for each point and what else it has; for each face the number of its
// corners, the corners, and how many numbers its colour has, with those.
func (o *offReader) binary(w *window) error {
	size := 12 + 4*o.head.extra
	if o.head.points > w.left()/int64(size) || o.head.faces > w.left()/8 {
		return o.in.at(w.at(), stillCopying, "it promises %d points and %d faces, more than the %d bytes left in the file can hold", o.head.points, o.head.faces, w.left())
	}
	o.build.narrow = make([][3]float32, o.head.points)
	for i := range o.build.narrow {
		d, err := w.take(size)
		if err != nil {
			return o.broken(err)
		}
		for axis := range 3 {
			o.build.narrow[i][axis] = math.Float32frombits(binary.BigEndian.Uint32(d[4*axis:]))
		}
	}
	for range o.head.faces {
		if err := o.binaryFace(w); err != nil {
			return o.broken(err)
		}
	}
	return nil
}

func (o *offReader) binaryFace(w *window) error {
	corners, err := o.count(w)
	if err != nil {
		return err
	}
	at := w.at()
	d, err := w.take(4 * int(corners))
	if err != nil {
		return err
	}
	o.list = o.list[:0]
	for ; len(d) > 0; d = d[4:] {
		n := binary.BigEndian.Uint32(d)
		if int64(n) >= o.head.points {
			return o.in.at(at, exportAgain, "a face uses point %d, but the points are numbered 0 to %d", n, o.head.points-1)
		}
		o.list = append(o.list, n)
	}
	colours, err := o.count(w)
	if err != nil {
		return err
	}
	if err := w.skip(4 * colours); err != nil {
		return err
	}
	return o.fan()
}

// count reads how many numbers follow, and holds it to the bytes that are left.
func (o *offReader) count(w *window) (int64, error) {
	d, err := w.take(4)
	if err != nil {
		return 0, err
	}
	n := int64(binary.BigEndian.Uint32(d))
	if 4*n > w.left() {
		return 0, io.ErrUnexpectedEOF
	}
	return n, nil
}

// broken makes the error for a file that ends within a face.
func (o *offReader) broken(err error) error {
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	return o.in.at(o.in.size, stillCopying, "the file ends within the %d points and %d faces that it promises", o.head.points, o.head.faces)
}

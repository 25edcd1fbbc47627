package scan

import (
	"bytes"
	"cmp"
)

// objReader reads points and polygons from the statements of a Wavefront OBJ file and passes over all others.
type objReader struct {
	in      *input
	build   *build
	polys   polygons
	lines   *lines
	highest int64 // largest point number used, from 1
	where   int   // its line
	short   int   // how many faces have less than three corners
	shortAt int   // line of the first of them
	freeAt  int   // line of the first free-form surface, whose points do not lie on it; 0 for none
}

// looksOBJ tells an OBJ by its first point, which comes before any line that begins with a number, unless the name
// tells it: some programs write the numbers of points and faces first.
func looksOBJ(in *input) bool {
	if !isText(in.data) {
		return false
	}
	l := newLines(in.data[:min(len(in.data), 1<<16)])
	for {
		line, ok := l.next()
		if !ok {
			return false
		}
		key, rest := word(line)
		if string(key) == "v" {
			first, _ := word(rest)
			return len(first) > 0 && numbersIn([][]byte{first}) == 1
		}
		if len(key) > 0 && numbersIn([][]byte{key}) == 1 && in.ending() != ".obj" {
			return false
		}
	}
}

func readOBJ(in *input) (*Scan, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	o := &objReader{in: in, build: &build{in: in, wide: roomFor[[3]float64](len(in.data) / 80)[:0]}, lines: newLines(in.data)}
	for {
		line, ok := o.next()
		if !ok {
			break
		}
		key, rest := word(line)
		var err error
		switch string(key) {
		case "v":
			err = o.point(rest)
		case "f", "fo": // fo is what the first edition called it
			err = o.face(rest)
		case "surf":
			o.freeAt = cmp.Or(o.freeAt, o.lines.no)
		}
		if err != nil {
			return nil, err
		}
	}
	if n := int64(len(o.build.wide)); o.highest > n {
		return nil, in.onLine(o.where, exportAgain, "a face uses point %d, but there are only %d", o.highest, n)
	}
	if err := o.checkFree(); err != nil {
		return nil, err
	}
	if o.short > 0 {
		if len(o.build.triangles) == 0 {
			return nil, in.onLine(o.shortAt, o.lines.mend(), "a face needs three corners, and the line has fewer")
		}
		o.build.messages = append(o.build.messages, Notef("short-faces", "Faces with fewer than three corners enclose nothing and were passed over: %d in all, the first on line %d.", o.short, o.shortAt))
	}
	o.polys.unfold(o.build)
	return o.build.scan("obj")
}

// checkFree refuses a file whose surfaces are all free-form ones: the points only pull at these. Beside polygons
// they are passed over.
func (o *objReader) checkFree() error {
	switch {
	case o.freeAt == 0:
		return nil
	case len(o.build.triangles) == 0:
		return o.in.onLine(o.freeAt, "Export it as a mesh of triangles", "its surfaces are free-form ones, given by points that do not lie on them")
	}
	o.build.messages = append(o.build.messages, Cautionf("free-form", "Free-form surfaces, the first on line %d, were passed over; only the polygons were read. "+
		"If a part of the wing is missing, export it as a mesh of triangles.", o.freeAt))
	return nil
}

// next returns the next line, with those that continue it after a backslash.
func (o *objReader) next() ([]byte, bool) {
	line, ok := o.lines.next()
	if len(line) == 0 || line[len(line)-1] != '\\' {
		return line, ok
	}
	joined := bytes.Clone(line)
	for bytes.HasSuffix(joined, []byte{'\\'}) {
		joined[len(joined)-1] = ' '
		line, _ = o.lines.next()
		joined = append(joined, line...)
	}
	return joined, true
}

// point reads three coordinates; a weight or a colour may follow.
func (o *objReader) point(rest []byte) error {
	var p [3]float64
	for i := range p {
		var w []byte
		w, rest = word(rest)
		v, ok := number(w, '.')
		if !ok {
			return o.wrong(w, "a point needs three numbers")
		}
		p[i] = v
	}
	o.build.wide = append(o.build.wide, p)
	return o.in.checkCounts(int64(len(o.build.wide)), 0)
}

// face reads a polygon and fans it out from its first corner.
func (o *objReader) face(rest []byte) error {
	o.build.faced = true
	if o.build.triangles == nil { // a mesh has some two for each point, and "f 1 2 3" with its line end has eight bytes
		o.build.triangles = roomFor[[3]uint32](1 + min(2*len(o.build.wide), len(o.lines.rest)/8))[:0]
	}
	var first, last uint32
	corners := 0
	for {
		var w []byte
		w, rest = word(rest)
		if len(w) == 0 || w[0] == '#' {
			break
		}
		n, err := o.corner(w)
		if err != nil {
			return err
		}
		if corners++; corners == 1 {
			first = n
		} else if corners > 2 {
			o.build.triangles = append(o.build.triangles, [3]uint32{first, last, n})
		}
		last = n
	}
	if corners < 3 {
		return o.shortFace()
	}
	o.polys.add(len(o.build.triangles)-(corners-2), corners)
	return o.in.checkCounts(0, int64(len(o.build.triangles)))
}

// shortFace notes a face that is none. On a last line without an end the file may have been cut off.
func (o *objReader) shortFace() error {
	if o.lines.open {
		return o.wrong(nil, "a face needs three corners")
	}
	if o.short++; o.short == 1 {
		o.shortAt = o.lines.no
	}
	return nil
}

// corner reads "7", "7/2", "7//3" or "7/2/3"; a negative number counts back from the last point. The point
// may come later in the file, so that the upper bound is checked at the end.
func (o *objReader) corner(w []byte) (uint32, error) {
	if i := bytes.IndexByte(w, '/'); i >= 0 {
		w = w[:i]
	}
	n, ok := wholeNumber(w)
	if !ok {
		return 0, o.wrong(w, "a corner of a face must be a whole number")
	}
	if n < 0 {
		n += int64(len(o.build.wide)) + 1
	}
	if n < 1 || n > int64(o.in.lim.MaxPoints) {
		return 0, o.in.onLine(o.lines.no, exportAgain, "a face uses point %s, which does not exist", w)
	}
	if n > o.highest {
		o.highest, o.where = n, o.lines.no
	}
	return uint32(n - 1), nil
}

// wrong makes the error for a statement that is not right; on the last line the file may have been cut off.
func (o *objReader) wrong(w []byte, rule string) error {
	mend := o.lines.mend()
	if bytes.IndexByte(w, ',') >= 0 {
		mend = "Export it with decimal points and with blanks between the values"
	}
	if len(w) == 0 {
		return o.in.onLine(o.lines.no, mend, "%s, and the line has fewer", rule)
	}
	return o.in.onLine(o.lines.no, mend, "%s, but %s is none", rule, shown(w))
}

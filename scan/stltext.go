package scan

import "bytes"

// stlText reads the words of an ASCII STL. The library's own reader of this variant takes some twenty
// megabytes a second and stops silently after the first of several solids; its triangles are what the tests
// hold this one to.
type stlText struct {
	in  *input
	pos int
}

// readTextSTL reads the ASCII variant: one or more solids, in any case of letters.
func readTextSTL(in *input) (*Scan, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	t := &stlText{in: in, pos: solidAt(in.data)}
	if w := t.peek(); !same(w, "solid") {
		return nil, in.onLine(lineAt(in.data, t.pos), exportInstead, "it begins with %s, not with solid, so it is no ASCII STL, and its size is not that of a binary one", shown(w))
	}
	sink := newSTLSink(&build{in: in}, int64(len(in.data)/256))
	for solids := 0; ; solids++ {
		if t.skipRemarks(); t.pos == len(in.data) && solids > 0 {
			break
		}
		if err := t.solid(sink); err != nil {
			return nil, err
		}
	}
	if len(sink.triangles) == 0 && sink.build.lost.triangles == 0 {
		return nil, in.refuse(exportAgain, "there is not one triangle in it")
	}
	return sink.scan()
}

// solid reads from "solid" to the line of "endsolid". Some programs leave the last endsolid out. A file that was cut
// off hardly ever ends behind a whole facet, where one byte in some two hundred would do.
func (t *stlText) solid(sink *stlSink) error {
	if err := t.expect("solid"); err != nil {
		return err
	}
	t.skipLine()
	for whole := false; ; whole = true {
		w := t.word()
		switch {
		case same(w, "facet"), same(w, "facet_normal"):
			if err := t.facet(sink, w); err != nil {
				return err
			}
		case len(w) == 0 && whole:
			sink.build.messages = append(sink.build.messages, Notef("no-endsolid", "The file ends behind a whole facet, but without the endsolid that an ASCII STL ends with. "+
				"Some programs leave it out; if a part of the wing is missing, its copy was cut off."))
			return nil
		case same(w, "end") && same(t.peek(), "solid"), same(w, "endsolid"):
			t.skipLine()
			return nil
		default:
			return t.wrong(w, "facet or endsolid")
		}
	}
}

// facet reads one triangle from "normal" to "endfacet". Its direction may be missing: no reader needs it.
func (t *stlText) facet(sink *stlSink, key []byte) error {
	var normal [3]float32
	var corners [3][3]float32
	if same(key, "facet") {
		if err := t.expect("normal"); err != nil {
			return err
		}
	}
	if !same(t.peek(), "outer") {
		if err := t.numbers(&normal); err != nil {
			return err
		}
	}
	if err := t.expect("outer", "loop"); err != nil {
		return err
	}
	for i := range corners {
		if err := t.vector("vertex", &corners[i]); err != nil {
			return err
		}
	}
	if err := t.expect("endloop", "endfacet"); err != nil {
		return err
	}
	sink.add(&corners)
	return t.in.checkCounts(int64(len(sink.weld.points)), int64(len(sink.triangles)))
}

// vector reads a keyword and three numbers.
func (t *stlText) vector(key string, v *[3]float32) error {
	if err := t.expect(key); err != nil {
		return err
	}
	return t.numbers(v)
}

// numbers reads three of them.
func (t *stlText) numbers(v *[3]float32) error {
	for i := range v {
		w := t.word()
		x, ok := number(w, '.')
		if !ok {
			return t.wrong(w, "a number")
		}
		v[i] = float32(x)
	}
	return nil
}

// expect reads words that must be these.
func (t *stlText) expect(keys ...string) error {
	for _, key := range keys {
		if w := t.word(); !same(w, key) {
			return t.wrong(w, key)
		}
	}
	return nil
}

// wrong makes the error for a word that should be something else.
func (t *stlText) wrong(w []byte, want string) error {
	if t.pos == len(t.in.data) { // a word at the very end may be half of one
		line := lineAt(t.in.data, len(bytes.TrimRight(t.in.data, "\r\n")))
		return t.in.onLine(line, stillCopying, "the file ends at byte %d before the last endsolid, where %s is expected", len(t.in.data), want)
	}
	return t.in.onLine(lineAt(t.in.data, t.pos-len(w)), exportAgain, "%s stands where an ASCII STL has %s", shown(w), want)
}

// lineAt returns the number of the line that a byte lies on, whatever the lines end in.
func lineAt(data []byte, pos int) int {
	before := data[:pos]
	if n := bytes.Count(before, []byte{'\n'}); n > 0 || bytes.IndexByte(data, '\n') >= 0 {
		return n + 1
	}
	return bytes.Count(before, []byte{'\r'}) + 1
}

func (t *stlText) skip() {
	for t.pos < len(t.in.data) && (t.in.data[t.pos] == '\n' || isBlank(t.in.data[t.pos])) {
		t.pos++
	}
}

func (t *stlText) word() []byte {
	t.skip()
	begin := t.pos
	for t.pos < len(t.in.data) && t.in.data[t.pos] != '\n' && !isBlank(t.in.data[t.pos]) {
		t.pos++
	}
	return t.in.data[begin:t.pos]
}

// solidAt returns where the first word of an ASCII STL is, after remark lines.
func solidAt(data []byte) int {
	t := &stlText{in: &input{data: data}}
	if bytes.HasPrefix(data, []byte("\xef\xbb\xbf")) {
		t.pos = 3
	}
	t.skipRemarks()
	return t.pos
}

// skipRemarks passes over blanks and over lines that begin with a remark's sign.
func (t *stlText) skipRemarks() {
	for {
		t.skip()
		rest := t.in.data[t.pos:]
		if !bytes.HasPrefix(rest, []byte("#")) && !bytes.HasPrefix(rest, []byte(";")) && !bytes.HasPrefix(rest, []byte("//")) {
			return
		}
		t.skipLine()
	}
}

// peek returns the next word without passing over it.
func (t *stlText) peek() []byte {
	pos := t.pos
	defer func() { t.pos = pos }()
	return t.word()
}

// skipLine passes over the rest of the line, which is a solid's name.
func (t *stlText) skipLine() {
	if i := bytes.IndexAny(t.in.data[t.pos:], "\r\n"); i >= 0 {
		t.pos += i
	} else {
		t.pos = len(t.in.data)
	}
}

// same compares a word with a keyword in lower case.
func same(w []byte, key string) bool {
	if string(w) == key {
		return true
	}
	return len(w) == len(key) && string(bytes.ToLower(w)) == key
}

package scan

import (
	"bytes"
	"math"
)

// plyText reads the rows of an ASCII file, one to a line. Where the first row of an element does not fill its
// line, or only a part of it, the values of all that follows may lie on lines as they like. Then the counts alone
// hold them together, so that values left over at the end are refused.
type plyText struct {
	in    *input
	lines *lines
	list  []float64
	begun *plyElement // the element of the row before
	free  bool        // rows do not keep to lines
	rest  []byte      // of the line, if so
}

func newPLYText(in *input, h *plyHeader) (*plyText, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	l := newLines(in.data[h.length:])
	l.no = h.lines
	return &plyText{in: in, lines: l}, nil
}

func (t *plyText) at(mend, format string, args ...any) *FormatError {
	return t.in.onLine(t.lines.no, mend, format, args...)
}

// spare reckons with two bytes for every value, the least that a digit and a blank take.
func (t *plyText) spare(e *plyElement) error {
	left := int64(len(t.rest)+len(t.lines.rest)) + 1
	if e.count > left/(2*int64(len(e.properties))) {
		return t.at(stillCopying, "the header promises %d rows of %s, more than the %d bytes left in the file can hold", e.count, e.name, left-1)
	}
	return nil
}

func (t *plyText) row(e *plyElement, values *[3]float64) ([]float64, error) {
	line, err := t.begin(e)
	if err != nil {
		return nil, err
	}
	t.list = t.list[:0]
	for i := range e.properties {
		p := &e.properties[i]
		var v float64
		if v, line, err = t.value(e, line, p.list || p.slot >= 0); err != nil {
			return nil, err
		}
		switch {
		case p.list:
			line, err = t.values(e, p, v, line)
		case p.slot >= 0:
			values[p.slot] = v
		}
		if err != nil {
			return nil, err
		}
	}
	if t.free {
		t.rest = line
	} else if extra, _ := word(line); len(extra) > 0 {
		return nil, t.at(exportAgain, "the row of %s has more values than its properties: %s is left over", e.name, shown(extra))
	}
	return t.list, nil
}

// begin returns the line that a row begins on.
func (t *plyText) begin(e *plyElement) ([]byte, error) {
	if w, _ := word(t.rest); len(w) > 0 {
		return t.rest, nil
	}
	line, err := t.line(e)
	if err == nil && t.begun != e {
		t.begun = e
		t.free = t.free || e.count > 1 && !e.fills(line)
	}
	return line, err
}

// fills tells whether a line holds just one row.
func (e *plyElement) fills(line []byte) bool {
	all := bytes.Fields(line)
	for _, p := range e.properties {
		if len(all) == 0 {
			return false
		}
		n := int64(0)
		if p.list {
			n, _ = wholeNumber(all[0])
		}
		if all = all[1:]; n < 0 || n > int64(len(all)) {
			return false
		}
		all = all[n:]
	}
	return len(all) == 0
}

// line returns the next line that is not empty.
func (t *plyText) line(e *plyElement) ([]byte, error) {
	for {
		line, ok := t.lines.next()
		if !ok {
			return nil, t.at(stillCopying, "the file ends within the %d rows of %s that the header promises", e.count, e.name)
		}
		if w, _ := word(line); len(w) > 0 {
			return line, nil
		}
	}
}

// value reads one word off a line, as a number if it is wanted.
func (t *plyText) value(e *plyElement, line []byte, wanted bool) (float64, []byte, error) {
	w, rest := word(line)
	if len(w) == 0 && t.free {
		var err error
		if line, err = t.line(e); err != nil {
			return 0, nil, err
		}
		w, rest = word(line)
	}
	if len(w) == 0 {
		return 0, nil, t.at(t.lines.mend(), "the row of %s has fewer values than its properties", e.name)
	}
	if !wanted {
		return 0, rest, nil
	}
	v, ok := number(w, '.')
	if !ok {
		return 0, nil, t.at(exportAgain, "%s in a row of %s is not a number", shown(w), e.name)
	}
	return v, rest, nil
}

// values reads the n values of a list.
func (t *plyText) values(e *plyElement, p *plyProperty, n float64, line []byte) ([]byte, error) {
	if !(n >= 0 && n <= float64(len(line)+len(t.lines.rest))) || n != math.Trunc(n) {
		return nil, t.at(exportAgain, "a list of %v values in a row of %s makes no sense", n, e.name)
	}
	for range int(n) {
		v, rest, err := t.value(e, line, p.slot >= 0)
		if err != nil {
			return nil, err
		}
		if line = rest; p.slot >= 0 {
			t.list = append(t.list, v)
		}
	}
	return line, nil
}

// plainFaces reads on over lines that are a triangle and nothing else, as [plyReader.plainFaces] does. The first row
// of an element goes the slow way, which finds out whether rows keep to lines.
func (t *plyText) plainFaces(e *plyElement, p *plyReader, most int64) (n int64) {
	if t.free || t.begun != e || len(t.rest) > 0 || len(e.properties) != 1 {
		return 0
	}
	for ; n < most; n++ {
		before := *t.lines
		line, _ := t.lines.next()
		triangle, ok := plainTriangle(line)
		if !ok || int64(max(triangle[0], triangle[1], triangle[2])) >= p.points {
			*t.lines = before
			break
		}
		p.build.triangles = append(p.build.triangles, triangle)
	}
	return n
}

// plainTriangle reads "3 17 4 5": three whole numbers without a sign, of nine digits at most.
func plainTriangle(line []byte) (t [3]uint32, ok bool) {
	w, rest := word(line)
	if len(w) != 1 || w[0] != '3' {
		return t, false
	}
	for i := range t {
		if w, rest = word(rest); len(w) == 0 || len(w) > 9 {
			return t, false
		}
		for _, c := range w {
			d := c - '0'
			if d > 9 {
				return t, false
			}
			t[i] = 10*t[i] + uint32(d)
		}
	}
	w, _ = word(rest)
	return t, len(w) == 0
}

func (t *plyText) finish(b *build) error {
	if w, _ := word(t.rest); len(w) > 0 {
		return t.leftOver()
	}
	for {
		line, ok := t.lines.next()
		if !ok {
			return nil
		}
		if w, _ := word(line); len(w) > 0 {
			if t.free {
				return t.leftOver()
			}
			b.messages = append(b.messages, Notef("left-over", "The file goes on after all that its header promises, from line %d. The rest was not read.", t.lines.no))
			return nil
		}
	}
}

func (t *plyText) leftOver() error {
	return t.at(exportAgain, "values are left over after all that the header promises, and since rows do not keep to lines, none can be told to be right")
}

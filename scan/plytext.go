package scan

import "math"

// plyText reads the rows of an ASCII file, one to a line.
type plyText struct {
	in    *input
	lines *lines
	list  []float64
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
	left := int64(len(t.lines.rest)) + 1
	if e.count > left/(2*int64(len(e.properties))) {
		return t.at(stillCopying, "the header promises %d rows of %s, more than the %d bytes left in the file can hold", e.count, e.name, left-1)
	}
	return nil
}

func (t *plyText) row(e *plyElement, values *[3]float64) ([]float64, error) {
	line, err := t.line(e)
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
	if extra, _ := word(line); len(extra) > 0 {
		return nil, t.at(exportAgain, "the row of %s has more values than its properties: %s is left over", e.name, shown(extra))
	}
	return t.list, nil
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
	if !(n >= 0 && n <= float64(len(line))) || n != math.Trunc(n) {
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

func (t *plyText) finish(b *build) {
	for {
		line, ok := t.lines.next()
		if !ok {
			return
		}
		if w, _ := word(line); len(w) > 0 {
			b.messages = append(b.messages, Notef("left-over", "The file goes on after all that its header promises, from line %d. The rest was not read.", t.lines.no))
			return
		}
	}
}

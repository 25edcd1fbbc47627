package scan

import (
	"encoding/binary"
	"fmt"
	"math"
)

// plyText reads the rows of an ASCII file, one to a line.
type plyText struct {
	in    *input
	lines *lines
	list  []float64
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

func (t *plyText) row(e *plyElement, values []float64, pick int) ([]float64, error) {
	line, err := t.line(e)
	if err != nil {
		return nil, err
	}
	list := t.list[:0]
	for i := range e.properties {
		p := &e.properties[i]
		if !p.list {
			if values[i], line, err = t.value(e, line); err != nil {
				return nil, err
			}
			continue
		}
		n, rest, err := t.length(e, line)
		if err != nil {
			return nil, err
		}
		line = rest
		for range n {
			var v float64
			if v, line, err = t.value(e, line); err != nil {
				return nil, err
			}
			if i == pick {
				list = append(list, v)
			}
		}
	}
	t.list = list
	if extra, _ := word(line); len(extra) > 0 {
		return nil, t.at(exportAgain, "the row of %s has more values than its properties: %s is left over", e.name, shown(extra))
	}
	return list, nil
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

func (t *plyText) value(e *plyElement, line []byte) (float64, []byte, error) {
	w, rest := word(line)
	if v, ok := number(w, '.'); ok {
		return v, rest, nil
	}
	if len(w) == 0 {
		mend := exportAgain
		if len(t.lines.rest) == 0 {
			mend = stillCopying
		}
		return 0, nil, t.at(mend, "the row of %s has fewer values than its properties", e.name)
	}
	return 0, nil, t.at(exportAgain, "%s in a row of %s is not a number", shown(w), e.name)
}

func (t *plyText) length(e *plyElement, line []byte) (int64, []byte, error) {
	v, rest, err := t.value(e, line)
	if err != nil {
		return 0, nil, err
	}
	if !(v >= 0 && v <= float64(len(rest))) || v != math.Trunc(v) {
		return 0, nil, t.at(exportAgain, "a list of %v values in a row of %s makes no sense", v, e.name)
	}
	return int64(v), rest, nil
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

// plyBinary reads the rows of a binary file in either byte order.
type plyBinary struct {
	in    *input
	pos   int // of the next byte
	row0  int // of the row read last
	order binary.ByteOrder
	list  []float64
}

func newPLYBinary(in *input, h *plyHeader) *plyBinary {
	b := &plyBinary{in: in, pos: h.length, row0: h.length, order: binary.LittleEndian}
	if h.format == "binary_big_endian" {
		b.order = binary.BigEndian
	}
	return b
}

func (b *plyBinary) at(mend, format string, args ...any) *FormatError {
	return b.in.at(b.row0, mend, format, args...)
}

func (b *plyBinary) spare(e *plyElement) error {
	left := int64(len(b.in.data) - b.pos)
	if each := e.leastBytes(); e.count > left/each {
		b.row0 = b.pos
		need := fmt.Sprintf("%d bytes or more", uint64(e.count)*uint64(each))
		if e.count > math.MaxInt64/each {
			need = "more bytes than any disk holds"
		}
		return b.at(stillCopying, "the header promises %d rows of %s, which take %s, but only %d are left in the file", e.count, e.name, need, left)
	}
	return nil
}

func (b *plyBinary) row(e *plyElement, values []float64, pick int) ([]float64, error) {
	b.row0 = b.pos
	list := b.list[:0]
	for i := range e.properties {
		p := &e.properties[i]
		n := 1
		if p.list {
			length, err := b.length(e, p)
			if err != nil {
				return nil, err
			}
			n = length
		}
		size := p.kind.size()
		if n > (len(b.in.data)-b.pos)/size {
			return nil, b.cut(e)
		}
		switch {
		case !p.list:
			values[i] = b.value(b.in.data[b.pos:], p.kind)
		case i == pick:
			for k := range n {
				list = append(list, b.value(b.in.data[b.pos+k*size:], p.kind))
			}
		}
		b.pos += n * size
	}
	b.list = list
	return list, nil
}

func (b *plyBinary) cut(e *plyElement) error {
	return b.at(stillCopying, "the file ends at byte %d, within the %d rows of %s that the header promises", len(b.in.data), e.count, e.name)
}

func (b *plyBinary) length(e *plyElement, p *plyProperty) (int, error) {
	size := p.counted.size()
	if size > len(b.in.data)-b.pos {
		return 0, b.cut(e)
	}
	v := b.value(b.in.data[b.pos:], p.counted)
	if v < 0 {
		return 0, b.at(exportAgain, "a list of %v values in a row of %s makes no sense", v, e.name)
	}
	b.pos += size
	return int(v), nil
}

// value reads one number; the caller made sure that its bytes are there.
func (b *plyBinary) value(d []byte, t plyType) float64 {
	switch t {
	case plyInt8:
		return float64(int8(d[0]))
	case plyUint8:
		return float64(d[0])
	case plyInt16:
		return float64(int16(b.order.Uint16(d)))
	case plyUint16:
		return float64(b.order.Uint16(d))
	case plyInt32:
		return float64(int32(b.order.Uint32(d)))
	case plyUint32:
		return float64(b.order.Uint32(d))
	case plyFloat:
		return float64(math.Float32frombits(b.order.Uint32(d)))
	default:
		return math.Float64frombits(b.order.Uint64(d))
	}
}

func (b *plyBinary) finish(build *build) {
	if left := len(b.in.data) - b.pos; left > 2 { // some writers end with a line end
		build.messages = append(build.messages, Notef("left-over", "The file goes on for %d bytes after all that its header promises. The rest was not read.", left))
	}
}

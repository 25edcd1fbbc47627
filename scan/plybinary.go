package scan

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/bits"
)

// plyBinary reads the rows of a binary file in either byte order.
type plyBinary struct {
	window *window
	row0   int64 // place of the row read last
	big    bool  // big-endian
	list   []float64
}

func newPLYBinary(in *input, h *plyHeader) *plyBinary {
	return &plyBinary{window: newWindow(in, h.length), row0: int64(h.length), big: h.format == "binary_big_endian"}
}

func (b *plyBinary) at(mend, format string, args ...any) *FormatError {
	return b.window.in.at(b.row0, mend, format, args...)
}

func (b *plyBinary) spare(e *plyElement) error {
	left := b.window.left()
	each := e.leastBytes()
	if e.count <= left/each {
		return nil
	}
	need := "more bytes than any disk holds"
	if e.count <= math.MaxInt64/each {
		need = fmt.Sprintf("%d bytes or more", e.count*each)
	}
	b.row0 = b.window.at()
	return b.at(stillCopying, "the header promises %d rows of %s, which take %s, but only %d are left in the file", e.count, e.name, need, left)
}

func (b *plyBinary) row(e *plyElement, values *[3]float64) ([]float64, error) {
	b.row0 = b.window.at()
	list := b.list[:0]
	for i := range e.properties {
		p := &e.properties[i]
		switch {
		case p.list:
			n, err := b.length(e, p)
			if err != nil {
				return nil, err
			}
			if list, err = b.take(e, p, n, list); err != nil {
				return nil, err
			}
		default:
			d, err := b.window.take(p.kind.size())
			if err != nil {
				return nil, b.broken(e, err)
			}
			if p.slot >= 0 {
				values[p.slot] = b.value(d, p.kind)
			}
		}
	}
	b.list = list
	return list, nil
}

// length reads how many values a list has.
func (b *plyBinary) length(e *plyElement, p *plyProperty) (int64, error) {
	d, err := b.window.take(p.counted.size())
	if err != nil {
		return 0, b.broken(e, err)
	}
	n := b.value(d, p.counted)
	if n < 0 {
		return 0, b.at(exportAgain, "a list of %v values in a row of %s makes no sense", n, e.name)
	}
	return int64(n), nil
}

// take reads the n values of a list and appends those that are wanted.
func (b *plyBinary) take(e *plyElement, p *plyProperty, n int64, list []float64) ([]float64, error) {
	size := p.kind.size()
	if p.slot < 0 {
		if err := b.window.skip(n * int64(size)); err != nil {
			return nil, b.broken(e, err)
		}
		return list, nil
	}
	if n*int64(size) > b.window.left() {
		return nil, b.broken(e, io.ErrUnexpectedEOF)
	}
	d, err := b.window.take(int(n) * size)
	if err != nil {
		return nil, b.broken(e, err)
	}
	for ; len(d) > 0; d = d[size:] {
		list = append(list, b.value(d, p.kind))
	}
	return list, nil
}

// broken makes the error for a file that ends within a row or cannot be read on.
func (b *plyBinary) broken(e *plyElement, err error) error {
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		return err
	}
	return b.at(stillCopying, "the file ends at byte %d, within the %d rows of %s that the header promises", b.window.in.size, e.count, e.name)
}

// value decodes the number at the beginning of d.
func (b *plyBinary) value(d []byte, t plyType) float64 {
	switch t {
	case plyFloat:
		return float64(math.Float32frombits(b.word(d)))
	case plyDouble:
		u := binary.LittleEndian.Uint64(d)
		if b.big {
			u = bits.ReverseBytes64(u)
		}
		return math.Float64frombits(u)
	case plyInt32:
		return float64(int32(b.word(d)))
	case plyUint32:
		return float64(b.word(d))
	case plyInt16:
		return float64(int16(b.half(d)))
	case plyUint16:
		return float64(b.half(d))
	case plyInt8:
		return float64(int8(d[0]))
	default:
		return float64(d[0])
	}
}

func (b *plyBinary) word(d []byte) uint32 {
	u := binary.LittleEndian.Uint32(d)
	if b.big {
		return bits.ReverseBytes32(u)
	}
	return u
}

func (b *plyBinary) half(d []byte) uint16 {
	u := binary.LittleEndian.Uint16(d)
	if b.big {
		return bits.ReverseBytes16(u)
	}
	return u
}

func (b *plyBinary) finish(build *build) error {
	if left := b.window.left(); left > 2 { // some writers end with a line end
		build.messages = append(build.messages, Notef("left-over", "The file goes on for %d bytes after all that its header promises. The rest was not read.", left))
	}
	return nil
}

package scan

import (
	"encoding/binary"
	"math"
)

// plyBlockBytes is about how much of the rows of points is decoded at a time.
const plyBlockBytes = 1 << 18

// plyBlock is a run of rows on the way into the points.
type plyBlock struct {
	bytes []byte
	fresh []byte // those of them that are not summed up yet
	first int    // number of its first point
	count int    // how many it has
	plain bool   // all of them are
}

// plyRow says where a binary row has what is wanted, if it has no list.
type plyRow struct {
	size int
	at   [3]int // by slot
	kind [3]plyType
}

// fixed returns the layout of the rows of an element without lists.
func (e *plyElement) fixed() (r plyRow, ok bool) {
	for _, p := range e.properties {
		if p.list {
			return r, false
		}
		if p.slot >= 0 {
			r.at[p.slot], r.kind[p.slot] = r.size, p.kind
		}
		r.size += p.kind.size()
	}
	return r, true
}

// plyBlocks fills all points from rows of one size, on all processors at once. In most clouds a row is what a point is
// in memory, and is read to where it stays.
func plyBlocks[T float32 | float64](b *plyBinary, e *plyElement, r plyRow, points [][3]T) (plainly bool, err error) {
	rows := max(plyBlockBytes/r.size, 1)
	narrow, _ := any(points).([][3]float32)
	var memory []byte
	if !b.big && r == (plyRow{12, [3]int{0, 4, 8}, [3]plyType{plyFloat, plyFloat, plyFloat}}) {
		memory = bytesOf(narrow)
	}
	plainly = narrow != nil
	read := belt[plyBlock]{
		fill: func(k *plyBlock, number int) (err error) {
			k.first = number * rows
			k.count = min(rows, len(points)-k.first)
			if memory != nil {
				k.bytes = memory[k.first*r.size:]
			}
			k.bytes = k.bytes[:k.count*r.size]
			if k.fresh, err = b.window.readUnsummed(k.bytes); err != nil {
				return b.broken(e, err)
			}
			return nil
		},
		sum: func(k *plyBlock) { b.window.in.tally.Write(k.fresh) },
		work: func(k *plyBlock) {
			if memory == nil {
				plyDecode(b, r, k.bytes, points[k.first:])
			}
			k.plain = narrow != nil && plain(narrow[k.first:k.first+k.count])
		},
		take: func(k *plyBlock) error {
			plainly = plainly && k.plain
			return nil
		},
	}
	err = read.run((len(points)+rows-1)/rows, func() *plyBlock {
		if memory != nil {
			return &plyBlock{}
		}
		return &plyBlock{bytes: make([]byte, min(rows, len(points))*r.size)}
	})
	return plainly, err
}

// plyDecode fills points from the rows in d.
func plyDecode[T float32 | float64](b *plyBinary, r plyRow, d []byte, points [][3]T) {
	if b.big || r.kind != [3]plyType{plyFloat, plyFloat, plyFloat} {
		for i := 0; len(d) > 0; i, d = i+1, d[r.size:] {
			for axis, at := range r.at {
				points[i][axis] = T(b.value(d[at:], r.kind[axis]))
			}
		}
		return
	}
	for i := 0; len(d) > 0; i, d = i+1, d[r.size:] { // what nearly all files have
		for axis, at := range r.at {
			points[i][axis] = T(math.Float32frombits(binary.LittleEndian.Uint32(d[at:])))
		}
	}
}

// plainFaces reads on over at most so many faces that are triangles with whole numbers of points that are there,
// as nearly all are, and returns how many it read. It stops at any other, and at the end of what is in memory.
func (p *plyReader) plainFaces(e *plyElement, most int64) int64 {
	if t, text := p.rows.(*plyText); text {
		return t.plainFaces(e, p, most)
	}
	b, binary := p.rows.(*plyBinary)
	if !binary {
		return 0
	}
	before, counted, size := e.aroundTriangle()
	if size == 0 {
		return 0
	}
	d := b.window.buf[b.window.pos:]
	n := int64(0)
	at, short := before+counted.size(), counted.size() == 1
	for n < most && len(d) >= size {
		if short && d[before] != 3 || !short && b.value(d[before:], counted) != 3 {
			break
		}
		list := d[at : at+12]
		t := [3]uint32{b.word(list), b.word(list[4:]), b.word(list[8:])}
		if int64(max(t[0], t[1], t[2])) >= p.points {
			break // or less than zero; the slow way says which
		}
		p.build.triangles = append(p.build.triangles, t)
		d = d[size:]
		n++
	}
	b.window.pos += int(n) * size
	return n
}

// aroundTriangle returns how many bytes a row has before its list of point numbers and in all if that has three, and
// the type of the list's length; all is 0 if there is another list or the numbers are not of four bytes.
func (e *plyElement) aroundTriangle() (before int, counted plyType, all int) {
	for _, p := range e.properties {
		switch {
		case !p.list:
			all += p.kind.size()
		case p.slot < 0 || p.kind != plyInt32 && p.kind != plyUint32:
			return 0, 0, 0
		default:
			before, counted = all, p.counted
			all += p.counted.size() + 12
		}
	}
	return before, counted, all
}

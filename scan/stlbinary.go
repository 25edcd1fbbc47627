package scan

import (
	"encoding/binary"
	"math"
)

const (
	// stlBlockTriangles is how many triangles are decoded at a time.
	stlBlockTriangles = 1 << 13
	// stlNearSlots is how many of the corners met last a block knows again: about as many as it has points where
	// neighbours stand together in the file, in no more memory than a processor's cache.
	stlNearSlots = 1 << 13
)

// stlBlock is a run of triangles of a binary STL on its way into the whole.
type stlBlock struct {
	bytes     []byte
	near      [stlNearSlots]slot // numbers go on from block to block, so that those of earlier ones are told by being low
	before    uint32             // numbers of the earlier blocks
	corners   []slot             // without most repeats, each with its hash in the number's place
	triangles [][3]uint32        // by their numbers among corners
	number    []uint32           // what the corners are in the whole
	lost      int                // triangles with an unusable corner
	flat      int                // triangles without area
}

// binary reads the triangles of a binary STL. Its corners are six times as many as its points, so repeats that
// stand close together are joined within blocks, on all processors, before the rest is looked up in the large
// table. Points get the numbers that one table alone would give them, since blocks are taken in their order.
//
// The STL library hands over one triangle at a time, each in memory of its own. That alone takes longer than all
// of this on two processors; the tests hold this to what the library reads.
func (s *stlSink) binary(w *window, triangles int) error {
	read := belt[stlBlock]{
		fill: func(b *stlBlock, number int) error {
			n := min(stlBlockTriangles, triangles-number*stlBlockTriangles)
			b.bytes = b.bytes[:n*stlTriangle]
			return w.read(b.bytes)
		},
		work: (*stlBlock).decode,
		take: s.takeBlock,
	}
	s.build.checked = true
	return read.run((triangles+stlBlockTriangles-1)/stlBlockTriangles, func() *stlBlock {
		n := min(stlBlockTriangles, triangles)
		return &stlBlock{bytes: make([]byte, n*stlTriangle), corners: make([]slot, 0, 3*n),
			triangles: make([][3]uint32, 0, n), number: make([]uint32, 3*n)}
	})
}

// decode takes the triangles out of the block's bytes.
func (b *stlBlock) decode() {
	b.before += uint32(len(b.corners))
	b.corners, b.triangles, b.lost, b.flat = b.corners[:0], b.triangles[:0], 0, 0
	for d := b.bytes; len(d) >= stlTriangle; d = d[stlTriangle:] {
		v := [3]slot{cornerOf((*[12]byte)(d[12:])), cornerOf((*[12]byte)(d[24:])), cornerOf((*[12]byte)(d[36:]))}
		if !v[0].usable() || !v[1].usable() || !v[2].usable() {
			b.lost++
			continue
		}
		t := [3]uint32{b.corner(v[0]), b.corner(v[1]), b.corner(v[2])}
		p, q, r := v[0].point(), v[1].point(), v[2].point()
		if !enclose(&p, &q, &r) {
			b.flat++ // its corners count as points all the same
			continue
		}
		b.triangles = append(b.triangles, t)
	}
}

// corner returns the number of a position in the block: that of the last corner with the same hash if it is the
// same, and else a new one. Which it is cannot be foretold, so that the new one is put down either way.
func (b *stlBlock) corner(s slot) uint32 {
	hash := s.hash()
	near := &b.near[hash%stlNearSlots]
	n := uint32(len(b.corners))
	number, next := near.number-b.before, n
	met := near.same(s) && near.number > b.before
	b.corners = b.corners[:n+1]
	b.corners[n] = slot{s.xy, s.z, hash}
	if !met {
		number, next = n+1, n+1
	}
	*near = slot{s.xy, s.z, b.before + number}
	b.corners = b.corners[:next]
	return number - 1
}

// cornerOf decodes a corner.
func cornerOf(d *[12]byte) slot {
	return slotOf([3]float32{math.Float32frombits(binary.LittleEndian.Uint32(d[:])), math.Float32frombits(binary.LittleEndian.Uint32(d[4:])),
		math.Float32frombits(binary.LittleEndian.Uint32(d[8:]))})
}

// takeBlock joins a decoded block to those before it.
func (s *stlSink) takeBlock(b *stlBlock) error {
	s.weld.numbers(b.corners, b.number)
	for _, t := range b.triangles {
		s.triangles = append(s.triangles, [3]uint32{b.number[t[0]], b.number[t[1]], b.number[t[2]]})
	}
	s.build.lost.triangles += b.lost
	s.build.flat += b.flat
	return nil
}

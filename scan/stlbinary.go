package scan

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// A block of triangles is decoded at a time. The larger it is, the more corners are joined within it and the less often
// one processor waits for another, as long as its distinct corners stay in a processor's own cache; 16 bits number its
// corners. A small file has smaller ones, so that there are some for each processor.
const (
	stlBlockLeast = 1 << 12
	stlBlockMost  = 1 << 14
	stlBlocks     = 32 // that a file is cut into, where the block's size allows
)

// stlBlock is a run of triangles of a binary STL on its way into the whole.
type stlBlock struct {
	bytes     []byte
	fresh     []byte      // those of them that are not summed up yet
	near      []uint16    // by a part of the hash, the last corner that had it; its length is a power of two
	corners   []slot      // without most repeats, each with its hash in the number's place; as long as there may be
	distinct  int         // how many of them there are
	triangles [][3]uint32 // by their numbers among corners
	number    []uint32    // what the corners are in the whole
	lost      int         // triangles with an unusable corner
	flat      int         // triangles without area
}

// binary reads the triangles of a binary STL. Its corners are six times as many as its points, so repeats that
// stand close together are joined within blocks, on all processors, before the rest is looked up in the large
// table. Points get the numbers that one table alone would give them, since blocks are taken in their order.
//
// The STL library hands over one triangle at a time, each in memory of its own. That alone takes longer than all
// of this on two processors; the tests hold this to what the library reads.
func (s *stlSink) binary(w *window, triangles int) error {
	size := min(triangles, max(stlBlockLeast, min(stlBlockMost, triangles/stlBlocks)))
	read := belt[stlBlock]{
		fill: func(b *stlBlock, number int) (err error) {
			n := min(size, triangles-number*size)
			b.bytes = b.bytes[:n*stlTriangle]
			b.fresh, err = w.readUnsummed(b.bytes)
			return err
		},
		sum:  func(b *stlBlock) { w.in.tally.Write(b.fresh) },
		work: (*stlBlock).decode,
		take: s.takeBlock,
	}
	s.build.checked = true
	return read.run((triangles+size-1)/size, func() *stlBlock { return newSTLBlock(size) })
}

// newSTLBlock makes one for so many triangles.
func newSTLBlock(size int) *stlBlock {
	near := 1 << bits.Len(uint(2*size-1)) // a power of two with room for four times as many points as a usual block has
	return &stlBlock{bytes: make([]byte, size*stlTriangle), near: make([]uint16, near), corners: make([]slot, 3*size+1),
		triangles: make([][3]uint32, 0, size), number: make([]uint32, 3*size)}
}

// decode takes the triangles out of the block's bytes. Values are moved one by one: an array that is put together and
// then copied as a whole costs more than all the rest, because the processor waits for its parts to reach memory.
func (b *stlBlock) decode() {
	b.lost, b.flat = 0, 0
	near, corners, triangles, n := b.near, b.corners, b.triangles[:cap(b.triangles)], uint32(0)
	kept := 0
	for d := b.bytes; len(d) >= stlTriangle; d = d[stlTriangle:] {
		v := (*[36]byte)(d[12:])
		if oddTriangle(v) && !settleTriangle(v) {
			b.lost++
			continue
		}
		t := &triangles[kept]
		for k := range t {
			// The corner is the last one with the same part of a hash if that is at the same place, and else a new one. Which
			// it is cannot be foretold, so that the new one is put down either way and there is nothing to branch on. What
			// near holds may be of an earlier block: then it is no less than n, or as good as any.
			xy, z := binary.LittleEndian.Uint64(v[12*k:]), binary.LittleEndian.Uint32(v[12*k+8:])
			hash := hashOf(xy, z)
			place := &near[hash&uint32(len(near)-1)]
			last := uint32(*place)
			met := &corners[last]
			differs := met.xy ^ xy | uint64(met.z^z) | uint64(^(int64(last)-int64(n))>>63)
			fresh := &corners[n]
			fresh.xy, fresh.z, fresh.number = xy, z, hash
			number, next := n, n+1
			if differs == 0 {
				number, next = last, n
			}
			*place, t[k], n = uint16(number), number, next
		}
		if wide(v) {
			kept++
		} else {
			b.flat++ // its corners count as points all the same
		}
	}
	b.distinct, b.triangles = int(n), triangles[:kept]
}

// oddTriangle tells whether a coordinate of three corners is zero, of either sign, or not usable. Two are asked at once:
// none of the sums and differences reaches into the other's bits unless there is something to tell.
func oddTriangle(v *[36]byte) bool {
	const both = 1<<32 | 1
	a, b, c := binary.LittleEndian.Uint64(v[0:])&^(both<<31), binary.LittleEndian.Uint64(v[8:])&^(both<<31), binary.LittleEndian.Uint64(v[16:])&^(both<<31)
	d, e := binary.LittleEndian.Uint64(v[24:])&^(both<<31), binary.LittleEndian.Uint64(v[28:])&^(both<<31)
	most := (a + both*aboveFarthest) | (b + both*aboveFarthest) | (c + both*aboveFarthest) | (d + both*aboveFarthest) | (e + both*aboveFarthest)
	least := (a - both) | (b - both) | (c - both) | (d - both) | (e - both)
	return (most|least)&(both<<31) != 0
}

// settleTriangle takes the sign off zeros and tells whether three corners are usable.
func settleTriangle(v *[36]byte) bool {
	good := true
	for at := 0; at < len(v); at += 4 {
		bits := binary.LittleEndian.Uint32(v[at:])
		if magnitude(bits) == 0 {
			binary.LittleEndian.PutUint32(v[at:], 0)
		}
		good = good && magnitude(bits) <= farthestBits
	}
	return good
}

// wide tells whether three corners enclose an area, as [enclose] does; in most triangles a look along one axis does.
func wide(v *[36]byte) bool {
	ax, ay := coordinate(v[0:]), coordinate(v[4:])
	if (coordinate(v[12:])-ax)*(coordinate(v[28:])-ay) != (coordinate(v[16:])-ay)*(coordinate(v[24:])-ax) {
		return true
	}
	var p [3][3]float32
	for i := range 9 {
		p[i/3][i%3] = float32(coordinate(v[4*i:]))
	}
	return enclose(&p[0], &p[1], &p[2])
}

func coordinate(d []byte) float64 {
	return float64(math.Float32frombits(binary.LittleEndian.Uint32(d)))
}

// takeBlock joins a decoded block to those before it.
func (s *stlSink) takeBlock(b *stlBlock) error {
	s.weld.numbers(b.corners[:b.distinct], b.number)
	at := len(s.triangles)
	s.triangles = s.triangles[:at+len(b.triangles)]
	for i := range b.triangles {
		from, to := &b.triangles[i], &s.triangles[at+i]
		to[0], to[1], to[2] = b.number[from[0]], b.number[from[1]], b.number[from[2]]
	}
	s.build.lost.triangles += b.lost
	s.build.flat += b.flat
	return nil
}

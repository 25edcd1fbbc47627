package scan

import "math"

// welder gives every distinct position one number. Two corners are the same when all bits of their
// coordinates are, so nothing moves; a writer that repeats a shared corner repeats its bits.
//
// The table is open-addressed with linear probing and at most half full; it holds numbers plus one.
type welder struct {
	points [][3]float32
	table  []uint32
}

// newWelder makes a welder with room for about n distinct points.
func newWelder(n int) *welder { return newWelderInto(make([][3]float32, 0, n)) }

// newWelderInto makes a welder that fills the given slice, which may hold the very points that it will be
// asked for, in their order: it never has more points than it was asked for.
func newWelderInto(points [][3]float32) *welder {
	size := 1024
	for size < 2*cap(points) {
		size *= 2
	}
	return &welder{points: points[:0], table: make([]uint32, size)}
}

// number returns the number of a position, a new one if it was not met before.
func (w *welder) number(p [3]float32) uint32 {
	p = [3]float32{p[0] + 0, p[1] + 0, p[2] + 0} // -0 becomes 0
	mask := uint64(len(w.table) - 1)
	slot := mix(p) & mask
	for w.table[slot] != 0 {
		if n := w.table[slot] - 1; w.points[n] == p {
			return n
		}
		slot = (slot + 1) & mask
	}
	n := uint32(len(w.points))
	w.points = append(w.points, p)
	w.table[slot] = n + 1
	if 2*len(w.points) > len(w.table) {
		w.grow()
	}
	return n
}

func (w *welder) grow() {
	w.table = make([]uint32, 2*len(w.table))
	mask := uint64(len(w.table) - 1)
	for n, p := range w.points {
		slot := mix(p) & mask
		for w.table[slot] != 0 {
			slot = (slot + 1) & mask
		}
		w.table[slot] = uint32(n) + 1
	}
}

// mix hashes the bits of a position: multiply by odd constants, fold the high half down.
func mix(p [3]float32) uint64 {
	h := uint64(math.Float32bits(p[0]))<<32 | uint64(math.Float32bits(p[1]))
	h *= 0x9E3779B97F4A7C15 // 2^64 over the golden ratio
	h ^= h>>32 ^ uint64(math.Float32bits(p[2]))
	h *= 0xD6E8FEB86659FD93
	return h ^ h>>32
}

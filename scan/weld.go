package scan

import (
	"math"
	"slices"
)

// welder gives every distinct position one number. Two corners are the same when all bits of their
// coordinates are, so nothing moves; a writer that repeats a shared corner repeats its bits.
//
// The table is open-addressed with linear probing and at most two thirds full. Its slots hold the positions
// themselves, so that a look-up goes to one place in memory and not to a second.
type welder struct {
	points [][3]float32
	table  []slot
}

// slot is a position, as bits, and its number plus one; that is 0 in an empty slot.
type slot struct {
	xy     uint64
	z      uint32
	number uint32
}

// newWelder makes a welder with room for about n distinct points.
func newWelder(n int) *welder {
	size := 1024
	for 2*size < 3*n {
		size *= 2
	}
	return &welder{points: roomFor[[3]float32](n)[:0], table: roomFor[slot](size)}
}

// number returns the number of a position, a new one if it was not met before.
func (w *welder) number(p [3]float32) uint32 {
	s := slotOf(p)
	return w.find(s, s.hash())
}

// numbers puts down those of many positions, which have their hash in the number's place, as number does one after
// another. The table is looked at for a few ahead, so that memory fetches their slots, each far from the last, all at
// once.
func (w *welder) numbers(sought []slot, into []uint32) {
	const ahead = 32
	var met [ahead]uint64
	for len(sought) > 0 {
		n := min(ahead, len(sought))
		table, mask := w.table, uint32(len(w.table)-1)
		for i := range sought[:n] {
			met[i&(ahead-1)] = table[sought[i].number&mask].xy
		}
		for i := range sought[:n] {
			s := &sought[i]
			t := &table[s.number&mask]
			if met[i&(ahead-1)] == s.xy && t.same(*s) && t.number != 0 {
				into[i] = t.number - 1
				continue
			}
			into[i] = w.find(*s, s.number)
			table, mask = w.table, uint32(len(w.table)-1) // it may have grown
		}
		sought, into = sought[n:], into[n:]
	}
}

// find returns the number of a position whose hash is known.
func (w *welder) find(s slot, hash uint32) uint32 {
	mask := uint32(len(w.table) - 1)
	at := hash & mask
	for w.table[at].number != 0 {
		if w.table[at].same(s) {
			return w.table[at].number - 1
		}
		at = (at + 1) & mask
	}
	n := len(w.points)
	w.points = slices.Grow(w.points, 1)[:n+1]
	p := &w.points[n] // filled one by one: an array made first would have to reach memory before it is copied
	p[0], p[1], p[2] = math.Float32frombits(uint32(s.xy)), math.Float32frombits(uint32(s.xy>>32)), math.Float32frombits(s.z)
	s.number = uint32(n + 1)
	w.table[at] = s
	if 3*len(w.points) > 2*len(w.table) {
		w.grow()
	}
	return s.number - 1
}

func (w *welder) grow() {
	old := w.table
	w.table = roomFor[slot](2 * len(old))
	mask := uint32(len(w.table) - 1)
	for _, s := range old {
		if s.number == 0 {
			continue
		}
		at := s.hash() & mask
		for w.table[at].number != 0 {
			at = (at + 1) & mask
		}
		w.table[at] = s
	}
}

// slotOf makes a slot without a number. -0 becomes 0.
func slotOf(p [3]float32) slot {
	return slot{xy: uint64(math.Float32bits(p[1]+0))<<32 | uint64(math.Float32bits(p[0]+0)), z: math.Float32bits(p[2] + 0)}
}

// same compares positions.
func (s slot) same(t slot) bool { return s.xy == t.xy && s.z == t.z }

func (s slot) hash() uint32 { return hashOf(s.xy, s.z) }

// hashOf mixes the bits of a position: multiply by odd constants, fold the high half down.
func hashOf(xy uint64, z uint32) uint32 {
	h := xy * 0x9E3779B97F4A7C15 // 2^64 over the golden ratio
	h ^= h>>32 ^ uint64(z)
	h *= 0xD6E8FEB86659FD93
	return uint32(h ^ h>>32)
}

package scan

import "slices"

// lost counts what a scan had to do without.
type lost struct{ points, triangles int }

// gone marks a point that was left out.
const gone = ^uint32(0)

// dropUnusable leaves out the points that are not finite and the triangles that use them.
func (s *Scan) dropUnusable() lost {
	first := 0
	for first < len(s.Points) && usable(s.Points[first]) {
		first++
	}
	if first == len(s.Points) {
		return lost{}
	}
	number := make([]uint32, len(s.Points))
	kept := s.Points[:0]
	for i, p := range s.Points {
		number[i] = gone
		if usable(p) {
			number[i] = uint32(len(kept))
			kept = append(kept, p)
		}
	}
	l := lost{points: len(s.Points) - len(kept)}
	s.Points = kept
	before := len(s.Triangles)
	s.renumber(number)
	l.triangles = before - len(s.Triangles)
	return l
}

// renumber gives the triangles' corners new numbers and leaves out triangles with a corner that is gone.
func (s *Scan) renumber(number []uint32) {
	kept := s.Triangles[:0]
	for _, t := range s.Triangles {
		t = [3]uint32{number[t[0]], number[t[1]], number[t[2]]}
		if t[0] != gone && t[1] != gone && t[2] != gone {
			kept = append(kept, t)
		}
	}
	s.Triangles = kept
}

// weld joins the corners of a mesh that lie at the same place, so that triangles which touch are neighbours.
// Clouds keep their repeated points: each is a measurement.
func (s *Scan) weld() {
	if len(s.Triangles) == 0 {
		return
	}
	again := s.repeated(s.doubtful())
	if len(again) == 0 {
		return
	}
	number := make([]uint32, len(s.Points))
	kept := s.Points[:0]
	for i, p := range s.Points {
		if len(again) > 0 && again[0].point == uint32(i) {
			number[i] = number[again[0].first]
			again = again[1:]
			continue
		}
		number[i] = uint32(len(kept))
		kept = append(kept, p)
	}
	s.Points = kept
	s.renumber(number)
}

// repeat is a point at the place of one before it.
type repeat struct{ point, first uint32 }

// doubtful lists the points that may lie at the place of another, which are few unless many do: those whose place in
// a field of sixteen bits a point was taken twice. Which places those are stands in a field an eighth as large, which
// the cache can hold. It takes the sign off all zeros.
func (s *Scan) doubtful() []uint32 {
	size := uint32(1024)
	for int(size) < len(s.Points)/4 {
		size *= 2
	}
	once, twice := roomFor[uint64](int(size)), make([]uint64, size/8)
	for i := range s.Points {
		p := &s.Points[i]
		p[0], p[1], p[2] = p[0]+0, p[1]+0, p[2]+0
		hash := slotOf(*p).hash()
		word, bit := hash>>6, uint64(1)<<(hash&63)
		if was := once[word&(size-1)]; was&bit == 0 {
			once[word&(size-1)] = was | bit
		} else {
			twice[word&(size/8-1)] |= bit
		}
	}
	return slices.Concat(chunked(len(s.Points), func(lo, hi int) (part []uint32) {
		for i, p := range s.Points[lo:hi] {
			hash := slotOf(p).hash()
			if twice[hash>>6&(size/8-1)]&(1<<(hash&63)) != 0 {
				part = append(part, uint32(lo+i))
			}
		}
		return part
	})...)
}

// repeated finds those of the listed points that lie at the place of one before them in the list.
func (s *Scan) repeated(list []uint32) (again []repeat) {
	const batch = 1 << 10
	w := newWelder(len(list))
	first := make([]uint32, 0, len(list)) // by number
	var sought [batch]slot
	var number [batch]uint32
	for some := range slices.Chunk(list, batch) {
		for k, i := range some {
			sought[k] = slotOf(s.Points[i])
			sought[k].number = sought[k].hash()
		}
		w.numbers(sought[:len(some)], number[:])
		for k, i := range some {
			if int(number[k]) == len(first) {
				first = append(first, i)
				continue
			}
			again = append(again, repeat{i, first[number[k]]})
		}
	}
	return again
}

// dropDegenerate leaves out triangles without area. Every exporter makes some, and they say nothing.
func (s *Scan) dropDegenerate() {
	kept := chunked(len(s.Triangles), func(lo, hi int) [][3]uint32 {
		return slices.DeleteFunc(s.Triangles[lo:hi:hi], func(t [3]uint32) bool { return !s.hasArea(t) })
	})
	all := s.Triangles[:0]
	for i, part := range kept {
		if len(all) == i*chunkSize {
			all = s.Triangles[:len(all)+len(part)] // it stands where it belongs
			continue
		}
		all = append(all, part...)
	}
	s.Triangles = all
}

// hasArea tells whether the corners of a triangle are off one line.
func (s *Scan) hasArea(t [3]uint32) bool {
	return enclose(&s.Points[t[0]], &s.Points[t[1]], &s.Points[t[2]])
}

// enclose tells whether three points enclose an area. Differences of float32 are exact in float64 but for
// very unlike magnitudes, and so is the test against zero for points that coincide along an axis.
func enclose(a, b, c *[3]float32) bool {
	ux, uy := float64(b[0])-float64(a[0]), float64(b[1])-float64(a[1])
	vx, vy := float64(c[0])-float64(a[0]), float64(c[1])-float64(a[1])
	if ux*vy != uy*vx {
		return true // nearly always, which spares the rest
	}
	uz, vz := float64(b[2])-float64(a[2]), float64(c[2])-float64(a[2])
	return uy*vz != uz*vy || uz*vx != ux*vz
}

package scan

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
	w := newWelderInto(s.Points)
	number := make([]uint32, len(s.Points))
	w.numbers(s.Points, number)
	if len(w.points) == len(s.Points) {
		return
	}
	s.Points = w.points
	s.renumber(number)
}

// dropDegenerate leaves out triangles without area. Every exporter makes some, and they say nothing.
func (s *Scan) dropDegenerate() {
	kept := chunked(len(s.Triangles), func(lo, hi int) [][3]uint32 {
		kept := s.Triangles[lo:lo]
		for _, t := range s.Triangles[lo:hi] {
			if t[0] != t[1] && t[1] != t[2] && t[2] != t[0] && s.hasArea(t) {
				kept = append(kept, t)
			}
		}
		return kept
	})
	all := s.Triangles[:0]
	for _, part := range kept {
		all = append(all, part...)
	}
	s.Triangles = all
}

// hasArea tells whether the corners of a triangle are off one line.
func (s *Scan) hasArea(t [3]uint32) bool {
	return enclose(s.Points[t[0]], s.Points[t[1]], s.Points[t[2]])
}

// enclose tells whether three points enclose an area. Differences of float32 are exact in float64 but for
// very unlike magnitudes, and so is the test against zero for points that coincide along an axis.
func enclose(a, b, c [3]float32) bool {
	var u, v [3]float64
	for i := range 3 {
		u[i] = float64(b[i]) - float64(a[i])
		v[i] = float64(c[i]) - float64(a[i])
	}
	return u[1]*v[2] != u[2]*v[1] || u[2]*v[0] != u[0]*v[2] || u[0]*v[1] != u[1]*v[0]
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// field answers, for points near a nominal section of chord 1, how far the outline is and in which
// direction: the inner loop of every fit. It is made once per section and is safe for concurrent use.
//
// A grid of cells remembers the outline vertices nearest to each cell's centre, one on either surface; a
// query walks from there to the exact foot point. Aft of forkX the two skins come so close that both are
// tried.
type field struct {
	outline  []r2.Vec // trailing edge, upper surface, nose, lower surface, trailing edge
	normals  []r2.Vec // outward unit normal at each vertex
	arc      []float64
	segments []segment
	nose     int // index of the vertex at the leading edge

	origin     r2.Vec
	cell       float64
	perCell    float64 // 1/cell
	nx, nz     int
	near, fork []uint16  // nearest vertex overall, and nearest vertex on the other surface
	apart      []float32 // distance from the other surface that every point of the cell has, at least
	table      []kept    // of cells near the outline; nil: there is none
}

const (
	fieldCell   = 0.004 // chord; small against the nose radius of the thinnest usual section
	roughCell   = 0.012 // chord; for a quick look
	fieldMargin = 0.10  // chord, on all sides: farther points are clutter
	fieldPoints = 1601
	forkX       = 0.75 // aft of here the other surface may be nearer than the cell's centre says
)

// foot is the result of a query, in units of the chord.
type foot struct {
	distance float64 // signed, outward positive
	normal   r2.Vec  // outward, unit length
	arc      float64 // along the outline from the upper trailing edge
	end      bool    // the foot is an end of the outline: the point lies behind the trailing edge
}

// segment is what a query needs of one side of the outline: its start and what is added along it, for the place
// and for the normal.
type segment struct {
	start, along, normal, turn r2.Vec
	perLength2                 float64 // 1 over the square of its length
	arc, length                float64
}

// newLine makes a field that knows its outline alone, without the grid that finds feet.
func newLine(outline []r2.Vec) *field {
	f := &field{outline: outline, normals: make([]r2.Vec, len(outline)), arc: make([]float64, len(outline))}
	for i, p := range outline {
		if i > 0 {
			f.arc[i] = f.arc[i-1] + r2.Norm(r2.Sub(p, outline[i-1]))
		}
		if p.X < outline[f.nose].X {
			f.nose = i
		}
		a, b := outline[max(i-1, 0)], outline[min(i+1, len(outline)-1)]
		t := r2.Unit(r2.Sub(b, a))
		f.normals[i] = r2.Vec{X: t.Y, Y: -t.X} // the outline runs forward over the top: outward is to its right
	}
	return f
}

// newField makes the field of an outline with cells of the given size (chords).
func newField(outline []r2.Vec, cell float64) *field {
	f := newLine(outline)
	f.cell, f.perCell = cell, 1/cell
	lo, hi := outline[0], outline[0]
	for _, p := range outline {
		lo = r2.Vec{X: math.Min(lo.X, p.X), Y: math.Min(lo.Y, p.Y)}
		hi = r2.Vec{X: math.Max(hi.X, p.X), Y: math.Max(hi.Y, p.Y)}
	}
	for i := range len(outline) - 1 {
		along := r2.Sub(outline[i+1], outline[i])
		f.segments = append(f.segments, segment{outline[i], along, f.normals[i], r2.Sub(f.normals[i+1], f.normals[i]),
			1 / r2.Norm2(along), f.arc[i], f.arc[i+1] - f.arc[i]})
	}
	f.origin = r2.Sub(lo, r2.Vec{X: fieldMargin, Y: fieldMargin})
	f.nx = int((hi.X-lo.X+2*fieldMargin)/cell) + 1
	f.nz = int((hi.Y-lo.Y+2*fieldMargin)/cell) + 1
	f.near = make([]uint16, f.nx*f.nz)
	f.fork = make([]uint16, f.nx*f.nz)
	f.apart = make([]float32, f.nx*f.nz)
	within := f.inCell()
	// Neighbouring cells have neighbouring feet: each search starts where the last one in its column ended.
	scan.OnAllProcessors(f.nx, func(i int) {
		x := f.origin.X + (float64(i)+0.5)*cell
		up, low := f.startAt(x)
		for k := range f.nz {
			p := r2.Vec{X: x, Y: f.origin.Y + (float64(k)+0.5)*cell}
			up, low = f.best(p, 0, f.nose, up), f.best(p, f.nose, len(outline)-1, low)
			near, fork := up, low
			if r2.Norm2(r2.Sub(p, outline[low])) < r2.Norm2(r2.Sub(p, outline[up])) {
				near, fork = low, up
			}
			n := k*f.nx + i
			f.near[n], f.fork[n] = uint16(near), uint16(fork)
			f.apart[n] = float32(r2.Norm(r2.Sub(p, outline[fork])) - within)
		}
	})
	if cell <= fieldCell {
		f.tabulate()
	}
	return f
}

// inCell returns by how much a point of a cell may lie nearer to the outline than the cell's middle does to the nearest
// vertex, and a little more: the outline may come nearer between two vertices.
func (f *field) inCell() float64 {
	longest := 0.0
	for i := range f.segments {
		longest = math.Max(longest, f.segments[i].length)
	}
	return f.cell/math.Sqrt2 + longest/2 + tableSlip
}

// startAt returns the vertices of the upper and lower surface at chord station x.
func (f *field) startAt(x float64) (up, low int) {
	for up = 0; up < f.nose && f.outline[up+1].X > x; up++ {
	}
	for low = len(f.outline) - 1; low > f.nose && f.outline[low-1].X > x; low-- {
	}
	return up, low
}

// best returns the vertex in [lo, hi] nearest to p, searched from start in widening steps: it goes on in a
// direction for as long as a window of vertices holds a nearer one.
func (f *field) best(p r2.Vec, lo, hi, start int) int {
	const window = 24
	b, d := start, r2.Norm2(r2.Sub(p, f.outline[start]))
	for _, dir := range [2]int{-1, 1} {
		for i, left := start+dir, window; i >= lo && i <= hi && left > 0; i, left = i+dir, left-1 {
			if e := r2.Norm2(r2.Sub(p, f.outline[i])); e < d {
				b, d, left = i, e, window
			}
		}
	}
	return b
}

// at finds the foot of p (chord 1). It reports false for points outside the grid.
func (f *field) at(p r2.Vec) (ft foot, ok bool) {
	ok = f.look(p, &ft)
	return ft, ok
}

// look is at, which leaves the foot where it is wanted.
func (f *field) look(p r2.Vec, ft *foot) bool { return f.lookNear(p, math.Inf(1), ft) }

// lookNear is look for those who have no use for a foot farther than reach, and may be told that there is none.
func (f *field) lookNear(p r2.Vec, reach float64, ft *foot) bool {
	x, y := (p.X-f.origin.X)*f.perCell, (p.Y-f.origin.Y)*f.perCell
	i, k := int(x), int(y)
	if x < 0 || y < 0 || i >= f.nx || k >= f.nz {
		return false
	}
	n := k*f.nx + i
	if f.table != nil {
		c := &f.table[n]
		if c.known {
			c.at((x-float64(i)-0.5)*f.cell, (y-float64(k)-0.5)*f.cell, ft)
			return true
		}
		if float64(c.least) > reach {
			return false
		}
	}
	*ft = f.search(p, n)
	return true
}

// search finds the foot of p from the vertices of cell n.
func (f *field) search(p r2.Vec, n int) foot {
	ft := f.project(p, int(f.near[n]))
	if p.X > forkX && float64(f.apart[n]) < math.Abs(ft.distance) {
		if other := f.project(p, int(f.fork[n])); math.Abs(other.distance) < math.Abs(ft.distance) {
			ft = other
		}
	}
	return ft
}

// project walks from vertex i to the foot of p on the polyline and interpolates the normal there, so that
// distance and direction are continuous along the outline. It is the inner loop of all fits, and written out in
// numbers for that reason, with plain roots in place of Hypot, which guards against numbers far from 1.
func (f *field) project(p r2.Vec, i int) foot {
	i = f.descend(p, i)
	last := len(f.segments) - 1
	j := min(i, last)
	s := &f.segments[j]
	x, y := p.X-s.start.X, p.Y-s.start.Y
	t := (x*s.along.X + y*s.along.Y) * s.perLength2
	if t < 0 && j > 0 && j == i {
		j--
		s = &f.segments[j]
		x, y = p.X-s.start.X, p.Y-s.start.Y
		t = (x*s.along.X + y*s.along.Y) * s.perLength2
	}
	end := j == 0 && t < 0 || j == last && t > 1
	if t < 0 {
		t = 0
	} else if t > 1 {
		t = 1
	}
	nx, ny := s.normal.X+t*s.turn.X, s.normal.Y+t*s.turn.Y
	n := 1 / math.Sqrt(nx*nx+ny*ny)
	nx, ny = n*nx, n*ny
	x, y = x-t*s.along.X, y-t*s.along.Y
	distance := math.Sqrt(x*x + y*y)
	if x*nx+y*ny < 0 {
		distance = -distance
	}
	return foot{distance: distance, normal: r2.Vec{X: nx, Y: ny}, arc: s.arc + t*s.length, end: end}
}

// descend walks from vertex i to the vertex nearest to p.
func (f *field) descend(p r2.Vec, i int) int {
	away := func(i int) float64 {
		x, y := p.X-f.outline[i].X, p.Y-f.outline[i].Y
		return x*x + y*y
	}
	start, d := i, away(i)
	for i > 0 {
		e := away(i - 1)
		if e >= d {
			break
		}
		i, d = i-1, e
	}
	if i < start {
		return i
	}
	for i < len(f.outline)-1 {
		e := away(i + 1)
		if e >= d {
			break
		}
		i, d = i+1, e
	}
	return i
}

// length returns the arc of the whole outline, in chords.
func (f *field) length() float64 { return f.arc[len(f.arc)-1] }

// point returns the place on the outline at the given arc, and the outward normal there.
func (f *field) point(arc float64) (at, normal r2.Vec) {
	lo, hi := 0, len(f.arc)-1
	for hi-lo > 1 {
		if mid := (lo + hi) / 2; f.arc[mid] <= arc {
			lo = mid
		} else {
			hi = mid
		}
	}
	t := (arc - f.arc[lo]) / (f.arc[hi] - f.arc[lo])
	t = math.Min(math.Max(t, 0), 1)
	at = r2.Add(f.outline[lo], r2.Scale(t, r2.Sub(f.outline[hi], f.outline[lo])))
	normal = r2.Unit(r2.Add(r2.Scale(1-t, f.normals[lo]), r2.Scale(t, f.normals[hi])))
	return at, normal
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Which points of the scan lie near the coarse loft, and how they are handed on: a sample to settle the loft on, and all
// of them to the map of departures.

// near marks the points that lie on, in or close to the coarse loft: all that are measured in the end. It returns about
// samplePoints of them, in mm in the candidate's frame, and a share of them that is even over the skin. A coarse mesh is
// spread into points there.
func (w *work) near(c *candidate) (sample, share bulk) {
	lo, hi := c.lo-2*growth*c.Chord, c.hi+2*growth*c.Chord
	toWing := w.wingFromScan()
	w.cloud = w.points.spread(c.Chord/c.mm/meshSpacing, func(corners [3]r3.Vec) bool {
		least, most := r3.Vec{X: math.Inf(1), Y: math.Inf(1), Z: math.Inf(1)}, r3.Vec{X: math.Inf(-1), Y: math.Inf(-1), Z: math.Inf(-1)}
		for _, p := range corners {
			q := toWing.apply(p)
			q.Y *= c.inboard
			least = r3.Vec{X: math.Min(least.X, q.X), Y: math.Min(least.Y, q.Y), Z: math.Min(least.Z, q.Z)}
			most = r3.Vec{X: math.Max(most.X, q.X), Y: math.Max(most.Y, q.Y), Z: math.Max(most.Z, q.Z)}
		}
		reach := math.Max(c.ChordAt(lo), c.ChordAt(hi))
		return most.X > -reach/2 && least.X < 1.5*reach && most.Y > lo && least.Y < hi && most.Z > -reach && least.Z < reach
	})
	inMM := func(i int) [3]float32 { return single(r3.Scale(c.mm, r3.Sub(w.cloud.at(i), c.origin))) }
	w.marked = newMarks(w.cloud.len())
	cells := newShareCells(c, lo, hi)
	type found struct {
		point uint32
		cell  int32
	}
	const together = 64 // chunks
	var lists [together][]found
	for first := 0; first < w.cloud.len(); first += together * chunkSize {
		n := min(together*chunkSize, w.cloud.len()-first)
		parallel(n, func(a, b int) {
			list := lists[a/chunkSize][:0]
			w.cloud.each(first+a, first+b, func(i int, p r3.Vec) {
				if station := toWing.y(p) * c.inboard; station > lo && station < hi {
					if arc, ok := c.closeTo(toWing.apply(p), panelMargin*c.Chord); ok {
						w.marked.set(i)
						list = append(list, found{uint32(i), cells.number(arc, station)})
					}
				}
			})
			lists[a/chunkSize] = list
		})
		for _, list := range lists[:(n+chunkSize-1)/chunkSize] {
			for _, p := range list {
				if cells.take(p.cell) {
					share = append(share, inMM(int(p.point)))
				}
			}
		}
	}
	n := w.marked.count()
	stride, k := max(n/samplePoints, 1), 0
	sample = make(bulk, 0, n/stride+1)
	w.marked.each(0, w.cloud.len(), func(i int) {
		if k%stride == 0 {
			sample = append(sample, inMM(i))
		}
		k++
	})
	return sample, share
}

// closeTo reports whether a point (wing frame, mm) lies in the loft or no farther than margin from it, about, and returns
// the arc there (chords), about.
func (m *model) closeTo(p r3.Vec, margin float64) (arc float64, ok bool) {
	l := m.place(p)
	if !(l.chord > 0) {
		return 0, false
	}
	f := m.field
	v, ok := f.nearest(l.neutral)
	if !ok {
		return 0, false
	}
	off := r2.Sub(l.neutral, f.outline[v])
	outside := r2.Dot(off, f.normals[v]) > 0
	return f.arc[v], !outside || l.chord*l.chord*r2.Norm2(off) < margin*margin
}

// nearest returns the vertex nearest to the middle of the cell that holds p. It reports false for points outside the grid.
func (f *field) nearest(p r2.Vec) (vertex int, ok bool) {
	i, k := int((p.X-f.origin.X)/f.cell), int((p.Y-f.origin.Y)/f.cell)
	if p.X < f.origin.X || p.Y < f.origin.Y || i >= f.nx || k >= f.nz {
		return 0, false
	}
	return int(f.near[k*f.nx+i]), true
}

// everyPoint returns all marked points.
func (w *work) everyPoint() stream {
	from := w.wingFromScan()
	each := func(lo, hi int, do func(p r3.Vec)) {
		w.marked.each(lo, hi, func(i int) { do(from.apply(w.cloud.at(i))) })
	}
	if m := w.mended; m != nil {
		back := from.After(m.wingFromScan.Inverse())
		from = m.wingFromScan
		return stream{w.cloud.len(), func(lo, hi int, do func(p r3.Vec)) {
			each(lo, hi, func(p r3.Vec) { do(back.apply(m.move(p))) })
		}}
	}
	return stream{w.cloud.len(), each}
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
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
	at := w.cloud.placed()
	inMM := func(i int) [3]float32 { return single(r3.Scale(c.mm, r3.Sub(at(i), c.origin))) }
	w.marked = newMarks(w.cloud.len())
	cells := newShareCells(c, lo, hi)
	type found struct {
		point uint32
		cell  int32
	}
	close, margin := newCloseness(&c.model), panelMargin*c.Chord
	inOrder(w.cloud.len(), func(a, b int, list []found) []found {
		w.cloud.pieces(a, b, func(first int, points []r3.Vec) {
			for k, p := range points {
				station := toWing.y(p) * c.inboard
				if !(station > lo && station < hi) {
					continue
				}
				if arc, ok := close.to(toWing.apply(p), margin); ok {
					w.marked.set(first + k)
					list = append(list, found{uint32(first + k), cells.number(arc, station)})
				}
			}
		})
		return list
	}, func(list []found) {
		for _, p := range list {
			if cells.take(p.cell) {
				share = append(share, inMM(int(p.point)))
			}
		}
	})
	return w.marked.sample(samplePoints, inMM), share
}

// sample returns about n of what is marked, evenly taken.
func (m marks) sample(n int, at func(i int) [3]float32) bulk {
	const words = chunkSize / 64
	before := make([]int, (len(m)+words-1)/words) // marked ahead of each chunk
	all := 0
	for c := range before {
		before[c] = all
		all += m[c*words : min((c+1)*words, len(m))].count()
	}
	stride := max(all/n, 1)
	out := make(bulk, (all+stride-1)/stride)
	scan.OnAllProcessors(len(before), func(c int) {
		next := (before[c] + stride - 1) / stride // of those that are taken
		skip := next*stride - before[c]
		m.each(c*chunkSize, min((c+1)*chunkSize, 64*len(m)), func(i int) {
			if skip == 0 {
				out[next] = at(i)
				next, skip = next+1, stride
			}
			skip--
		})
	})
	return out
}

// closeness tells which points lie in or near a loft, about.
type closeness struct {
	*model
	droop turn // of the aileron
	cells []closeCell
}

// closeCell is what the middle of a cell of the field says.
type closeCell struct{ off, arc float32 } // chords; off is 0 inside

func newCloseness(m *model) *closeness {
	f := m.field
	c := &closeness{m, turnBy(m.Deflection), make([]closeCell, f.nx*f.nz)}
	scan.OnAllProcessors(f.nz, func(k int) {
		for i := range f.nx {
			n := k*f.nx + i
			v := f.near[n]
			off := r2.Sub(r2.Vec{X: f.origin.X + (float64(i)+0.5)*f.cell, Y: f.origin.Y + (float64(k)+0.5)*f.cell}, f.outline[v])
			c.cells[n].arc = float32(f.arc[v])
			if r2.Dot(off, f.normals[v]) > 0 {
				c.cells[n].off = float32(r2.Norm(off))
			}
		}
	})
	return c
}

// to reports whether a point (wing frame, mm) lies in the loft or no farther than margin from it, about, and returns
// the arc there (chords), about. The sine of the twist is short by a sixth of its cube, which is
// nothing here.
func (c *closeness) to(p r3.Vec, margin float64) (arc float64, ok bool) {
	station := p.Y * c.inboard
	chord := c.Chord + c.Taper*station
	if !(chord > 0) {
		return 0, false
	}
	angle, unit := c.Twist*station, 1/chord
	q := turn{angle, 1 - angle*angle/2}.noseDown(r2.Vec{X: p.X - c.Sweep*station, Y: p.Z - c.Rise*station})
	q.X, q.Y = q.X*unit, q.Y*unit
	if c.Hinge > 0 && q.X > c.Hinge {
		v := c.droop.noseDown(r2.Vec{X: q.X - c.Hinge, Y: q.Y - c.HingeZ})
		q = r2.Vec{X: c.Hinge + v.X, Y: c.HingeZ + v.Y}
	}
	f := c.field
	x, y := (q.X-f.origin.X)*f.perCell, (q.Y-f.origin.Y)*f.perCell
	i, k := int(x), int(y)
	if x < 0 || y < 0 || i >= f.nx || k >= f.nz {
		return 0, false
	}
	cell := &c.cells[k*f.nx+i]
	return float64(cell.arc), chord*float64(cell.off) < margin
}

// everyPoint returns all marked points.
func (w *work) everyPoint() stream {
	from, at := w.wingFromScan(), w.cloud.placed()
	some := func(lo, hi int, out []r3.Vec) []r3.Vec {
		w.marked.each(lo, hi, func(i int) { out = append(out, from.apply(at(i))) })
		return out
	}
	if m := w.mended; m != nil {
		back := from.After(m.wingFromScan.Inverse())
		from = m.wingFromScan
		return stream{w.cloud.len(), func(lo, hi int, out []r3.Vec) []r3.Vec {
			out = some(lo, hi, out)
			for k, p := range out {
				out[k] = back.apply(m.move(p))
			}
			return out
		}}
	}
	return stream{w.cloud.len(), some}
}

package fit

import (
	"errors"
	"math"
	"sort"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

// half is one side of a pair: its skin at station 0 with the aileron neutral, one point a trace.
type half struct {
	sections []Trace
	length   float64
	contour  *contour
	loft     section.Loft
	points   []r2.Vec // section frame, mm
	normals  []r2.Vec
	curve    []r2.Vec // the same outline, dense enough for the nose
	share    []float64
}

func newHalf(r *Result) *half {
	h := &half{sections: r.Sections, length: r.Survey.Map.Length, contour: newContour(&r.Survey.Loft), loft: r.Survey.Loft}
	h.loft.Deflection = 0
	h.place(func(t *Trace) float64 { return t.Departure.Value - t.Turn })
	return h
}

// targets returns the same side with its target in place of the skin.
func (h *half) targets() *half {
	t := *h
	t.place(func(t *Trace) float64 { return t.Target })
	return &t
}

func (h *half) place(departure func(*Trace) float64) {
	h.points, h.normals = nil, nil
	for i := range h.sections {
		t := &h.sections[i]
		q, normal := h.contour.at(t.Arc / h.length)
		h.points = append(h.points, h.loft.Place(r2.Add(q, r2.Scale(departure(t)/h.loft.Chord, normal)), 0))
		h.normals = append(h.normals, normal)
	}
	h.curve, h.share = nil, nil
	for i := 0; i < len(h.contour.points); i += 2 {
		share := h.contour.share[i]
		h.share = append(h.share, share)
		d := h.between(share, departure)
		q := r2.Add(h.contour.points[i], r2.Scale(d/h.loft.Chord, h.contour.normals[i]))
		h.curve = append(h.curve, h.loft.Place(q, 0))
	}
}

// between interpolates a departure between the traces.
func (h *half) between(share float64, departure func(*Trace) float64) float64 {
	x := share*float64(len(h.sections)) - 0.5
	i := min(max(int(math.Floor(x)), 0), len(h.sections)-2)
	t := math.Min(math.Max(x-float64(i), 0), 1)
	return (1-t)*departure(&h.sections[i]) + t*departure(&h.sections[i+1])
}

func (h *half) surface(arc float64) Surface { return h.contour.surface(arc / h.length) }

// nearest returns the trace at a share of the arc.
func (h *half) nearest(share float64) *Trace {
	n := len(h.sections)
	return &h.sections[min(max(int(share*float64(n)), 0), n-1)]
}

// inner reports whether a trace lies clear of the trailing edge, where the distance of two outlines along
// the normal says little.
func (h *half) inner(i int) bool {
	const tail = 5.0 // mm
	return h.sections[i].Arc > tail && h.sections[i].Arc < h.length-tail
}

// against returns how far each of h's points, turned nose up and shifted, lies outside o's outline along
// h's normal.
func (h *half) against(o *half, shift r2.Vec, turn float64) []float64 {
	out := make([]float64, len(h.points))
	for i, q := range h.points {
		p := r2.Add(turned(q, -turn), shift)
		out[i] = o.outside(p, turned(h.normals[i], -turn), h.sections[i].Arc/h.length)
	}
	return out
}

// outside returns how far p lies from the outline along n, looked for near a share of the arc: the nearest
// crossing of the line through p along n, or of the outline's end drawn on.
func (h *half) outside(p, n r2.Vec, share float64) float64 {
	const window, slack = 0.05, 1e-9
	best := math.Inf(1)
	from := max(sort.SearchFloat64s(h.share, share-window), 1)
	for i := from; i < len(h.curve) && h.share[i-1] <= share+window; i++ {
		a, u := h.curve[i-1], r2.Sub(h.curve[i], h.curve[i-1])
		det := r2.Cross(n, u)
		if det == 0 {
			continue
		}
		w := r2.Sub(a, p)
		t := r2.Cross(w, n) / det
		if t < -slack && i > 1 || t > 1+slack && i < len(h.curve)-1 {
			continue
		}
		if d := -r2.Cross(w, u) / det; math.Abs(d) < math.Abs(best) {
			best = d
		}
	}
	if math.IsInf(best, 1) {
		return 0
	}
	return best
}

// align returns the shift and turn (nose up) of h that lay it on o best in the sense of least squares of
// the distances along the normal, and the standard uncertainty of the turn.
func (h *half) align(o *half) (shift r2.Vec, turn, u float64) {
	for range 5 {
		lhs, rhs := mat.NewSymDense(3, nil), mat.NewVecDense(3, nil)
		for i, d := range h.against(o, shift, turn) {
			t, s := &h.sections[i], o.nearest(h.sections[i].Arc/h.length)
			if !h.inner(i) || !t.Seen || !s.Seen {
				continue
			}
			n := turned(h.normals[i], -turn)
			p := turned(h.points[i], -turn)
			row := [3]float64{n.X, n.Y, n.X*p.Y - n.Y*p.X}
			w := 4 / (square(t.Departure.U) + square(s.Departure.U) + 1e-6)
			for a := range 3 {
				rhs.SetVec(a, rhs.AtVec(a)-w*row[a]*d)
				for b := a; b < 3; b++ {
					lhs.SetSym(a, b, lhs.At(a, b)+w*row[a]*row[b])
				}
			}
		}
		var chol mat.Cholesky
		var x mat.VecDense
		var inv mat.SymDense
		if !chol.Factorize(lhs) || !solved(chol.SolveVecTo(&x, rhs)) || !solved(chol.InverseTo(&inv)) {
			return shift, turn, math.Inf(1)
		}
		// Neighbouring traces share their kernel: about one in five is independent.
		const sharing = 5
		shift = r2.Add(shift, r2.Vec{X: x.AtVec(0), Y: x.AtVec(1)})
		turn += x.AtVec(2)
		u = math.Sqrt(sharing * inv.At(2, 2))
	}
	return shift, turn, u
}

// solved reports whether equations were solved: a warning of poor condition is no failure.
func solved(err error) bool {
	var c mat.Condition
	return err == nil || errors.As(err, &c) && !math.IsInf(float64(c), 1)
}

// thickness returns the greatest thickness square to the chord line.
func (h *half) thickness() section.Measured {
	best := section.Measured{}
	for i, p := range h.points {
		if h.surface(h.sections[i].Arc) != Upper {
			continue
		}
		for k := i + 1; k < len(h.points); k++ {
			a, b := h.points[k-1], h.points[k]
			if a.X <= p.X && b.X > p.X && h.surface(h.sections[k].Arc) == Lower {
				z := a.Y + (b.Y-a.Y)*(p.X-a.X)/(b.X-a.X)
				if t := p.Y - z; t > best.Value {
					u := math.Hypot(h.sections[i].Departure.U, h.sections[k].Departure.U)
					best = section.Measured{Value: t, U: u}
				}
				break
			}
		}
	}
	return best
}

// areaVoice is the length of outline, mm, whose errors go together in the area.
const areaVoice = 100.0

// area returns the area of the section within the skin at station 0, mm². scale is the relative expanded
// uncertainty of lengths, which counts twice.
func (h *half) area(scale float64) section.Measured {
	var length, square2 float64
	for i, p := range h.curve {
		length += r2.Norm(r2.Sub(h.curve[(i+1)%len(h.curve)], p))
	}
	for i := range h.sections {
		square2 += square(h.sections[i].Departure.U)
	}
	mean := math.Sqrt(square2 / float64(max(len(h.sections), 1)))
	a := math.Abs(enclosed(h.curve))
	return section.Measured{Value: a, U: math.Hypot(mean*math.Sqrt(length*areaVoice), 2*scale*a)}
}

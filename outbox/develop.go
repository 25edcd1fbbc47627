package outbox

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/section"
)

// development is one skin of the filler band rolled out flat, as paper lies on it. The skin between two
// stations is ruled: points of the same share of the outline are joined by straight lines, and a wing with
// little twist rolls out along them without stretch. The strip is cut into triangles with the skin's own
// lengths, which are laid side by side in the plane. Paper frame, mm: x aft along the tip edge, whose ends
// lie on y = 0, y inboard; the origin is the nose at the tip rib.
type development struct {
	fromNose []float64 // mm round the skin from the nose at station 0
	tip, in  []r2.Vec  // the same shares at station 0 and at the band's edge
	band     float64   // mm
}

// newDevelopment rolls out one skin of the placed nominal, the aileron faired, as far inboard as band.
func newDevelopment(s *section.Survey, surface fit.Surface, band float64) *development {
	near, far := newNeutralSkin(s), s.Loft.Neutral(0).Outline(band, skinPoints)
	v := &development{band: band}
	var a, b []r3.Vec // at the tip rib and inboard
	add := func(fromNose float64, p, q r2.Vec) {
		v.fromNose = append(v.fromNose, fromNose)
		a, b = append(a, r3.Vec{X: p.X, Z: p.Y}), append(b, r3.Vec{X: q.X, Y: band, Z: q.Y})
	}
	nose := s.Map.NoseArc
	i := min(max(sort.SearchFloat64s(near.arc, nose), 1), skinPoints-1)
	t := (nose - near.arc[i-1]) / (near.arc[i] - near.arc[i-1])
	add(0, between(near.points[i-1], near.points[i], t), between(far[i-1], far[i], t))
	step, end := 1, skinPoints
	if surface == fit.Upper {
		i, step, end = i-1, -1, -1
	}
	for ; i != end; i += step {
		if d := math.Abs(near.arc[i] - nose); d > v.fromNose[len(v.fromNose)-1]+1e-6 {
			add(d, near.points[i], far[i])
		}
	}
	v.flatten(a, b)
	return v
}

func between(a, b r2.Vec, t float64) r2.Vec { return r2.Add(a, r2.Scale(t, r2.Sub(b, a))) }

// flatten lays the triangles between the edges a and b side by side and turns the whole so that the tip
// edge's ends lie level.
func (v *development) flatten(a, b []r3.Vec) {
	v.tip, v.in = []r2.Vec{{}}, []r2.Vec{{Y: apart(a[0], b[0])}}
	for i := 1; i < len(a); i++ {
		p, q := v.tip[i-1], v.in[i-1]
		next := beside(p, q, apart(a[i-1], a[i]), apart(b[i-1], a[i]))
		v.tip = append(v.tip, next)
		v.in = append(v.in, beside(next, q, apart(a[i], b[i]), apart(b[i-1], b[i])))
	}
	end := v.tip[len(v.tip)-1]
	angle := -math.Atan2(end.Y, end.X)
	for i := range v.tip {
		v.tip[i], v.in[i] = r2.Rotate(v.tip[i], angle, r2.Vec{}), r2.Rotate(v.in[i], angle, r2.Vec{})
	}
}

func apart(a, b r3.Vec) float64 { return r3.Norm(r3.Sub(a, b)) }

// beside returns the point at given distances from p and q, to the right of one who looks from p to q.
func beside(p, q r2.Vec, fromP, fromQ float64) r2.Vec {
	along := r2.Sub(q, p)
	n := r2.Norm(along)
	x := (fromP*fromP + n*n - fromQ*fromQ) / (2 * n)
	y := math.Sqrt(math.Max(fromP*fromP-x*x, 0))
	along = r2.Scale(1/n, along)
	return r2.Add(p, r2.Add(r2.Scale(x, along), r2.Scale(y, vec(along.Y, -along.X))))
}

// place returns where a point of the skin lies on the paper, by its distance from the nose at station 0,
// round the skin, and its station.
func (v *development) place(fromNose, station float64) r2.Vec {
	i := min(max(sort.SearchFloat64s(v.fromNose, fromNose), 1), len(v.fromNose)-1)
	t := (fromNose - v.fromNose[i-1]) / (v.fromNose[i] - v.fromNose[i-1])
	return between(between(v.tip[i-1], v.tip[i], t), between(v.in[i-1], v.in[i], t), station/v.band)
}

// length returns how far it is round the skin from nose to tail at station 0.
func (v *development) length() float64 { return v.fromNose[len(v.fromNose)-1] }

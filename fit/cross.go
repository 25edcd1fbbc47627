package fit

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// crossing is a point where a path crosses itself: the path's parameters there (segment number plus share
// of the segment), the earlier first.
type crossing struct {
	a, b float64
	at   r2.Vec
}

// crossings returns all points where two segments of a path that are not neighbours cross, by a sweep along
// x. With closed the last segment is the neighbour of the first.
func crossings(path []r2.Vec, closed bool) []crossing {
	n := len(path) - 1
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	least := func(i int) float64 { return math.Min(path[i].X, path[i+1].X) }
	most := func(i int) float64 { return math.Max(path[i].X, path[i+1].X) }
	slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(least(i), least(j)), cmp.Compare(i, j)) })
	var found []crossing
	var active []int
	for _, i := range order {
		x := least(i)
		active = slices.DeleteFunc(active, func(j int) bool { return most(j) < x })
		for _, j := range active {
			lo, hi := min(i, j), max(i, j)
			if hi-lo < 2 || closed && lo == 0 && hi == n-1 {
				continue
			}
			if c, ok := cross(path, lo, hi); ok {
				found = append(found, c)
			}
		}
		active = append(active, i)
	}
	slices.SortFunc(found, func(p, q crossing) int { return cmp.Or(cmp.Compare(p.a, q.a), cmp.Compare(p.b, q.b)) })
	return found
}

// cross intersects segments i < j of a path. Ends belong to their segments at the start only, so that a
// path through a vertex crosses once.
func cross(path []r2.Vec, i, j int) (crossing, bool) {
	p, u := path[i], r2.Sub(path[i+1], path[i])
	q, v := path[j], r2.Sub(path[j+1], path[j])
	det := r2.Cross(u, v)
	if math.Abs(det) <= 1e-14*r2.Norm(u)*r2.Norm(v) {
		return crossing{}, false
	}
	w := r2.Sub(q, p)
	s, t := r2.Cross(w, v)/det, r2.Cross(w, u)/det
	if s < 0 || s >= 1 || t < 0 || t >= 1 {
		return crossing{}, false
	}
	return crossing{float64(i) + s, float64(j) + t, r2.Add(p, r2.Scale(s, u))}, true
}

// uncross cuts the loops off an outline that crosses itself, as at the hinge of a turned aileron or where
// the skins of a sunken tail pass through each other. At each crossing the longer part stays; if that is
// the part between the two passes, the outline is closed there.
func uncross(path []r2.Vec) []r2.Vec {
	for {
		closed := r2.Norm(r2.Sub(path[0], path[len(path)-1])) < closedGap
		found := crossings(path, closed)
		if len(found) == 0 {
			return path
		}
		path = cutLoop(path, found[0])
	}
}

func cutLoop(path []r2.Vec, c crossing) []r2.Vec {
	i, j := int(c.a), int(c.b)
	inner := polylineLength(path[i+1:j+1]) + r2.Norm(r2.Sub(path[i+1], c.at)) + r2.Norm(r2.Sub(path[j], c.at))
	if inner > polylineLength(path)/2 {
		return dropDoubles(slices.Concat([]r2.Vec{c.at}, path[i+1:j+1], []r2.Vec{c.at}))
	}
	return dropDoubles(slices.Concat(path[:i+1], []r2.Vec{c.at}, path[j+1:]))
}

const (
	closedGap = 1e-6 // mm: ends nearer than that are one point
	doubleGap = 1e-9 // mm: neighbours nearer than that are one point
)

// dropDoubles returns the path without points that lie on their forerunner.
func dropDoubles(path []r2.Vec) []r2.Vec {
	out := path[:0:0]
	for i, p := range path {
		if len(out) > 0 && r2.Norm(r2.Sub(p, out[len(out)-1])) < doubleGap {
			if i == len(path)-1 {
				out[len(out)-1] = p
			}
			continue
		}
		out = append(out, p)
	}
	return out
}

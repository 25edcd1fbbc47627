package fit

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	arcSag      = 0.002 // mm by which the corners of a rounded join stand off its circle
	mitreExcess = 1e-4  // mm by which a mitre may stand off the circle that it stands for
	offsetTol   = 1e-6  // mm: nearer to the outline than the distance less that is inside
)

// Offset returns the parallel of an outline at a distance in mm along its outward normal; negative is
// inward. The outline is a polyline in mm, open or closed (first point equal to the last), in either sense;
// an open one is offset along its run alone and its open end stays open. Corners are rounded outward and
// sharp inward; wherever the parallel would come nearer to the outline than the distance - at the tail,
// where the parallels of upper and lower surface cross, and at a nose that is too tight - it is cut where
// its branches cross, so the answer never crosses itself. If it falls into parts, the largest is returned.
// It lies within 0.002 mm of the true parallel of the polyline. The error says that nothing is left.
//
// The raw parallel is split where it crosses itself, and the pieces that keep their distance from the
// outline are joined again (the pair-wise offset of Tiller & Hanson, IEEE Comp. Graph. Appl. 4 (1984), from
// memory, with the distance as the test of what is valid).
func Offset(outline []r2.Vec, distance float64) ([]r2.Vec, error) {
	path := dropDoubles(outline)
	for _, p := range path {
		if math.IsNaN(p.X+p.Y) || math.IsInf(p.X+p.Y, 0) {
			return nil, fmt.Errorf("an outline point is not a number: (%g, %g)", p.X, p.Y)
		}
	}
	if len(path) < 3 || math.IsNaN(distance) || math.IsInf(distance, 0) {
		return nil, fmt.Errorf("no parallel at %g mm of an outline of %d points", distance, len(path))
	}
	if distance == 0 {
		return slices.Clone(path), nil
	}
	closed := r2.Norm(r2.Sub(path[0], path[len(path)-1])) < closedGap
	d := distance
	if enclosed(path) < 0 {
		d = -d // run clockwise, the outward side is on the left
	}
	if lo, hi := corners(path); distance <= -math.Min(hi.X-lo.X, hi.Y-lo.Y)/2 {
		return nil, nothingLeft(distance)
	}
	raw := dropDoubles(parallel(path, closed, d))
	if closed {
		raw[len(raw)-1] = raw[0]
	}
	out := trim(path, raw, closed, math.Abs(distance))
	if len(out) < 3 {
		return nil, nothingLeft(distance)
	}
	return out, nil
}

func nothingLeft(distance float64) error {
	return fmt.Errorf("an offset of %.2f mm leaves nothing of the outline", distance)
}

// corners returns the corners of the smallest upright box round the points.
func corners(p []r2.Vec) (lo, hi r2.Vec) {
	lo, hi = r2.Vec{X: math.Inf(1), Y: math.Inf(1)}, r2.Vec{X: math.Inf(-1), Y: math.Inf(-1)}
	for _, q := range p {
		lo = r2.Vec{X: math.Min(lo.X, q.X), Y: math.Min(lo.Y, q.Y)}
		hi = r2.Vec{X: math.Max(hi.X, q.X), Y: math.Max(hi.Y, q.Y)}
	}
	return lo, hi
}

// parallel returns the raw parallel at a distance to the right of the path.
func parallel(path []r2.Vec, closed bool, d float64) []r2.Vec {
	n := len(path) - 1
	normal := make([]r2.Vec, n)
	for i := range n {
		t := r2.Unit(r2.Sub(path[i+1], path[i]))
		normal[i] = r2.Vec{X: t.Y, Y: -t.X}
	}
	var out []r2.Vec
	if closed {
		out = join(out, path[0], normal[n-1], normal[0], d)
	} else {
		out = append(out, r2.Add(path[0], r2.Scale(d, normal[0])))
	}
	for i := 1; i < n; i++ {
		out = join(out, path[i], normal[i-1], normal[i], d)
	}
	if closed {
		return append(out, out[0])
	}
	return append(out, r2.Add(path[n], r2.Scale(d, normal[n-1])))
}

// join appends the parallel's corner at a vertex between two segments.
func join(out []r2.Vec, at, before, after r2.Vec, d float64) []r2.Vec {
	angle := math.Atan2(r2.Cross(before, after), r2.Dot(before, after))
	half := math.Cos(angle / 2)
	if math.Abs(d)*(1/half-1) < mitreExcess {
		return append(out, r2.Add(at, r2.Scale(d/half, r2.Unit(r2.Add(before, after)))))
	}
	out = append(out, r2.Add(at, r2.Scale(d, before)))
	if angle*d > 0 {
		// The side is the outer one of the corner: tangents of the circle, so that none comes too near.
		// Their corners stand off it by d/cos(step/2) - d, which is no square law where d is as small as that itself.
		steps := int(math.Abs(angle)/(2*math.Acos(math.Abs(d)/(math.Abs(d)+arcSag)))) + 1
		step := angle / float64(steps)
		for k := range steps {
			v := turned(before, (float64(k)+0.5)*step)
			out = append(out, r2.Add(at, r2.Scale(d/math.Cos(step/2), v)))
		}
	} else {
		out = append(out, at) // cut away with the loop that it makes
	}
	return append(out, r2.Add(at, r2.Scale(d, after)))
}

func turned(v r2.Vec, angle float64) r2.Vec {
	s, c := math.Sincos(angle)
	return r2.Vec{X: c*v.X - s*v.Y, Y: s*v.X + c*v.Y}
}

// piece is a run of a path between two crossings; ends are numbers of crossings, -1 for the path's own.
type piece struct {
	from, to int
	points   []r2.Vec
}

// trim splits the raw parallel at its crossings and joins the pieces that keep the distance.
func trim(path, raw []r2.Vec, closed bool, distance float64) []r2.Vec {
	var kept []piece
	for _, p := range split(raw, crossings(raw, closed), closed) {
		if keeps(path, p.points, distance) {
			kept = append(kept, p)
		}
	}
	var best []r2.Vec
	most := 0.0
	used := make([]bool, len(kept))
	for _, loops := range []bool{false, true} { // chains with an open end first, then those that come round
		for i, p := range kept {
			if used[i] || !loops && hasForerunner(kept, p.from) {
				continue
			}
			chain := follow(kept, used, i)
			if a := math.Abs(enclosed(chain)); a > most {
				best, most = chain, a
			}
		}
	}
	return dropDoubles(best)
}

func hasForerunner(kept []piece, node int) bool {
	return node >= 0 && slices.ContainsFunc(kept, func(p piece) bool { return p.to == node })
}

func follow(kept []piece, used []bool, i int) (chain []r2.Vec) {
	for i >= 0 {
		used[i] = true
		chain = append(chain, kept[i].points...)
		end := kept[i].to
		i = -1
		for k, p := range kept {
			if end >= 0 && !used[k] && p.from == end {
				i = k
				break
			}
		}
	}
	return chain
}

// split cuts a path at its crossings. A closed path begins anew at its first crossing.
func split(raw []r2.Vec, found []crossing, closed bool) []piece {
	type cut struct {
		at   float64
		node int
	}
	var cuts []cut
	for k, c := range found {
		cuts = append(cuts, cut{c.a, k}, cut{c.b, k})
	}
	if len(cuts) == 0 {
		return []piece{{-1, -1, raw}}
	}
	slices.SortFunc(cuts, func(p, q cut) int { return cmp.Compare(p.at, q.at) })
	run := func(from, to cut) []r2.Vec {
		out := []r2.Vec{found[from.node].at}
		for i := int(from.at) + 1; i <= int(to.at); i++ {
			out = append(out, raw[i])
		}
		return append(out, found[to.node].at)
	}
	var pieces []piece
	for i := 1; i < len(cuts); i++ {
		pieces = append(pieces, piece{cuts[i-1].node, cuts[i].node, run(cuts[i-1], cuts[i])})
	}
	first, last := cuts[0], cuts[len(cuts)-1]
	head := append(slices.Clone(raw[:int(first.at)+1]), found[first.node].at)
	tail := append([]r2.Vec{found[last.node].at}, raw[int(last.at)+1:]...)
	if closed {
		return append(pieces, piece{last.node, first.node, append(tail, head[1:]...)})
	}
	return append(pieces, piece{-1, first.node, head}, piece{last.node, -1, tail})
}

// keeps reports whether the middle of a piece keeps the distance from the outline.
func keeps(path, piece []r2.Vec, distance float64) bool {
	half, sum := polylineLength(piece)/2, 0.0
	at := piece[0]
	for i := 1; i < len(piece); i++ {
		step := r2.Norm(r2.Sub(piece[i], piece[i-1]))
		if sum+step >= half && step > 0 {
			at = mix(piece[i-1], piece[i], (half-sum)/step)
			break
		}
		sum += step
	}
	return distanceTo(path, at) >= distance-offsetTol
}

// distanceTo returns how far a point is from a polyline.
func distanceTo(path []r2.Vec, p r2.Vec) float64 {
	best := math.Inf(1)
	for i := 1; i < len(path); i++ {
		u := r2.Sub(path[i], path[i-1])
		w := r2.Sub(p, path[i-1])
		t := 0.0
		if l := r2.Norm2(u); l > 0 {
			t = math.Min(math.Max(r2.Dot(w, u)/l, 0), 1)
		}
		best = math.Min(best, r2.Norm2(r2.Sub(w, r2.Scale(t, u))))
	}
	return math.Sqrt(best)
}

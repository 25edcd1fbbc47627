package outbox

import "gonum.org/v1/gonum/spatial/r2"

// An outline in result.json has 400 to 2000 points and stays within 0.01 mm of the curve (the layout of
// result.json promises it). Half of that is left to the outline that comes in, which is itself a polyline.
const (
	leastOutline = 400
	mostOutline  = 2000
	outlineTol   = 0.005 // mm
)

// thinned returns an outline with a number of points that the record promises.
func thinned(p []r2.Vec) Outline {
	if len(p) < 2 {
		return nil
	}
	q := p
	if len(p) > mostOutline {
		q = nil
		for tol := outlineTol; len(q) < leastOutline; tol /= 2 {
			q = fewer(p, tol)
		}
	}
	for len(q) < leastOutline {
		q = halved(q)
	}
	out := make(Outline, len(q))
	for i, v := range q {
		out[i] = [2]float64{decimals(v.X, 4), decimals(v.Y, 4)}
	}
	return out
}

// fewer drops points that lie within tol of the line without them, by the rule of Douglas and Peucker
// (Cartographica 10 (1973) 112, from memory).
func fewer(p []r2.Vec, tol float64) []r2.Vec {
	keep := make([]bool, len(p))
	middle := len(p) / 2 // a closed outline has no chord between its ends
	keep[0], keep[middle], keep[len(p)-1] = true, true, true
	spans := [][2]int{{0, middle}, {middle, len(p) - 1}}
	for len(spans) > 0 {
		a, b := spans[len(spans)-1][0], spans[len(spans)-1][1]
		spans = spans[:len(spans)-1]
		far, at := tol*tol, 0
		for i := a + 1; i < b; i++ {
			if d := fromSegment2(p[i], p[a], p[b]); d > far {
				far, at = d, i
			}
		}
		if at > 0 {
			keep[at] = true
			spans = append(spans, [2]int{a, at}, [2]int{at, b})
		}
	}
	var out []r2.Vec
	for i, v := range p {
		if keep[i] {
			out = append(out, v)
		}
	}
	return out
}

// fromSegment2 returns the square of the distance of p from the segment a b.
func fromSegment2(p, a, b r2.Vec) float64 {
	d, v := r2.Sub(b, a), r2.Sub(p, a)
	t := 0.0
	if n := r2.Norm2(d); n > 0 {
		t = min(max(r2.Dot(v, d)/n, 0), 1)
	}
	return r2.Norm2(r2.Sub(v, r2.Scale(t, d)))
}

// halved puts a point into the middle of every segment.
func halved(p []r2.Vec) []r2.Vec {
	out := []r2.Vec{p[0]}
	for i := 1; i < len(p); i++ {
		out = append(out, r2.Scale(0.5, r2.Add(p[i-1], p[i])), p[i])
	}
	return out
}

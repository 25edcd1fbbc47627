package section

import (
	"cmp"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The span axis: the normals of an extruded body are all square to it. Clutter has normals too, so the
// axis is found by a vote in which each direction counts once, however large the plane that has it: a
// floor of a hundred thousand points is one direction, a wing is a whole great circle.

const (
	axisSpread     = 0.06 // rad: how far a wing's normals lie off the great circle, from taper and twist
	axisGrid       = 40   // cells along each side of the direction chart
	axisCandidates = 6    // axes handed to the matching
	axisApart      = 0.17 // rad, about 10 degrees: nearer maxima are the same axis
)

// spanAxes returns unit vectors that may be the span axis, the best first.
func spanAxes(patches []patch) []r3.Vec {
	dirs, weights := directions(patches)
	type vote struct {
		axis  r3.Vec
		score float64
	}
	const n = 2500 // directions of a hemisphere, 2.9 degrees apart
	votes := make([]vote, n)
	scan.OnAllProcessors(n/50, func(c int) {
		for i := c * 50; i < (c+1)*50; i++ {
			a := fibonacci(i, n)
			votes[i] = vote{a, axisScore(a, dirs, weights)}
		}
	})
	slices.SortStableFunc(votes, func(a, b vote) int { return cmp.Compare(b.score, a.score) })
	var axes []r3.Vec
	for _, v := range votes {
		if len(axes) == axisCandidates || v.score < 0.3*votes[0].score {
			break
		}
		if !slices.ContainsFunc(axes, func(a r3.Vec) bool {
			return math.Abs(r3.Dot(a, v.axis)) > math.Cos(axisApart)
		}) {
			axes = append(axes, v.axis)
		}
	}
	for i := range axes {
		axes[i] = polishAxis(axes[i], dirs, weights)
	}
	return axes
}

// directions gathers the normals on a chart of the hemisphere. The weight of a direction is the square
// root of its number of patches, so that large planes do not outvote a curved skin.
func directions(patches []patch) (dirs []r3.Vec, weights []float64) {
	type bin struct {
		sum r3.Vec
		n   int
	}
	bins := make([]bin, axisGrid*axisGrid)
	for _, p := range patches {
		if p.flat < 0.8 {
			continue
		}
		v := p.normal
		if v.Z < 0 {
			v = r3.Scale(-1, v)
		}
		// Octahedral chart of the upper hemisphere: |x| + |y| + z = 1, unfolded to a square.
		s := math.Abs(v.X) + math.Abs(v.Y) + v.Z
		i := int((v.X/s + v.Y/s + 1) / 2 * (axisGrid - 1e-9))
		k := int((v.X/s - v.Y/s + 1) / 2 * (axisGrid - 1e-9))
		b := &bins[min(max(i, 0), axisGrid-1)*axisGrid+min(max(k, 0), axisGrid-1)]
		b.sum = r3.Add(b.sum, v)
		b.n++
	}
	for _, b := range bins {
		if b.n > 0 && r3.Norm(b.sum) > 0 {
			dirs = append(dirs, r3.Unit(b.sum))
			weights = append(weights, math.Sqrt(float64(b.n)))
		}
	}
	return dirs, weights
}

// axisScore sums the weights of the directions about the great circle square to a, by a power that is near a bell of
// axisSpread and quicker to have.
func axisScore(a r3.Vec, dirs []r3.Vec, weights []float64) float64 {
	var sum float64
	for i := range dirs {
		c := r3.Dot(a, dirs[i])
		w := max(1-c*c*(1/(16*axisSpread*axisSpread)), 0)
		w *= w
		w *= w
		w *= w
		sum += weights[i] * w
	}
	return sum
}

// polishAxis moves an axis to the smallest eigenvector of the covariance of the normals that agree with it.
func polishAxis(a r3.Vec, dirs []r3.Vec, weights []float64) r3.Vec {
	for range 5 {
		var c [6]float64
		for i, d := range dirs {
			dot := r3.Dot(a, d)
			w := weights[i] * math.Exp(-dot*dot/(2*axisSpread*axisSpread))
			c[0] += w * d.X * d.X
			c[1] += w * d.X * d.Y
			c[2] += w * d.X * d.Z
			c[3] += w * d.Y * d.Y
			c[4] += w * d.Y * d.Z
			c[5] += w * d.Z * d.Z
		}
		next, _ := smallestAxis(c)
		if math.Abs(r3.Dot(next, a)) < math.Cos(axisApart) {
			return a // the agreeing normals lie nearly all in one direction and hold no axis
		}
		a = next
	}
	return a
}

// fibonacci returns direction i of n spread evenly over the upper hemisphere on a golden-angle spiral.
func fibonacci(i, n int) r3.Vec {
	z := (float64(i) + 0.5) / float64(n)
	r := math.Sqrt(1 - z*z)
	s, c := math.Sincos(float64(i) * math.Pi * (3 - math.Sqrt(5)))
	return r3.Vec{X: r * c, Y: r * s, Z: z}
}

// across returns two unit vectors that with axis make a right-handed frame (u, v, axis).
func across(axis r3.Vec) (u, v r3.Vec) {
	other := r3.Vec{X: 1}
	if math.Abs(axis.X) > 0.6 {
		other = r3.Vec{Y: 1}
	}
	u = r3.Unit(r3.Cross(other, axis))
	return u, r3.Cross(axis, u)
}

package fit

import (
	"math"
	"slices"
	"sort"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
	"tipwright/section/airfoil"
)

const (
	contourPoints = 4001 // of the curve that departures are carried on; within 1e-6 chords of it
	outlinePoints = 1601 // of the outlines that are handed on: within 0.005 mm of the curve at a chord of 1.5 m
)

// contour is the loft's unit section with the aileron at neutral, as a curve of the share of its arc: 0 at
// the trailing edge of the upper surface, 1 at that of the lower.
type contour struct {
	points  []r2.Vec
	normals []r2.Vec // outward, unit length
	share   []float64
	nose    float64 // share at the leading edge
	airfoil *airfoil.Airfoil
	base    []base // points that outlines are drawn through
}

// base is a point that outlines are drawn through.
type base struct {
	at, normal r2.Vec
	share      float64
}

func newContour(l *section.Loft) *contour {
	c := &contour{points: l.Airfoil.Outline(contourPoints), airfoil: l.Airfoil}
	n := len(c.points)
	c.share = make([]float64, n)
	c.normals = make([]r2.Vec, n)
	for i := 1; i < n; i++ {
		c.share[i] = c.share[i-1] + r2.Norm(r2.Sub(c.points[i], c.points[i-1]))
	}
	foremost := 0
	for i, p := range c.points {
		c.share[i] /= c.share[n-1]
		if p.X < c.points[foremost].X {
			foremost = i
		}
		a, b := c.points[max(i-1, 0)], c.points[min(i+1, n-1)]
		t := r2.Unit(r2.Sub(b, a))
		c.normals[i] = r2.Vec{X: t.Y, Y: -t.X} // the outline runs forward over the top
	}
	c.nose = c.share[foremost]
	return c
}

// at returns the point of the curve and its outward normal at a share of the arc.
func (c *contour) at(share float64) (p, normal r2.Vec) {
	i := sort.SearchFloat64s(c.share, share)
	if i == 0 {
		return c.points[0], c.normals[0]
	}
	if i >= len(c.share) {
		return c.points[len(c.points)-1], c.normals[len(c.normals)-1]
	}
	t := (share - c.share[i-1]) / (c.share[i] - c.share[i-1])
	return mix(c.points[i-1], c.points[i], t), r2.Unit(mix(c.normals[i-1], c.normals[i], t))
}

func mix(a, b r2.Vec, t float64) r2.Vec { return r2.Add(r2.Scale(1-t, a), r2.Scale(t, b)) }

// drawn returns the points that outlines are drawn through, from the trailing edge of the upper surface to that of the
// lower.
func (c *contour) drawn() []base {
	if c.base == nil {
		points := c.airfoil.Outline(outlinePoints)
		c.base = make([]base, len(points))
		share := 0.0
		whole := polylineLength(points)
		for i, q := range points {
			if i > 0 {
				share += r2.Norm(r2.Sub(q, points[i-1])) / whole
			}
			_, normal := c.at(share)
			c.base[i] = base{q, normal, share}
		}
	}
	return c.base
}

// outline places the loft's section at a station with a departure added along the nominal's normal. The
// aileron stands at the loft's deflection: a departure turns with it. The skins end where the loft does, which
// is where the tail's edge was found, however far a departure carries them aft. Where a turned aileron or a
// sunken tail makes the outline cross itself, the loop is cut off.
func (c *contour) outline(l *section.Loft, station float64, departure func(i int, share float64) float64) []r2.Vec {
	chord := l.ChordAt(station)
	points := c.drawn()
	out := make([]r2.Vec, len(points))
	for i := range points {
		p := &points[i]
		out[i] = r2.Add(p.at, r2.Scale(departure(i, p.share)/chord, p.normal))
	}
	out = endAt(out, points[0].at.X, points[len(points)-1].at.X)
	for i, q := range out {
		out[i] = l.Place(l.Deflect(q), station)
	}
	return uncross(out)
}

// endAt cuts off what lies aft of where the first and the last point of a section belong along the chord: a wedge's
// normals lean aft, and a thick skin on them would lengthen it.
func endAt(path []r2.Vec, first, last float64) []r2.Vec {
	path = cutAft(path, first)
	slices.Reverse(path)
	path = cutAft(path, last)
	slices.Reverse(path)
	return path
}

// cutAft cuts off the beginning of a path that lies aft of x.
func cutAft(path []r2.Vec, x float64) []r2.Vec {
	for i, p := range path {
		if p.X > x {
			continue
		}
		if i == 0 {
			break
		}
		a := path[i-1]
		path[i-1] = mix(a, p, (a.X-x)/(a.X-p.X))
		return path[i-1:]
	}
	return path
}

func polylineLength(p []r2.Vec) (sum float64) {
	for i := 1; i < len(p); i++ {
		sum += r2.Norm(r2.Sub(p[i], p[i-1]))
	}
	return sum
}

// surface tells which skin a share of the arc lies on.
func (c *contour) surface(share float64) Surface {
	if share <= c.nose {
		return Upper
	}
	return Lower
}

// x returns the distance aft of the leading edge along the chord line, mm, at a share and a station.
func (c *contour) x(l *section.Loft, share, station float64) float64 {
	p, _ := c.at(share)
	return math.Max(p.X, 0) * l.ChordAt(station)
}

package outbox

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// blockOutline is the closed edge of a board that a wire rides on or that lies on the skin, section frame,
// mm: from the tail over the upper surface to the nose and back along the lower one. Where the tail is open
// the board's tail is straight.
type blockOutline struct {
	points []r2.Vec // the last is not the first, even of a closed tail
	nose   int      // the point farthest from the tail: where a tape measures to
	tail   r2.Vec   // the middle of the tail
	open   bool     // the tail has a thickness
	deepX  float64  // where it is deepest, in whole mm
	depth  float64  // how deep it is there
}

const thinTail = 0.05 // mm: a tail thinner than this is an edge

// newBlockOutline takes an outline as fit gives it.
func newBlockOutline(p []r2.Vec) (blockOutline, error) {
	if len(p) < 20 {
		return blockOutline{}, errors.New("its outline has too few points")
	}
	o := blockOutline{points: p}
	first, last := p[0], p[len(p)-1]
	gap := r2.Norm(r2.Sub(first, last))
	o.open = gap > thinTail
	if gap < 1e-6 {
		o.points = p[:len(p)-1]
	}
	o.tail = r2.Scale(0.5, r2.Add(first, last))
	for i, q := range o.points {
		if math.IsNaN(q.X+q.Y) || math.IsInf(q.X+q.Y, 0) {
			return blockOutline{}, errors.New("a point of its outline is not a number")
		}
		if r2.Norm2(r2.Sub(q, o.tail)) > r2.Norm2(r2.Sub(o.points[o.nose], o.tail)) {
			o.nose = i
		}
	}
	if o.nose < 5 || o.nose > len(o.points)-5 {
		return blockOutline{}, errors.New("its outline has no nose")
	}
	o.deepX, o.depth = o.deepest()
	return o, nil
}

// noseMark returns the point farthest from the tail.
func (o *blockOutline) noseMark() r2.Vec { return o.points[o.nose] }

// upper and lower return the two surfaces from the tail to the nose mark.
func (o *blockOutline) upper() []r2.Vec { return o.points[:o.nose+1] }

func (o *blockOutline) lower() []r2.Vec {
	var out []r2.Vec
	if !o.open {
		out = append(out, o.points[0])
	}
	for i := len(o.points) - 1; i >= o.nose; i-- {
		if len(out) == 0 || o.points[i] != out[0] {
			out = append(out, o.points[i])
		}
	}
	return out
}

// cut returns the lowest and the highest point of the outline at x; ok is false beyond its ends.
func (o *blockOutline) cut(x float64) (lower, upper float64, ok bool) {
	lower, upper = math.Inf(1), math.Inf(-1)
	for i, p := range o.points {
		q := o.points[(i+1)%len(o.points)]
		if (p.X <= x) == (q.X <= x) {
			continue
		}
		z := p.Y + (x-p.X)/(q.X-p.X)*(q.Y-p.Y)
		lower, upper = math.Min(lower, z), math.Max(upper, z)
	}
	return lower, upper, lower < upper
}

// deepest returns the x, in whole mm, at which the outline is deepest, and how deep it is there. It goes once
// round the outline and not once for each x.
func (o *blockOutline) deepest() (x, depth float64) {
	from, to := o.extent()
	first := math.Ceil(from)
	depths := make([]depthAt, max(0, int(math.Floor(to)-first)+1))
	for i, p := range o.points {
		q := o.points[(i+1)%len(o.points)]
		for at := math.Ceil(min(p.X, q.X)); at < max(p.X, q.X); at++ {
			depths[int(at-first)].reach(p.Y + (at-p.X)/(q.X-p.X)*(q.Y-p.Y))
		}
	}
	for i, d := range depths {
		if d.upper-d.lower > depth {
			x, depth = first+float64(i), d.upper-d.lower
		}
	}
	return x, depth
}

// depthAt is the lowest and the highest point of an outline at one x.
type depthAt struct {
	lower, upper float64
	any          bool
}

// reach widens it by a point.
func (d *depthAt) reach(z float64) {
	if !d.any {
		d.lower, d.upper, d.any = z, z, true
	}
	d.lower, d.upper = min(d.lower, z), max(d.upper, z)
}

// extent returns the least and the greatest x.
func (o *blockOutline) extent() (from, to float64) {
	from, to = math.Inf(1), math.Inf(-1)
	for _, p := range o.points {
		from, to = math.Min(from, p.X), math.Max(to, p.X)
	}
	return from, to
}

// clearance returns how far a point lies from the edge.
func (o *blockOutline) clearance(q r2.Vec) float64 {
	least := math.Inf(1)
	for i, a := range o.points {
		b := o.points[(i+1)%len(o.points)]
		d := r2.Sub(b, a)
		f := 0.0
		if n := r2.Norm2(d); n > 0 {
			f = math.Max(0, math.Min(1, r2.Dot(r2.Sub(q, a), d)/n))
		}
		least = math.Min(least, r2.Norm(r2.Sub(q, r2.Add(a, r2.Scale(f, d)))))
	}
	return least
}

// tailward returns the direction in which the tail points: the mean of its two surfaces', each taken over
// the last fiftieth of its length.
func (o *blockOutline) tailward() r2.Vec {
	sum := r2.Vec{}
	for _, s := range [][]r2.Vec{o.upper(), o.lower()} {
		before, _ := atShare(s, 0.02)
		sum = r2.Add(sum, r2.Unit(r2.Sub(s[0], before)))
	}
	return r2.Unit(sum)
}

// atShare returns the point of a line at a share of its length, and the line's direction there.
func atShare(p []r2.Vec, share float64) (at, along r2.Vec) {
	whole := 0.0
	for i := 1; i < len(p); i++ {
		whole += r2.Norm(r2.Sub(p[i], p[i-1]))
	}
	left := share * whole
	for i := 1; i < len(p); i++ {
		step := r2.Sub(p[i], p[i-1])
		n := r2.Norm(step)
		if n > 0 && (left <= n || i == len(p)-1) {
			return r2.Add(p[i-1], r2.Scale(math.Min(1, left/n), step)), r2.Scale(1/n, step)
		}
		left -= n
	}
	return p[len(p)-1], r2.Vec{}
}

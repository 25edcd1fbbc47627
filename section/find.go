package section

import (
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// Finding: the search, the choice among the flips, and what is left of a scan without the wing that was found.

// find looks for the wing and settles which way it lies. With a refusal of the side, the work holds what was found.
func find(s *scan.Scan, opt *Options, a *airfoil.Airfoil, f *field) (*work, error) {
	points := newMesh(s)
	gs, err := prepare(points, opt, opt.reference(a))
	if err != nil {
		return nil, err
	}
	found := search(points, gs, f, opt)
	if len(found) == 0 {
		return nil, noWing(nil)
	}
	w := &work{opt: opt, airfoil: a, points: points}
	if opt.Airfoil == nil {
		found = w.adopt(found)
	}
	return w, w.choose(found)
}

// span returns how far the panel reaches along the stations, chords.
func (c *candidate) span() float64 { return (c.hi - c.lo) / c.middleChord() }

// without returns the scan without what lies in, on or close to a candidate's panel.
func without(s *scan.Scan, c *candidate) *scan.Scan {
	toWing := c.wingFromPoints.After(Transform{R: Identity().R, Scale: c.mm, T: r3.Scale(-c.mm, c.origin)})
	reach := panelMargin * c.Chord
	gone := make([]bool, len(s.Points))
	parallel(len(s.Points), func(lo, hi int) {
		for i := lo; i < hi; i++ {
			q := toWing.Apply(vec(s.At(i)))
			if y := q.Y * c.inboard; y > c.lo-reach && y < c.hi+reach {
				r, ok := c.at(q)
				gone[i] = ok && r.distance < reach
			}
		}
	})
	out := *s
	if len(s.Triangles) > 0 {
		out.Triangles = nil
		for _, t := range s.Triangles {
			if !gone[t[0]] && !gone[t[1]] && !gone[t[2]] {
				out.Triangles = append(out.Triangles, t)
			}
		}
		return &out
	}
	out.Points = nil
	for i, p := range s.Points {
		if !gone[i] {
			out.Points = append(out.Points, p)
		}
	}
	return &out
}

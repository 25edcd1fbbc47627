package section

import (
	"cmp"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// Finding: the search, the choice among the flips, and what is left of a scan without the wing that was found.

// find looks for the wing and settles which way it lies. With a refusal of the side, the work holds what was found.
func find(s *scan.Scan, opt *Options) (*work, error) {
	w := &work{opt: opt, airfoil: opt.Airfoil, points: newMesh(s)}
	var found []*candidate
	if opt.Airfoil != nil {
		of, err := w.searchFor(opt.Airfoil)
		if err != nil {
			return nil, err
		}
		found = of
	}
	for _, name := range standIns {
		if opt.Airfoil != nil || len(found) > 0 && found[0].adopted() && found[0].certain() {
			break
		}
		w.airfoil = standIn(name)
		of, err := w.searchFor(w.airfoil)
		if err != nil {
			return nil, err
		}
		found = byScore(append(found, adopt(of)...))
	}
	if len(found) == 0 {
		return nil, noWing(nil)
	}
	return w, w.choose(found)
}

// searchFor looks for the places of a section.
func (w *work) searchFor(a *airfoil.Airfoil) ([]*candidate, error) {
	gs, err := prepare(w.points, w.opt, w.opt.reference(a))
	if err != nil {
		return nil, err
	}
	return search(w.points, gs, newField(a.Outline(outlinePoints), fieldCell), w.opt), nil
}

// byScore sorts candidates, the best first.
func byScore(found []*candidate) []*candidate {
	slices.SortStableFunc(found, func(a, b *candidate) int { return cmp.Compare(b.score(), a.score()) })
	return found
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

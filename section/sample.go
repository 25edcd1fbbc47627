package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// sample is one point as the map sees it.
type sample struct {
	arc, station, distance float64 // mm; distance from the loft, skin offset included
}

// sampler compares points with the loft as compare does, and works out no more than a sample needs.
type sampler struct {
	model
	droop turn    // of the aileron
	hinge float64 // chords; beyond all points where there is no aileron
	reach float64 // mm from the offset skin
	far   float64 // mm from the outline, from which on no point is within reach
}

func (f *fitter) sampler() *sampler {
	reach := mapReach * f.Chord
	s := &sampler{f.model, turnBy(f.Deflection), f.Hinge, reach, reach + math.Abs(f.offset)}
	if !(s.hinge > 0) {
		s.hinge = math.Inf(1)
	}
	return s
}

// look compares a point (wing frame, mm) with the loft. It reports false where the point is none of the skin's. It is the inner
// loop of the map: the field's table is read in place, and what lies too far from the skin is not looked for.
func (m *sampler) look(p r3.Vec, s *sample) bool {
	q, station, chord, twist := m.inSection(p)
	if !(chord > 0) {
		return false
	}
	neutral, aileron := q, q.X > m.hinge
	if aileron {
		v := m.droop.noseDown(r2.Vec{X: q.X - m.Hinge, Y: q.Y - m.HingeZ})
		neutral = r2.Vec{X: m.Hinge + v.X, Y: m.HingeZ + v.Y}
	}
	f := m.field
	x, y := (neutral.X-f.origin.X)*f.perCell, (neutral.Y-f.origin.Y)*f.perCell
	i, k := int(x), int(y)
	if x < 0 || y < 0 || i >= f.nx || k >= f.nz {
		return false
	}
	var ft foot
	if n := k*f.nx + i; f.table == nil {
		ft = f.search(neutral, n)
	} else if c := &f.table[n]; c.known {
		c.at((x-float64(i)-0.5)*f.cell, (y-float64(k)-0.5)*f.cell, &ft)
	} else if chord*float64(c.least) > m.far {
		return false
	} else {
		ft = f.search(neutral, n)
	}
	distance := chord * ft.distance
	if ft.end || math.Abs(distance-m.offset) > m.reach {
		return false
	}
	n := ft.normal
	if aileron {
		n = m.droop.noseUp(n)
	}
	g := twist.noseUp(n)
	perStation := m.Twist*chord*(n.Y*q.X-n.X*q.Y) + m.Taper*(ft.distance-(n.X*q.X+n.Y*q.Y)) - m.Sweep*g.X - m.Rise*g.Y
	// Distances are measured in the section's plane; the skin's own normal leans a little out of it.
	*s = sample{ft.arc * m.Chord, station, distance / math.Sqrt(g.X*g.X+g.Y*g.Y+perStation*perStation)}
	return true
}

// away returns how far a point (wing frame, mm) lies from the loft, as compareNear does, and nothing else: for those who ask
// many points for no more. It reports false for one behind the trailing edge, too.
func (m *sampler) away(p r3.Vec, reach float64) (distance float64, ok bool) {
	q, _, chord, _ := m.inSection(p)
	if !(chord > 0) {
		return 0, false
	}
	if q.X > m.hinge {
		v := m.droop.noseDown(r2.Vec{X: q.X - m.Hinge, Y: q.Y - m.HingeZ})
		q = r2.Vec{X: m.Hinge + v.X, Y: m.HingeZ + v.Y}
	}
	var ft foot
	ok = m.field.lookNear(q, reach/chord, &ft) && !ft.end
	return chord * ft.distance, ok
}

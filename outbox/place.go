package outbox

import (
	"sort"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

// skinPoints is the number of points of the curve that departures are put on; at a chord of 1.2 m it lies
// within a micrometre.
const skinPoints = 4001

// neutralSkin is the placed nominal at station 0, the aileron faired, as a curve of the arc of section.Map.
type neutralSkin struct {
	loft   section.Loft
	points []r2.Vec  // section frame, mm
	arc    []float64 // mm
}

func newNeutralSkin(s *section.Survey) *neutralSkin {
	k := &neutralSkin{loft: s.Loft, points: s.Loft.Neutral(0).Outline(0, skinPoints)}
	k.arc = make([]float64, len(k.points))
	for i := 1; i < len(k.points); i++ {
		k.arc[i] = k.arc[i-1] + r2.Norm(r2.Sub(k.points[i], k.points[i-1]))
	}
	return k
}

// at returns the point at an arc at the tip rib, moved outward along the normal by departure, with the aileron
// turned down by deflection, rad.
func (k *neutralSkin) at(arc, departure, deflection float64) r2.Vec {
	return k.lifted(arc, departure, deflection, 0)
}

// lifted returns the point at an arc at any station, moved outward by a departure, with the aileron turned down
// by deflection, rad; section frame, mm.
func (k *neutralSkin) lifted(arc, departure, deflection, station float64) r2.Vec {
	i := min(max(sort.SearchFloat64s(k.arc, arc), 1), len(k.arc)-1)
	a, b := k.points[i-1], k.points[i]
	p := r2.Add(a, r2.Scale((arc-k.arc[i-1])/(k.arc[i]-k.arc[i-1]), r2.Sub(b, a)))
	chord := k.loft.ChordAt(station)
	q := r2.Add(r2.Scale(1/k.loft.Chord, p), r2.Scale(departure/chord, k.outward(r2.Unit(r2.Sub(b, a)))))
	turned := k.loft.Neutral(deflection)
	return turned.Place(turned.Deflect(q), station)
}

// outward returns the normal of a direction along the outline, which runs forward over the top.
func (k *neutralSkin) outward(along r2.Vec) r2.Vec { return r2.Vec{X: along.Y, Y: -along.X} }

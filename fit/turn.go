package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section"
)

// The aileron stands at neutral where its section continues the wing's. The loft's deflection is that of the
// drawing laid on the skin of the aileron as a whole, and the wing's form bends that by a tenth of a degree
// and more. Here the deflection is put right: the form has the aileron's turn about its hinge among its
// functions, and since all else in the form is smooth across the hinge line, what kinks there on both skins
// at once is turn. The target leaves it out.
const (
	turnSize    = 0.3 * math.Pi / 180   // rad: how far off the loft's deflection may be,
	turnUsual   = 0.1 * math.Pi / 180   // how far off it usually is,
	turnUnusual = 2.5                   // and how many standard deviations tell that it is not as usual
	turnTwist   = 0.05                  // mm at the tail: an aileron turns as a whole
	turnWaves   = 0.025 * math.Pi / 180 // rad, standard uncertainty from waves of the form near the hinge line (simulated)
)

// turn is the aileron's turn as a function of the arc: 1 mm at the tail of the upper surface, where the
// lever is lever mm long. Without an aileron lever is 0.
type turn struct {
	skin   *contour
	axis   r2.Vec
	hinge  [2]float64
	length float64
	lever  float64
	chord  float64
	usual  bool // the loft's deflection is off by no more than usual
}

func newTurn(p *panel) turn {
	if math.IsNaN(p.hinge[0]) || p.axis.X <= 0 {
		return turn{}
	}
	return turn{skin: p.contour, axis: p.axis, hinge: p.hinge, length: p.length, lever: (1 - p.axis.X) * p.chord, chord: p.chord}
}

// at returns how far the skin moves outward at an arc, mm, when the tail sinks by 1 mm.
func (t *turn) at(arc float64) float64 {
	if t.lever == 0 || !(arc < t.hinge[0] || arc > t.hinge[1]) {
		return 0
	}
	q, normal := t.skin.at(arc / t.length)
	v := r2.Sub(q, t.axis)
	return r2.Dot(r2.Vec{X: v.Y, Y: -v.X}, normal) * t.chord / t.lever
}

// size returns the expected size of an order along the station, mm at the tail.
func (t *turn) size(order int) float64 {
	if order > 0 {
		return turnTwist
	}
	if t.usual {
		return turnUsual * math.Max(t.lever, 1)
	}
	return turnSize * math.Max(t.lever, 1)
}

// turnIndex returns the index of the turn among the functions of the arc.
func (f *form) turnIndex() int { return f.shifts() + 2 }

// turned returns the aileron's turn beyond the loft's deflection, rad, trailing edge down positive.
func (f *form) turned() section.Measured {
	if f.turn.lever == 0 {
		return section.Measured{}
	}
	at := f.turnIndex() * f.orders
	return section.Measured{Value: f.coef[at] / f.turn.lever, U: 2 * math.Hypot(math.Sqrt(math.Max(f.cov.At(at, at), 0))/f.turn.lever, turnWaves)}
}

// usualTurn reports whether the turn found is one that the loft usually leaves: then what the loft knows of the
// deflection counts too, which matters where the scan shows little of the aileron.
func (f *form) usualTurn() bool {
	turn := f.turned()
	return f.turn.lever > 0 && math.Abs(turn.Value) < turnUnusual*math.Hypot(turnUsual, turn.U/2)
}

// neutral returns the form at an arc and a station with the aileron turned to where it continues the wing, mm.
func (f *form) neutral(arc, station float64) float64 {
	return f.at(arc, station) - f.turnAt(arc)
}

// turnAt returns the part of the form at an arc that is the aileron's turn, mm.
func (f *form) turnAt(arc float64) float64 {
	if f.turn.lever == 0 {
		return 0
	}
	return f.coef[f.turnIndex()*f.orders] * f.turn.at(arc)
}

// uNeutral returns the standard uncertainty of neutral at an arc and a station, mm.
func (f *form) uNeutral(arc, station float64) float64 {
	e := f.row(arc, station)
	for i := range e.n {
		if e.index[i] == f.turnIndex()*f.orders {
			e.value[i] = 0
		}
	}
	return math.Hypot(f.uOf(&e, arc, station), turnWaves*f.turn.lever*f.turn.at(arc))
}

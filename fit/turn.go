package fit

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
	"tipwright/section"
)

// The aileron stands at neutral where its section continues the wing's. The loft's deflection is that of the
// drawing laid on the skin of the aileron as a whole, and the wing's form bends that by a tenth of a degree
// and more. Here the deflection is put right: the form has the aileron's turn about its hinge among its
// functions, and since all else in the form is smooth across the hinge line, what kinks there on both skins
// at once is turn. The target leaves it out.
//
// The penalty on the form is there to part its waves from spots; it bends waves of a third of the chord near the tail
// a little too, and the turn takes up what they lose: a quarter of a degree for each millimetre of them (simulated).
// So the turn is read from a fit with a cut of 0.7 times the form's, where that is a twelfth and noise
// half as large again, and the form is then held to it.
const (
	turnSize    = 0.3 * math.Pi / 180  // rad: how far off the loft's deflection may be,
	turnUsual   = 0.1 * math.Pi / 180  // how far off it usually is, unless its own uncertainty tells less,
	turnUnusual = 2.5                  // and how many standard deviations tell that it is not as usual
	turnTwist   = 0.05                 // mm at the tail: an aileron turns as a whole
	turnWaves   = 0.02 * math.Pi / 180 // rad, standard uncertainty from waves of the form near the hinge line (simulated)
	turnCut     = 0.7                  // of the form's cut: the cut of the fit that the turn is read from
	fineBias    = 0.33                 // of the coarse reading's bias: what the finer one may have left (simulated)
	turnWeight  = 1e12                 // 1/mm^2 with which a form is held to a turn
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
	loft   float64 // rad, how far off the loft's deflection usually is
	usual  bool    // it is off by no more than that

	held  bool      // the form is held to a turn of value,
	value float64   // mm at the tail,
	sd    float64   // of this standard uncertainty
	pull  []float64 // change of the coefficients with value
}

func newTurn(p *panel) turn {
	if math.IsNaN(p.hinge[0]) || p.axis.X <= 0 {
		return turn{}
	}
	return turn{skin: p.contour, axis: p.axis, hinge: p.hinge, length: p.length, lever: (1 - p.axis.X) * p.chord, chord: p.chord, loft: p.turnOff}
}

// usualTurn returns how far off the loft's deflection usually is, rad: as far as its expanded uncertainty, twice what the
// form that the scan shows lets expect, since waves at the hinge line are like a turn; no more than turnUsual.
func usualTurn(s *section.Survey) float64 {
	if s.StandIn || s.Deflection == nil || !(s.Deflection.U > 0) {
		return turnUsual
	}
	return math.Min(s.Deflection.U, turnUsual)
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
		return t.loft * math.Max(t.lever, 1)
	}
	return turnSize * math.Max(t.lever, 1)
}

// waves returns the standard uncertainty of a turn from waves of the form near the hinge line, rad: the less form there
// is, the better the loft's deflection is known and the less they can be.
func (t *turn) waves() float64 { return math.Min(turnWaves, t.loft) }

// turnIndex returns the index of the turn among the functions of the arc.
func (f *form) turnIndex() int { return f.shifts() + 2 }

// readTurn reads the aileron's turn from what was not taken out, by fits with the form's cut and with a finer one,
// and fits the form once more, held to it if there is an aileron. It reports false where that cannot be done.
func (out *parted) readTurn(p *panel, cut float64) bool {
	f, skip := out.form, out.taken(p)
	if f.turn.lever > 0 {
		var readings [2]reading // with the form's cut, and with the finer one
		var ok [2]bool
		rooms := [2]fitRoom{out.fitRoom}
		scan.OnAllProcessors(2, func(i int) {
			readings[i], ok[i] = out.turnWith(p, [2]float64{cut, turnCut * cut}[i], skip, rooms[i])
		})
		if !ok[0] || !ok[1] {
			return false
		}
		f.turn.held = true
		f.turn.value, f.turn.sd = reconcile(readings[0], readings[1])
	}
	weights, ok := out.refit(p, cut, skip)
	if ok {
		out.finish(p, weights)
	}
	return ok
}

// reading is a turn, mm at the tail, and its variance.
type reading struct{ value, variance float64 }

// reconcile makes one of two readings, of which the coarse one is less noisy and the fine one less biased. The square
// of their difference beyond what noise explains is taken for that of the bias; the less of it, the more the coarse one
// counts (James & Stein, Proc. 4th Berkeley Symp. 1 (1961) 361, from memory).
func reconcile(coarse, fine reading) (value, sd float64) {
	noise := math.Max(fine.variance-coarse.variance, 0)
	diff2 := square(coarse.value - fine.value)
	share := 1.0
	if diff2 > noise {
		share = noise / diff2
	}
	bias2 := math.Max(diff2-noise, 0)
	variance := share*coarse.variance + (1-share)*fine.variance + (share*share+square(fineBias))*bias2
	return fine.value + share*(coarse.value-fine.value), math.Sqrt(math.Max(variance, 0))
}

// turnWith reads the turn by a fit with the given cut.
func (out *parted) turnWith(p *panel, cut float64, skip []state, room fitRoom) (r reading, ok bool) {
	f := *out.form
	f.room = nil
	trial := out.trial(&f)
	trial.fitRoom = room
	at := f.turnIndex() * f.orders
	for {
		weights, ok := trial.refit(p, cut, skip)
		if !ok {
			return r, false
		}
		r.variance = f.varianceOf(at, p, weights, trial.residual, square(out.shared()))
		if f.turn.usual || !f.turnsAsUsual(r.variance) {
			break
		}
		f.turn.usual = true
	}
	r.value = f.coef[at]
	return r, true
}

// hold adds to the equations what holds the form to its turn.
func (f *form) hold(lhs *envelope, rhs []float64) {
	if f.turn.held {
		at := f.turnIndex() * f.orders
		lhs.add(at, at, turnWeight)
		rhs[at] += turnWeight * f.turn.value
	}
}

// follow notes how the coefficients change with the turn that the form is held to, by the equations just solved.
func (f *form) follow(chol, bare *envelope) {
	if f.turn.held {
		rhs := make([]float64, f.size())
		rhs[f.turnIndex()*f.orders] = turnWeight
		f.turn.pull = twiced(chol, bare, rhs)
	}
}

// turned returns the aileron's turn beyond the loft's deflection, rad, trailing edge down positive.
func (f *form) turned() section.Measured {
	if f.turn.lever == 0 {
		return section.Measured{}
	}
	at := f.turnIndex() * f.orders
	return f.turnedBy(math.Max(f.cov.At(at, at), 0))
}

// turnedBy is turned for a variance of the turn's coefficient, mm^2.
func (f *form) turnedBy(variance float64) section.Measured {
	at := f.turnIndex() * f.orders
	return section.Measured{Value: f.coef[at] / f.turn.lever, U: 2 * math.Hypot(math.Sqrt(variance)/f.turn.lever, f.turn.waves())}
}

// turnsAsUsual reports whether the turn found, of the given variance, is one that the loft usually leaves: then what the loft
// knows of the deflection counts too, which matters where the scan shows little of the aileron.
func (f *form) turnsAsUsual(variance float64) bool {
	turn := f.turnedBy(variance)
	return math.Abs(turn.Value) < turnUnusual*math.Hypot(f.turn.loft, turn.U/2)
}

// neutralStrip returns the form at an arc and a station, whose functions are known, with the aileron turned to where it
// continues the wing, mm.
func (f *form) neutralStrip(a *strip, s *[mostOrders]float64, arc, station float64) float64 {
	turned := 0.0
	if last := a.n - 1; last >= 0 && a.index[last] == f.turnIndex() && f.turn.lever != 0 {
		turned = f.coef[f.turnIndex()*f.orders] * a.value[last]
	}
	return f.atStrip(a, s, arc, station) - turned
}

// turnAt returns the part of the form at an arc that is the aileron's turn, mm.
func (f *form) turnAt(arc float64) float64 {
	if f.turn.lever == 0 {
		return 0
	}
	return f.coef[f.turnIndex()*f.orders] * f.turn.at(arc)
}

package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// Outline returns n points round the loft's section at a station (mm), in the section frame in mm: from
// the trailing edge over the upper surface to the leading edge and back along the lower. The aileron is
// turned by Deflection; for the neutral outline use [Loft.Neutral] first.
func (l *Loft) Outline(station float64, n int) []r2.Vec {
	out := l.Airfoil.Outline(n)
	for i, q := range out {
		out[i] = l.Place(l.Deflect(q), station)
	}
	return out
}

// Neutral returns the same loft with the aileron at the given deflection (rad, trailing edge down).
func (l *Loft) Neutral(droop float64) *Loft {
	m := *l
	m.Deflection = droop
	return &m
}

// ChordAt returns the reference chord at a station, mm.
func (l *Loft) ChordAt(station float64) float64 { return l.Chord + l.Taper*station }

// Deflect turns a point of the unit section (chord 1) about the hinge if it lies aft of it.
func (l *Loft) Deflect(q r2.Vec) r2.Vec {
	if l.Hinge <= 0 || q.X <= l.Hinge {
		return q
	}
	h := r2.Vec{X: l.Hinge, Y: l.HingeZ}
	return r2.Add(h, noseUp(r2.Sub(q, h), l.Deflection))
}

// Place takes a point of the unit section to the section frame in mm at a station.
func (l *Loft) Place(q r2.Vec, station float64) r2.Vec {
	p := noseUp(r2.Scale(l.ChordAt(station), q), l.Twist*station)
	return r2.Add(p, r2.Vec{X: l.Sweep * station, Y: l.Rise * station})
}

// noseUp turns v by angle so that what points aft sinks: nose up, trailing edge down.
func noseUp(v r2.Vec, angle float64) r2.Vec {
	s, c := sincos(angle)
	return r2.Vec{X: c*v.X + s*v.Y, Y: -s*v.X + c*v.Y}
}

// sincos is math.Sincos with a shorter way for the small angles of twist and aileron: the series' first term left
// out is below 1e-16 there.
func sincos(angle float64) (s, c float64) {
	const small = 0.1
	if math.Abs(angle) > small {
		return math.Sincos(angle)
	}
	q := angle * angle
	s = angle * (1 - q/6*(1-q/20*(1-q/42*(1-q/72))))
	c = 1 - q/2*(1-q/12*(1-q/30*(1-q/56*(1-q/90))))
	return s, c
}

// noseDown is the inverse of noseUp.
func noseDown(v r2.Vec, angle float64) r2.Vec { return noseUp(v, -angle) }

// The parameters of a fit, in the order of the normal equations. The first five move the scan in the wing
// frame: a rotation about X, Y and Z and a shift along X and Z.
const (
	rollPar = iota // rad
	pitchPar
	yawPar
	xPar       // mm
	zPar       // mm
	chordPar   // mm
	taperPar   // mm per mm
	twistPar   // rad per mm
	deflectPar // rad
	offsetPar  // mm, constant skin offset
	sweepPar   // mm per mm; with the roll and yaw, only one pair of the two is free at a time
	risePar    // mm per mm
	parameters
)

// model is a loft with its section's field: what a point is compared with.
type model struct {
	Loft
	field   *field
	inboard float64 // sign of Y towards the root
	offset  float64 // mm, constant skin offset outward
	tail    float64 // chords: what lies aft of here is not looked at; 0: everything is
}

// residual is what one point says.
type residual struct {
	distance float64             // mm from the nominal, outward positive; the skin offset not taken off
	gradient r3.Vec              // of distance with respect to the point, in the wing frame
	jacobian [parameters]float64 // of distance - offset with respect to the parameters
	arc      float64             // chords, along the unit outline
	x        float64             // chords, aft of the leading edge, aileron turned back
	aileron  bool
	end      bool // behind the trailing edge
}

// place takes a point in the wing frame to the unit section: chord 1, aileron turned back to neutral.
func (m *model) place(p r3.Vec) (q, neutral r2.Vec, station, chord, twist float64, aileron bool) {
	station = p.Y * m.inboard
	chord = m.Chord + m.Taper*station
	twist = m.Twist * station
	local := noseDown(r2.Vec{X: p.X - m.Sweep*station, Y: p.Z - m.Rise*station}, twist)
	q = r2.Scale(1/chord, local)
	neutral = q
	if m.Hinge > 0 && q.X > m.Hinge {
		h := r2.Vec{X: m.Hinge, Y: m.HingeZ}
		neutral = r2.Add(h, noseDown(r2.Sub(q, h), m.Deflection))
		aileron = true
	}
	return q, neutral, station, chord, twist, aileron
}

// at compares a point (wing frame, mm) with the loft. It reports false for points too far from it.
func (m *model) at(p r3.Vec, jacobian bool) (residual, bool) {
	q, neutral, station, chord, twist, aileron := m.place(p)
	if !(chord > 0) {
		return residual{}, false
	}
	ft, ok := m.field.at(neutral)
	if !ok {
		return residual{}, false
	}
	n := ft.normal
	if aileron {
		n = noseUp(n, m.Deflection)
	}
	g := noseUp(n, twist)
	dChord := ft.distance - r2.Dot(n, q)
	dTwist := chord * (n.Y*q.X - n.X*q.Y)
	dStation := m.Twist*dTwist + m.Taper*dChord - m.Sweep*g.X - m.Rise*g.Y
	r := residual{
		distance: chord * ft.distance,
		gradient: r3.Vec{X: g.X, Y: m.inboard * dStation, Z: g.Y},
		arc:      ft.arc, x: neutral.X, aileron: aileron, end: ft.end,
	}
	if !jacobian {
		return r, true
	}
	turn := r3.Cross(p, r.gradient)
	r.jacobian = [parameters]float64{
		rollPar: turn.X, pitchPar: turn.Y, yawPar: turn.Z,
		xPar: r.gradient.X, zPar: r.gradient.Z,
		chordPar: dChord, taperPar: station * dChord, twistPar: station * dTwist, offsetPar: -1,
		sweepPar: -station * g.X, risePar: -station * g.Y,
	}
	if aileron {
		v := r2.Sub(neutral, r2.Vec{X: m.Hinge, Y: m.HingeZ})
		r.jacobian[deflectPar] = chord * (ft.normal.Y*v.X - ft.normal.X*v.Y)
	}
	return r, true
}

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

// sincos is math.Sincos with shorter ways for the small angles of twist and aileron: the series' first term left out is
// below 1e-16 there.
func sincos(angle float64) (s, c float64) {
	const tiny, small = 0.035, 0.1
	q := angle * angle
	if q < tiny*tiny {
		return angle - angle*q*(1./6-q*(1./120-q*(1./5040))), 1 - q*(1./2-q*(1./24-q*(1./720)))
	}
	if !(q <= small*small) {
		return math.Sincos(angle)
	}
	s = angle * (1 - q*(1./6)*(1-q*(1./20)*(1-q*(1./42)*(1-q*(1./72)))))
	c = 1 - q*(1./2)*(1-q*(1./12)*(1-q*(1./30)*(1-q*(1./56)*(1-q*(1./90)))))
	return s, c
}

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
}

// residual is what one point says.
type residual struct {
	distance float64 // mm from the nominal, outward positive; the skin offset not taken off
	gradient r3.Vec  // of distance with respect to the point, in the wing frame
	arc      float64 // chords, along the unit outline
	x        float64 // chords, aft of the leading edge, aileron turned back
	station  float64 // mm

	perChord, perTwist, perDeflection float64 // of distance, at the point's station: mm per mm and mm per rad

	end bool // behind the trailing edge
}

// jacobian returns the derivatives of distance - offset of a point (wing frame, mm) with respect to the parameters.
func (r *residual) jacobian(p r3.Vec) [parameters]float64 {
	turn := r3.Cross(p, r.gradient)
	return [parameters]float64{
		rollPar: turn.X, pitchPar: turn.Y, yawPar: turn.Z,
		xPar: r.gradient.X, zPar: r.gradient.Z,
		chordPar: r.perChord, taperPar: r.station * r.perChord, twistPar: r.station * r.perTwist,
		deflectPar: r.perDeflection, offsetPar: -1,
		sweepPar: -r.station * r.gradient.X, risePar: -r.station * r.gradient.Z,
	}
}

// placed is a point in the unit section: chord 1.
type placed struct {
	q, neutral r2.Vec // as it lies, and with the aileron turned back to neutral
	station    float64
	chord      float64 // mm, there
	twist      turn    // there
	droop      turn    // of the aileron; nothing for points ahead of the hinge
	aileron    bool
}

// turn is the sine and cosine of an angle.
type turn struct{ sin, cos float64 }

func turnBy(angle float64) turn {
	s, c := sincos(angle)
	return turn{s, c}
}

// noseUp turns a vector as the function of that name does, noseDown back.
func (t turn) noseUp(v r2.Vec) r2.Vec {
	return r2.Vec{X: t.cos*v.X + t.sin*v.Y, Y: t.cos*v.Y - t.sin*v.X}
}

func (t turn) noseDown(v r2.Vec) r2.Vec {
	return r2.Vec{X: t.cos*v.X - t.sin*v.Y, Y: t.cos*v.Y + t.sin*v.X}
}

// place takes a point in the wing frame to the unit section.
func (m *model) place(p r3.Vec) (l placed) {
	l.station = p.Y * m.inboard
	l.chord = m.Chord + m.Taper*l.station
	l.twist = turnBy(m.Twist * l.station)
	l.q = l.twist.noseDown(r2.Vec{X: p.X - m.Sweep*l.station, Y: p.Z - m.Rise*l.station})
	l.q.X, l.q.Y = l.q.X/l.chord, l.q.Y/l.chord
	l.neutral = l.q
	if m.Hinge > 0 && l.q.X > m.Hinge {
		l.aileron, l.droop = true, turnBy(m.Deflection)
		v := l.droop.noseDown(r2.Vec{X: l.q.X - m.Hinge, Y: l.q.Y - m.HingeZ})
		l.neutral = r2.Vec{X: m.Hinge + v.X, Y: m.HingeZ + v.Y}
	}
	return l
}

// inSection takes a point in the wing frame to the unit section as it lies there, and tells the station, the chord, mm, and
// the twist. Where the chord is not positive there is no section.
func (m *model) inSection(p r3.Vec) (q r2.Vec, station, chord float64, twist turn) {
	station = p.Y * m.inboard
	chord = m.Chord + m.Taper*station
	twist = turnBy(m.Twist * station)
	q, unit := twist.noseDown(r2.Vec{X: p.X - m.Sweep*station, Y: p.Z - m.Rise*station}), 1/chord
	return r2.Vec{X: q.X * unit, Y: q.Y * unit}, station, chord, twist
}

// at compares a point (wing frame, mm) with the loft. It reports false for points too far from it.
func (m *model) at(p r3.Vec) (r residual, ok bool) {
	ok = m.compare(p, &r)
	return r, ok
}

// compare is at, which leaves the answer where it is wanted: with the field's the inner loop of every fit.
func (m *model) compare(p r3.Vec, r *residual) bool { return m.compareNear(p, math.Inf(1), r) }

// compareNear is compare for those who have no use for points farther than so many mm from the loft, and may be told that
// one is too far.
func (m *model) compareNear(p r3.Vec, reach float64, r *residual) bool {
	q, station, chord, twist := m.inSection(p)
	if !(chord > 0) {
		return false
	}
	neutral, aileron, droop := q, m.Hinge > 0 && q.X > m.Hinge, turn{}
	if aileron {
		droop = turnBy(m.Deflection)
		v := droop.noseDown(r2.Vec{X: q.X - m.Hinge, Y: q.Y - m.HingeZ})
		neutral = r2.Vec{X: m.Hinge + v.X, Y: m.HingeZ + v.Y}
	}
	var ft foot
	if !m.field.lookNear(neutral, reach/chord, &ft) {
		return false
	}
	n, perDeflection := ft.normal, 0.0
	if aileron {
		perDeflection = chord * (n.Y*(neutral.X-m.Hinge) - n.X*(neutral.Y-m.HingeZ))
		n = droop.noseUp(n)
	}
	g := twist.noseUp(n)
	perChord := ft.distance - (n.X*q.X + n.Y*q.Y)
	perTwist := chord * (n.Y*q.X - n.X*q.Y)
	perStation := m.Twist*perTwist + m.Taper*perChord - m.Sweep*g.X - m.Rise*g.Y
	r.distance = chord * ft.distance
	r.gradient = r3.Vec{X: g.X, Y: m.inboard * perStation, Z: g.Y}
	r.arc, r.x, r.station = ft.arc, neutral.X, station
	r.perChord, r.perTwist, r.perDeflection, r.end = perChord, perTwist, perDeflection, ft.end
	return true
}

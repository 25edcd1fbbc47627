package simulate

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
)

// skin is the wing's outer surface as a function of the nominal's arc length (chord 1) and the station.
type skin struct {
	w     *Wing
	c     *curve
	spots []placedBump
	tail  float64 // mm that each surface stands out at the tail
}

// placedBump is a spot with its middle found on the curve.
type placedBump struct {
	Bump
	arc float64
}

// newSkin prepares a wing that has been checked.
func newSkin(w *Wing) *skin {
	k := &skin{w: w, c: newCurve(w.Airfoil)}
	for _, b := range w.Spots {
		k.spots = append(k.spots, placedBump{b, k.c.arcOf(b.Surface, b.X/w.Chord)})
	}
	if w.TailThickness > 0 {
		k.tail = (w.TailThickness - w.Airfoil.TailThickness()*w.Chord) / 2
	}
	return k
}

// parts says which parts of the departure to count.
type parts int

const (
	formPart parts = 1 << iota // offset, waves, tail, and sagging between ribs
	lowPart
	highPart
	wholeSkin = formPart | lowPart | highPart
)

// foot is a place on the nominal's curve: its arc, its point and its outward normal, in chords.
type foot struct {
	s    float64
	p, n r2.Vec
}

// foot finds the place at an arc.
func (k *skin) foot(s float64) foot {
	p, n := k.c.at(s)
	return foot{s, p, n}
}

// departure returns the distance in mm of the skin from the nominal along its outward normal.
func (k *skin) departure(at foot, station float64, which parts) float64 {
	d, s := 0.0, at.s
	if which&formPart != 0 {
		d = k.form(at, station)
	}
	chord := k.w.ChordAt(station)
	for i := range k.spots {
		b := &k.spots[i]
		if b.Height < 0 && which&lowPart != 0 || b.Height > 0 && which&highPart != 0 {
			d += b.height((s-b.arc)*chord, station-b.Station)
		}
	}
	return d
}

// form returns all of the departure but the spots.
func (k *skin) form(at foot, station float64) float64 {
	arc := k.c.fromNose(at.s)
	d := k.w.SkinOffset + k.tail*max(0, (at.p.X-tailFrom)/(1-tailFrom))
	for i := range k.w.Form {
		f := &k.w.Form[i]
		if f.Surface.has(k.c.side(at.s)) {
			d += f.height(arc*k.w.Chord, station) * f.fade(arc)
		}
	}
	if k.w.RibSag != 0 {
		wave := math.Sin(math.Pi * station / k.w.RibPitch)
		d -= k.w.RibSag * wave * wave * smoothStep(arc/0.1)
	}
	return d
}

// height returns the wave's height in mm at an arc and station in mm.
func (f *Wave) height(arc, station float64) float64 {
	h := f.Amplitude * math.Cos(2*math.Pi*arc/f.Length+f.Phase)
	if f.SpanLength != 0 {
		h *= math.Cos(2 * math.Pi * station / f.SpanLength)
	}
	return h
}

// fade keeps a wave of one surface from tearing the skin at the nose; arc in chords.
func (f *Wave) fade(arc float64) float64 {
	if f.Surface == Both {
		return 1
	}
	return smoothStep(arc / 0.06)
}

// height returns the spot's height in mm at distances in mm from its middle.
func (b *Bump) height(along, across float64) float64 {
	u, v := 2*along/b.Length, 2*across/b.Width
	rest := 1 - u*u - v*v
	if rest <= 0 {
		return 0
	}
	return b.Height * rest * rest
}

// smoothStep rises from 0 to 1 with level ends between u = 0 and 1.
func smoothStep(u float64) float64 {
	u = min(max(u, 0), 1)
	return u * u * (3 - 2*u)
}

// point returns the skin's point and outward normal in the section's own plane, in the section frame in mm
// at a station, with the aileron at a deflection (rad).
func (k *skin) point(at foot, station, deflection float64, which parts) (q, n r2.Vec) {
	n = at.n
	chord := k.w.ChordAt(station)
	q = r2.Add(r2.Scale(chord, at.p), r2.Scale(k.departure(at, station, which), n))
	if k.w.Hinge > 0 && at.p.X > k.w.Hinge {
		axis := r2.Vec{X: k.w.Hinge * chord, Y: k.w.HingeZ * chord}
		q = r2.Add(axis, turnDown(r2.Sub(q, axis), deflection))
		n = turnDown(n, deflection)
	}
	return k.place(q, station), turnDown(n, k.w.Twist*station)
}

// place carries a point of the untwisted section (mm, origin at its leading edge) into the section frame.
func (k *skin) place(q r2.Vec, station float64) r2.Vec {
	w := k.w
	chord := w.ChordAt(station)
	about := r2.Vec{X: w.TwistAbout * chord}
	q = r2.Add(about, turnDown(r2.Sub(q, about), w.Twist*station))
	return r2.Add(q, r2.Vec{
		X: w.Sweep*station - w.TaperAbout*(chord-w.Chord),
		Y: w.Dihedral * station,
	})
}

// turnDown turns v by an angle about Y so that what points aft goes down: nose up, trailing edge down.
func turnDown(v r2.Vec, angle float64) r2.Vec {
	sin, cos := math.Sincos(angle)
	return r2.Vec{X: v.X*cos + v.Y*sin, Y: v.Y*cos - v.X*sin}
}

// at returns the skin's point as built, in the wing frame in mm, and the normal in the section's plane.
func (k *skin) at(s, station float64) vertex { return k.above(k.foot(s), station) }

// above is at for a place on the curve that is known already.
func (k *skin) above(at foot, station float64) vertex {
	q, n := k.point(at, station, k.w.Deflection, wholeSkin)
	return vertex{p: k.lift(q, station), n: r3.Vec{X: n.X, Z: n.Y}, on: k.c.side(at.s)}
}

// lift carries a point of the section frame at a station into the wing frame.
func (k *skin) lift(q r2.Vec, station float64) r3.Vec {
	return r3.Vec{X: q.X, Y: station * k.w.Side.Inboard(), Z: q.Y}
}

// face returns the point of the section's inside at chord fraction x, the share v of the way from the
// upper to the lower skin, as built.
func (k *skin) face(upper, lower, v, station float64) r3.Vec {
	a, b := k.at(upper, station).p, k.at(lower, station).p
	return r3.Add(a, r3.Scale(v, r3.Sub(b, a)))
}

// vertex is one point of the scan while it is still in the wing frame, in mm.
type vertex struct {
	p, n r3.Vec  // position and the direction that noise moves it along; no direction for strays
	on   Surface // Both for what is no skin
}

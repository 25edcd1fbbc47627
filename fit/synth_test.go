package fit

import (
	"math"
	"math/rand/v2"
	"testing"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// dent is a cosine dent or bump of elliptic plan; its depth is negative for a low spot.
type dent struct {
	arc, station, length, width, depth float64
}

func (d dent) at(arc, station float64) float64 {
	r := math.Hypot((arc-d.arc)/d.length, (station-d.station)/d.width)
	if r >= 0.5 {
		return 0
	}
	return d.depth * (1 + math.Cos(2*math.Pi*r)) / 2
}

// volume of the whole dent: the mean of (1 + cos 2πr)/2 over its ellipse is 1/2 - 2/π².
func (d dent) volume() float64 {
	return math.Abs(d.depth) * math.Pi / 4 * d.length * d.width * (0.5 - 2/(math.Pi*math.Pi))
}

// wing is a made-up panel whose truth is known.
type wing struct {
	airfoil   string
	chord     float64
	span      float64
	taper     float64
	hinge     float64 // share of the chord; 0 for none
	deflect   float64
	form      func(arc, station float64) float64
	dents     []dent
	plateaux  []dent  // flat, steep-edged
	noise     float64 // mm, of the points
	points    float64 // of the whole panel
	columns   float64 // mm
	rows      float64
	hole      func(arc, station float64) bool
	extraNois float64 // noise common to neighbouring cells
}

func usual() wing {
	return wing{airfoil: "NACA 23012", chord: 1200, span: 500, noise: 0.5, points: 400e3, columns: 5.5, rows: 10,
		form: func(arc, station float64) float64 {
			return -0.4 + 0.5*math.Sin(2*math.Pi*arc/700+0.4) + 0.3*math.Cos(2*math.Pi*arc/520) + 0.0006*(station-250)*math.Sin(2*math.Pi*arc/1100)
		}}
}

func (w *wing) truth(arc, station float64) float64 {
	v := w.form(arc, station)
	for _, d := range w.dents {
		v += d.at(arc, station)
	}
	for _, d := range w.plateaux {
		if math.Abs(arc-d.arc) < d.length/2 && math.Abs(station-d.station) < d.width/2 {
			v += d.depth
		}
	}
	return v
}

func (w *wing) survey(t testing.TB, seed uint64) *section.Survey {
	t.Helper()
	a, err := airfoil.Parse(w.airfoil)
	if err != nil {
		t.Fatal(err)
	}
	s := &section.Survey{Side: section.Left, Noise: w.noise}
	s.Loft = section.Loft{Airfoil: a, Chord: w.chord, Taper: w.taper, Hinge: w.hinge, Deflection: w.deflect}
	if w.hinge > 0 {
		s.Loft.HingeZ = (a.Upper(w.hinge) + a.Lower(w.hinge)) / 2
		s.Deflection = &section.Measured{Value: w.deflect, U: 0.001}
	}
	c := newContour(&s.Loft)
	m := &s.Map
	m.Length = polylineLength(c.points) * w.chord
	m.NoseArc = c.nose * m.Length
	m.HingeArc = [2]float64{math.NaN(), math.NaN()}
	if w.hinge > 0 {
		for i, p := range c.points {
			if i > 0 && c.points[i-1].X >= w.hinge && p.X < w.hinge {
				m.HingeArc[0] = c.share[i] * m.Length
			}
			if i > 0 && c.points[i-1].X < w.hinge && p.X >= w.hinge {
				m.HingeArc[1] = c.share[i] * m.Length
			}
		}
	}
	w.fill(m, rand.New(rand.NewPCG(seed, 17)))
	s.Stations = w.span
	s.Chord = section.Measured{Value: w.chord}
	return s
}

func (w *wing) fill(m *section.Map, r *rand.Rand) {
	n := int(m.Length / w.columns)
	for j := range n {
		m.Arc = append(m.Arc, (float64(j)+0.5)*m.Length/float64(n))
	}
	for st := w.rows / 2; st < w.span; st += w.rows {
		m.Station = append(m.Station, st)
	}
	mean := w.points / float64(len(m.Arc)*len(m.Station))
	for _, st := range m.Station {
		for _, arc := range m.Arc {
			count := math.Round(mean + math.Sqrt(mean)*r.NormFloat64())
			e := r.NormFloat64()
			if count < 1 || w.hole != nil && w.hole(arc, st) {
				m.Cells = append(m.Cells, section.Cell{})
				continue
			}
			se := math.Hypot(w.noise/math.Sqrt(count), w.extraNois)
			m.Cells = append(m.Cells, section.Cell{Departure: w.truth(arc, st) + se*e, SE: se, N: int(count)})
		}
	}
}

func wishes() Options {
	return Options{Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
}

package fit

import (
	"math"
	"math/rand/v2"
	"slices"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// tester is what a test, a benchmark and a property of rapid have in common.
type tester interface {
	Helper()
	Fatal(args ...any)
}

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
	airfoil  string
	chord    float64
	span     float64
	taper    float64
	hinge    float64 // share of the chord; 0 for none
	deflect  float64
	form     func(arc, station float64) float64
	dents    []dent
	plateaux []dent  // flat, steep-edged
	boards   []dent  // hide the skin but for a few points, which lie high by the depth
	noise    float64 // mm, of the points
	points   float64 // of the whole panel
	columns  float64 // mm
	rows     float64
	hole     func(arc, station float64) bool
	drift    float64 // mm, standard deviation of noise that neighbours share
	reach    float64 // mm, over which they do; 0 is driftReach
}

func usual() wing {
	return wing{airfoil: "NACA 23012", chord: 1200, span: 500, noise: 0.5, points: 400e3, columns: 5.5, rows: 10,
		form: func(arc, station float64) float64 {
			return -0.4 + 0.5*math.Sin(2*math.Pi*arc/700+0.4) + 0.3*math.Cos(2*math.Pi*arc/520) + 0.0006*(station-250)*math.Sin(2*math.Pi*arc/1100)
		}}
}

// small is a panel that is fitted quickly, with standard errors of 0.1 mm.
func small() wing {
	w := usual()
	w.chord, w.span, w.columns, w.rows, w.points = 1000, 300, 8, 12, 160e3
	w.form = waves(1, w.chord, 0.7)
	return w
}

// waves is a form with waves of 0.4 chords and more, some of which change along the station.
func waves(seed uint64, chord, size float64) func(arc, station float64) float64 {
	r := rand.New(rand.NewPCG(seed, 3))
	constant, slope, turn := 0.5*size*r.NormFloat64(), 0.4*size*r.NormFloat64(), 2*math.Pi*r.Float64()
	type wave struct{ height, length, phase float64 }
	var all []wave
	for _, l := range []float64{0.4, 0.5, 0.75, 1.3} {
		all = append(all, wave{0.5 * size * r.NormFloat64(), l * chord, 2 * math.Pi * r.Float64()})
	}
	return func(arc, station float64) float64 {
		sum := constant + slope*station/1000*math.Sin(2*math.Pi*arc/(1.1*chord)+turn)
		for _, v := range all {
			sum += v.height * math.Sin(2*math.Pi*arc/v.length+v.phase)
		}
		return sum
	}
}

// crowded is a whole panel with a quarter of its band taken up by spots 100 to 200 mm across, low by 0.3 to
// 3 mm and, one in four, high by 0.3 to 1.3 mm.
func crowded(seed uint64) wing {
	w := usual()
	w.form = waves(seed, w.chord, 1)
	w.scatter(seed, 0.25, 300)
	return w
}

// scatter adds spots that touch no other until they take up the share of the band.
func (w *wing) scatter(seed uint64, share, band float64) {
	r := rand.New(rand.NewPCG(seed, 5))
	length := 2.05 * w.chord
	area := 0.0
	for range 2000 {
		if area > share*length*band {
			return
		}
		d := dent{length: 100 + 100*r.Float64(), width: 100 + 100*r.Float64(), depth: -0.3 * math.Pow(10, r.Float64())}
		if r.Float64() < 0.25 {
			d.depth = 0.3 + r.Float64()
		}
		d.arc, d.station = 60+r.Float64()*(length-120), r.Float64()*band
		if slices.ContainsFunc(w.dents, func(o dent) bool {
			return math.Hypot((o.arc-d.arc)/(o.length+d.length)*2, (o.station-d.station)/(o.width+d.width)*2) < 1
		}) {
			continue
		}
		w.dents = append(w.dents, d)
		area += math.Pi / 4 * d.length * d.width
	}
}

func fitted(t tester, w *wing, seed uint64, opt Options) *Result {
	t.Helper()
	r, err := Fit(w.survey(t, seed), opt)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// ribErrors are the errors along the outline at station 0, mm, and how many lie within their uncertainty.
type ribErrors struct {
	form, worstForm, skin, worstSkin float64
	formHits, skinHits, count        float64
}

func errorsAtRib(w *wing, r *Result) (e ribErrors) {
	for _, tr := range r.Sections {
		f, s := math.Abs(tr.Form-w.form(tr.Arc, 0)), math.Abs(tr.Departure.Value-w.truth(tr.Arc, 0))
		e.form, e.skin = e.form+f*f, e.skin+s*s
		e.worstForm, e.worstSkin = math.Max(e.worstForm, f), math.Max(e.worstSkin, s)
		if f <= 2*r.work.parted.form.u(tr.Arc, 0) {
			e.formHits++
		}
		if s <= tr.Departure.U {
			e.skinHits++
		}
		e.count++
	}
	e.form, e.skin = math.Sqrt(e.form/e.count), math.Sqrt(e.skin/e.count)
	return e
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

func (w *wing) survey(t tester, seed uint64) *section.Survey {
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
	drift := w.drifts(r)
	mean := w.points / float64(len(m.Arc)*len(m.Station))
	for _, st := range m.Station {
		for _, arc := range m.Arc {
			count := math.Round(mean + math.Sqrt(mean)*r.NormFloat64())
			e := r.NormFloat64()
			if count < 1 || w.hole != nil && w.hole(arc, st) {
				m.Cells = append(m.Cells, section.Cell{})
				continue
			}
			lift := 0.0
			for _, b := range w.boards {
				if math.Abs(arc-b.arc) < b.length/2 && math.Abs(st-b.station) < b.width/2 {
					count, lift = math.Ceil(0.15*count), b.depth
				}
			}
			se := w.noise / math.Sqrt(count)
			m.Cells = append(m.Cells, section.Cell{Departure: w.truth(arc, st) + lift + se*e + drift(arc, st), SE: se, N: int(count)})
		}
	}
}

const driftReach = 25.0 // mm

// drifts returns a smooth random field, as drift and fusion of a scan leave it: a sum of waves whose
// lengths follow a Gaussian correlation.
func (w *wing) drifts(r *rand.Rand) func(arc, station float64) float64 {
	const waves = 60
	reach := w.reach
	if reach == 0 {
		reach = driftReach
	}
	var k [waves][3]float64
	for i := range k {
		k[i] = [3]float64{r.NormFloat64() / reach, r.NormFloat64() / reach, 2 * math.Pi * r.Float64()}
	}
	return func(arc, station float64) (sum float64) {
		if w.drift == 0 {
			return 0
		}
		for _, v := range k {
			sum += math.Cos(v[0]*arc + v[1]*station + v[2])
		}
		return w.drift * sum * math.Sqrt(2.0/waves)
	}
}

func wishes() Options {
	return Options{Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
}

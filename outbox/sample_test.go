package outbox

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// The sample is an invented wing, the left one of the Marsh Wren: NACA 23012, 1220 mm chord, with two low
// spots and a high one. It is made up here and not measured, so every figure is known.
const (
	sampleChord = 1220.0
	sampleBand  = 300.0
	sampleU     = 0.11 // mm, of a cell
)

// dent is a cosine dent of elliptic plan; a negative depth is low.
type dent struct{ arc, station, length, width, depth float64 }

func (d dent) at(arc, station float64) float64 {
	r := math.Hypot((arc-d.arc)/d.length, (station-d.station)/d.width)
	if r >= 0.5 {
		return 0
	}
	return d.depth * (1 + math.Cos(2*math.Pi*r)) / 2
}

// volume is exact: the mean of (1 + cos 2πr)/2 over the ellipse is 1/2 - 2/π².
func (d dent) volume() float64 {
	return math.Abs(d.depth) * math.Pi / 4 * d.length * d.width * (0.5 - 2/(math.Pi*math.Pi))
}

func sampleDents() []dent {
	return []dent{
		{arc: 820, station: 120, length: 260, width: 180, depth: -1.9},
		{arc: 1700, station: 40, length: 170, width: 150, depth: -1.1},
		{arc: 470, station: 215, length: 120, width: 90, depth: 0.42},
	}
}

func sampleForm(arc float64) float64 { return -0.25 + 0.45*math.Sin(2*math.Pi*arc/1150+0.4) }

// sampleSurvey makes the survey of the sample; side is section.Left or Right.
func sampleSurvey(t testing.TB, side section.Side) *section.Survey {
	t.Helper()
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		t.Fatal(err)
	}
	s := &section.Survey{
		Side: side, Noise: 0.31, Units: scan.Metre, UnitFrom: "chord", Correction: 1.0021,
		Chord: section.Measured{Value: sampleChord, U: 0.83}, Twist: section.Measured{Value: 9.1e-6, U: 7.3e-6},
		Taper: section.Measured{Value: 0.011, U: 0.004}, Deflection: &section.Measured{Value: 0.0351, U: 0.0031},
		ScaleRel: 0.0006, Coverage: 0.964, Stations: 612,
		WingFromScan: section.Transform{R: [3][3]float64{{0, -1, 0}, {1, 0, 0}, {0, 0, 1}}, Scale: 1002.1, T: r3.Vec{X: 12.25, Y: -40.5, Z: 3}},
		Messages: []scan.Message{
			scan.Notef("scale-corrected", "The scan's scale was multiplied by 1.0021 (+0.21 %%) to meet the taped chord."),
		},
	}
	s.Loft = section.Loft{Airfoil: a, Chord: sampleChord, Taper: 0.011, Twist: 9.1e-6, Hinge: 0.78, HingeZ: 0.004, Deflection: 0.0351}
	sampleMap(s)
	return s
}

func sampleMap(s *section.Survey) {
	outline := s.Loft.Neutral(0).Outline(0, 4001)
	m := &s.Map
	m.HingeArc = [2]float64{math.NaN(), math.NaN()}
	foremost := math.Inf(1)
	for i, p := range outline {
		if i > 0 {
			m.Length += r2.Norm(r2.Sub(p, outline[i-1]))
			if hinge := 0.78 * sampleChord; outline[i-1].X >= hinge && p.X < hinge {
				m.HingeArc[0] = m.Length
			} else if outline[i-1].X < hinge && p.X >= hinge {
				m.HingeArc[1] = m.Length
			}
		}
		if p.X < foremost {
			foremost, m.NoseArc = p.X, m.Length
		}
	}
	columns := int(m.Length / 5.5)
	for j := range columns {
		m.Arc = append(m.Arc, m.Length*(float64(j)+0.5)/float64(columns))
	}
	for st := 5.0; st < s.Stations; st += 10 {
		m.Station = append(m.Station, st)
	}
	for _, st := range m.Station {
		for _, arc := range m.Arc {
			c := section.Cell{Departure: sampleDeparture(arc, st), SE: sampleU / 2, N: 40}
			if sampleHole(m, arc, st) {
				c = section.Cell{}
			}
			m.Cells = append(m.Cells, c)
		}
	}
}

func sampleDeparture(arc, station float64) float64 {
	d := sampleForm(arc)
	for _, s := range sampleDents() {
		d += s.at(arc, station)
	}
	return d
}

// sampleHole tells what no scan shows: a patch under the wing, where a stand was.
func sampleHole(m *section.Map, arc, station float64) bool {
	return arc > m.NoseArc+520 && arc < m.NoseArc+610 && station < 75
}

// sampleResult makes the result of the sample.
func sampleResult(t testing.TB, side section.Side) *fit.Result {
	s := sampleSurvey(t, side)
	r := &fit.Result{
		Survey: s, Deflection: s.Deflection, NominalRMS: 0.47, WorstLow: -1.31, WorstHigh: 0.33, OffsetMean: -0.24, OutlineU: 0.163, DetectionLimit: 0.21,
		Messages: []scan.Message{
			scan.Notef("spots", "2 low spots deeper than 0.5 mm to fill, 1 high spot more than 0.2 mm proud."),
			scan.Cautionf("aileron-off-neutral", "In the scan the aileron's trailing edge stood 2.0 ± 0.2 degrees down from neutral. The templates show it at neutral (faired). Set the aileron there before you fit the tip."),
		},
		Verdict: scan.Caution,
	}
	skin := newNeutralSkin(s)
	for i := range 1601 {
		arc := s.Map.Length * float64(i) / 1600
		r.Nominal = append(r.Nominal, skin.at(arc, 0, 0))
		r.AsBuilt = append(r.AsBuilt, skin.at(arc, sampleDeparture(arc, 0), s.Loft.Deflection))
		r.Target = append(r.Target, skin.at(arc, sampleForm(arc), 0))
	}
	for _, arc := range s.Map.Arc {
		p := skin.at(arc, 0, 0)
		r.Sections = append(r.Sections, fit.Trace{
			Arc: arc, X: p.X, Z: p.Y, Departure: section.Measured{Value: sampleDeparture(arc, 0), U: 0.14},
			Form: sampleForm(arc), Target: sampleForm(arc), Seen: !sampleHole(&s.Map, arc, 0),
		})
	}
	sampleFiller(r, skin)
	block := make([]r2.Vec, len(r.Target))
	for i := range block {
		arc := s.Map.Length * float64(i) / 1600
		block[i] = skin.at(arc, sampleForm(arc)-0.3, 0)
	}
	r.Templates = []fit.Template{
		{Name: "inboard-block", Offset: -0.3, Outline: block, U: 0.17},
		{Name: "outboard-block", Station: -260, Offset: -0.3, Outline: block, U: 0.17},
	}
	return r
}

// sampleFiller fills in the map, the spots and the filler.
func sampleFiller(r *fit.Result, skin *neutralSkin) {
	s := r.Survey
	m := fit.FillerMap{Arc: s.Map.Arc, Length: s.Map.Length, NoseArc: s.Map.NoseArc, HingeArc: s.Map.HingeArc}
	for _, arc := range m.Arc {
		m.X = append(m.X, math.Max(skin.at(arc, 0, 0).X, 0))
	}
	for _, st := range s.Map.Station {
		if st > sampleBand {
			break
		}
		m.Station = append(m.Station, st)
		for _, arc := range m.Arc {
			u := sampleU
			if arc > m.NoseArc+900 && st > 190 {
				u = 0.8 // scanned too thinly
			}
			m.Depth = append(m.Depth, sampleForm(arc)-sampleDeparture(arc, st))
			m.Form = append(m.Form, sampleForm(arc))
			m.U = append(m.U, u)
			m.Seen = append(m.Seen, !sampleHole(&s.Map, arc, st))
		}
	}
	r.Map = m
	for _, d := range sampleDents() {
		spot := sampleSpot(d, skin, m.NoseArc)
		if d.depth < 0 {
			r.LowSpots = append(r.LowSpots, spot)
			r.Filler.Volume.Value += spot.Volume.Value
			r.Filler.Volume.U = math.Hypot(r.Filler.Volume.U, spot.Volume.U)
		} else {
			r.HighSpots = append(r.HighSpots, spot)
		}
	}
	r.Filler.Mass = r.Filler.Volume.Value * 450e-6
}

func sampleSpot(d dent, skin *neutralSkin, nose float64) fit.Spot {
	s := fit.Spot{
		Surface: fit.Upper, X: skin.at(d.arc, 0, 0).X, Station: d.station, Length: 0.8 * d.length, Width: 0.8 * d.width,
		Depth: section.Measured{Value: math.Abs(d.depth), U: 0.087}, Area: 0.6 * d.length * d.width,
		Volume: section.Measured{Value: d.volume(), U: 0.09 * d.volume()}, Act: true, Arc: d.arc,
	}
	if d.arc > nose {
		s.Surface = fit.Lower
	}
	for k := range 40 {
		sin, cos := math.Sincos(2 * math.Pi * float64(k) / 40)
		s.Outline = append(s.Outline, r2.Vec{X: d.arc + 0.4*d.length*cos, Y: math.Max(d.station+0.4*d.width*sin, 0)})
	}
	return s
}

// sampleSheet is the wing sheet of the sample.
func sampleSheet() *sheet.Sheet {
	s, err := sheet.Parse([]byte(`name = "Marsh Wren"
airfoil = "NACA 23012"
chord = "1220 mm"
[aileron]
hinge = 0.78
`), "wing.toml")
	if err != nil {
		panic(err)
	}
	return s
}

func sampleIdentity(side string) Identity {
	return Identity{
		Aircraft: "marsh-wren", Side: side, Version: "v0.1.0",
		Sheet: scan.Source{File: "wing.toml", SHA256: "1f0c5b9a0d1e2f30415263748596a7b8c9dadbecfd0e1f2031425364758697a8", Bytes: 420},
		Files: []scan.Source{{File: side + ".ply", SHA256: "a3b1c2d3e4f5061728394a5b6c7d8e9fa0b1c2d3e4f5061728394a5b6c7d8e9f", Bytes: 31_000_000}},
	}
}

// sampleDelivery is the whole delivery of the sample.
func sampleDelivery(t testing.TB, side section.Side) Delivery {
	id := sampleIdentity(side.String())
	r := sampleResult(t, side)
	return Delivery{Identity: id, Sheet: sampleSheet(), Result: r, Scans: []ScanInfo{
		{Source: id.Files[0], Format: "ply", Points: 412_337, Triangles: 823_990, Survey: r.Survey},
	}}
}

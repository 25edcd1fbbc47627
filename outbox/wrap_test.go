package outbox

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// slanted is the sample with a swept, rising, tapered and twisted panel, the skin of which is rolled out.
func slanted(t testing.TB, side section.Side) *fit.Result {
	res := sampleResult(t, side)
	l := &res.Survey.Loft
	l.Sweep, l.Rise, l.Taper, l.Twist = -0.02, 0.05, 0.06, 3e-5
	return res
}

// arcTo sums the outline of a station from the nose to the end of one skin, from a hundred thousand points:
// independent of the development and of the arcs of the survey.
func arcTo(l *section.Loft, surface fit.Surface, station float64, noseShare float64) float64 {
	const n = 100001
	p := l.Neutral(0).Outline(station, n)
	whole := 0.0
	arc := make([]float64, n)
	for i := 1; i < n; i++ {
		whole += math.Hypot(p[i].X-p[i-1].X, p[i].Y-p[i-1].Y)
		arc[i] = whole
	}
	if surface == fit.Upper {
		return noseShare * whole
	}
	return (1 - noseShare) * whole
}

func pathLength(p []r2.Vec) (sum float64) {
	for i := 1; i < len(p); i++ {
		sum += r2.Norm(r2.Sub(p[i], p[i-1]))
	}
	return sum
}

// The rolled out skin keeps the lengths of both its edges and of the rulings between them, and the distance
// of any two places that lie near one another.
func TestDevelopmentKeepsLengths(t *testing.T) {
	res := slanted(t, section.Left)
	s := res.Survey
	const band = 300.0
	for _, surface := range []fit.Surface{fit.Upper, fit.Lower} {
		v := newDevelopment(s, surface, band)
		share := s.Map.NoseArc / s.Map.Length
		for name, c := range map[string][2]float64{
			"tip":     {pathLength(v.tip), arcTo(&s.Loft, surface, 0, share)},
			"inboard": {pathLength(v.in), arcTo(&s.Loft, surface, band, share)},
		} {
			if math.Abs(c[0]-c[1]) > 0.05 {
				t.Errorf("%s, %s edge: %.3f mm on paper, %.3f mm on the skin", surface, name, c[0], c[1])
			}
		}
		if tail := v.tip[len(v.tip)-1]; math.Abs(tail.Y) > 1e-6 || tail.X < 1000 {
			t.Errorf("%s: the trailing edge lies at %v", surface, tail)
		}
		skin := newNeutralSkin(s)
		far := s.Loft.Neutral(0).Outline(band, skinPoints)
		sign := 1.0
		if surface == fit.Upper {
			sign = -1
		}
		at := func(d, st float64) r3.Vec {
			arc := s.Map.NoseArc + sign*d
			i := 1
			for i < len(skin.arc)-1 && skin.arc[i] < arc {
				i++
			}
			k := (arc - skin.arc[i-1]) / (skin.arc[i] - skin.arc[i-1])
			p, q := between(skin.points[i-1], skin.points[i], k), between(far[i-1], far[i], k)
			m := between(p, q, st/band)
			return r3.Vec{X: m.X, Y: st, Z: m.Y}
		}
		for d := 30.0; d < 1200; d += 90 {
			for st := 0.0; st < 290; st += 70 {
				for _, e := range [][2]float64{{12, 0}, {0, 25}, {10, 20}, {-10, 20}} {
					on := r2.Norm(r2.Sub(v.place(d+e[0], st+e[1]), v.place(d, st)))
					off := r3.Norm(r3.Sub(at(d+e[0], st+e[1]), at(d, st)))
					if math.Abs(on-off) > 0.03 {
						t.Fatalf("%s at %v, %v by %v: %.3f mm on paper, %.3f mm on the skin", surface, d, st, e, on, off)
					}
				}
			}
		}
	}
}

// A spot lies on the printed sheet where result.json says, taped from the nose round the skin and from the
// tip edge, as read back from the PDF by another program; and on the side of the paper that fits the skin.
func TestWrapSheetOnPaper(t *testing.T) {
	s, err := sheet.Parse([]byte("airfoil = \"NACA 23012\"\nchord = \"1220 mm\"\n[print]\nroll = \"36 in\"\n"), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	for _, side := range []section.Side{section.Left, section.Right} {
		res := slanted(t, side)
		id := sampleIdentity(side.String())
		files, err := drawnFiles(nil, wrapDrawings(res, s, id), s)
		if err != nil || len(files) != 2 {
			t.Fatalf("%d files, %v", len(files), err)
		}
		record := newRecord(&Delivery{Identity: id, Sheet: s, Result: res}, nil)
		for i, surface := range []fit.Surface{fit.Upper, fit.Lower} {
			pages := drawtest.ReadPDF(t, files[i].Data)
			if len(pages) != 2 {
				t.Fatalf("%d pages on a roll", len(pages))
			}
			p := newPrinted(t, pages[1])
			if aftRight := p.aft > 0; aftRight != ((side == section.Left) == (surface == fit.Upper)) {
				t.Errorf("%v, %s: aft is to the wrong side", side, surface)
			}
			n := 0
			for _, spot := range record.LowSpots {
				if spot.Surface == string(surface) {
					n++
					p.holds(t, fmt.Sprint(side, surface), spot)
				}
			}
			if n == 0 {
				t.Errorf("no spot on the %s skin was checked", surface)
			}
		}
	}
}

// printed is what is read off a sheet, relative to the nose at the tip rib.
type printed struct {
	aft     float64 // X of the trailing edge at the tip
	tip     drawtest.Path
	noseIn  r2.Vec // the nose at the band's edge
	crosses []r2.Vec
	edges   []drawtest.Path
}

func newPrinted(t *testing.T, pic drawtest.Picture) printed {
	t.Helper()
	var p printed
	var origin r2.Vec
	near := func(a, b float64) bool { return math.Abs(a-b) < 0.02 }
	for _, q := range pic.Paths {
		if near(q.Width, 0.5) && len(q.Points) > 100 {
			origin = q.Points[0]
			p.aft = q.Points[len(q.Points)-1].X - origin.X
			p.tip = drawtest.Path{}
			for _, v := range q.Points {
				p.tip.Points = append(p.tip.Points, r2.Sub(v, origin))
			}
		}
	}
	for _, q := range pic.Paths {
		shifted := q
		shifted.Points = nil
		for _, v := range q.Points {
			shifted.Points = append(shifted.Points, r2.Sub(v, origin))
		}
		a := shifted.Points
		switch {
		case near(q.Width, 0.5) && len(a) == 2 && r2.Norm(a[0]) < 0.05:
			p.noseIn = a[1]
		case near(q.Width, 0.35) && len(a) == 2 && math.Abs(a[0].Y-a[1].Y) < 0.01 && near(math.Abs(a[1].X-a[0].X), 8):
			p.crosses = append(p.crosses, between(a[0], a[1], 0.5))
		case near(q.Width, 0.6) && q.Dashed:
			p.edges = append(p.edges, shifted)
		}
	}
	if p.aft == 0 || p.noseIn.Y < 250 || len(p.crosses) == 0 || len(p.edges) == 0 {
		t.Fatalf("the sheet was not understood: %+v", p)
	}
	return p
}

// holds checks that one of the crosses lies where the record puts a spot, within half a millimetre, and that
// a spot's edge runs round it with the recorded extent.
func (p *printed) holds(t *testing.T, name string, s SpotRecord) {
	t.Helper()
	best := math.Inf(1)
	var at r2.Vec
	for _, c := range p.crosses {
		nose := r2.Scale(s.StationMM/r2.Norm(p.noseIn), p.noseIn)
		if miss := math.Max(math.Abs(r2.Norm(r2.Sub(c, nose))-s.FromNose), math.Abs(p.tip.Distance(c)-s.StationMM)); miss < best {
			best, at = miss, c
		}
	}
	if best > 0.5 {
		t.Errorf("%s: no cross within %.2f mm of %v mm from the nose, station %v", name, best, s.FromNose, s.StationMM)
	}
	for _, e := range p.edges {
		if lo, hi := extentOf(e.Points); lo.X < at.X && at.X < hi.X && lo.Y < at.Y && at.Y < hi.Y {
			width := s.WidthMM - math.Max(s.WidthMM/2-s.StationMM, 0) // the sample's spot is cut off at the tip rib
			if math.Abs(hi.Y-lo.Y-width) > 4 || math.Abs(hi.X-lo.X-s.LengthMM) > 8 {
				t.Errorf("%s: the edge is %.0f by %.0f mm, the record says %v by %v", name, hi.X-lo.X, hi.Y-lo.Y, s.LengthMM, s.WidthMM)
			}
			return
		}
	}
	t.Errorf("%s: no edge runs round %v", name, at)
}

// Where there is nothing to mark there is no sheet.
func TestNoWrapSheetWithoutSpots(t *testing.T) {
	res := sampleResult(t, section.Left)
	res.LowSpots, res.HighSpots = res.LowSpots[1:], nil // the lower skin's
	if d := wrapDrawings(res, sampleSheet(), sampleIdentity("left")); len(d) != 1 || d[0].Name != "wrap-lower" {
		t.Errorf("%+v", d)
	}
	res.LowSpots = nil
	if d := wrapDrawings(res, sampleSheet(), sampleIdentity("left")); len(d) != 0 {
		t.Errorf("%+v", d)
	}
}

// Words on a sheet run over no other words.
func TestWrapWordsKeepClear(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		for _, d := range wrapDrawings(slanted(t, side), sampleSheet(), sampleIdentity(side.String())) {
			wordsApart(t, d.Drawing)
			if len(d.Drawing.Notes) == 0 || len(d.Drawing.Controls) != 2 {
				t.Errorf("%s: no notes or controls", d.Name)
			}
			for _, l := range d.Drawing.Layers {
				for _, e := range l.Elements {
					if text, ok := e.(draw.Text); ok && text.Height < lettering {
						t.Errorf("%q is %v mm high", text.Words, text.Height)
					}
				}
			}
		}
	}
}

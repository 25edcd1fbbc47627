package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// cut is a tail as it was built and how a scanner sees it, mm.
type cut struct {
	name         string
	thick, round float64 // thickness; how far the face bulges
	face         float64 // share of the face that is seen
	noise        float64 // standard deviation along the normal
	isotropic    bool    // noise along the chord too
	tilt         float64 // how far aft of the face's middle the upper skin ends
	density      float64 // points of one skin a mm of chord, whole span
	slope        float64 // of the edge over the stations
	within       float64 // how near the edge must be found
}

// cuts are tails of all kinds, most unlike those of section/simulate.
var cuts = []cut{
	{name: "square", thick: 2.5, face: 1, noise: 0.5, density: 100, within: 0.12},
	{name: "thick", thick: 8, face: 1, noise: 0.5, density: 100, within: 0.12},
	{name: "sharp", thick: 0.3, face: 1, noise: 0.5, density: 100, within: 0.3},
	{name: "no face seen", thick: 3, noise: 0.5, density: 100, within: 0.15},
	{name: "face seen badly", thick: 4, face: 0.3, noise: 0.5, density: 100, within: 0.25},
	{name: "noise every way", thick: 2.5, face: 1, noise: 0.5, isotropic: true, density: 100, within: 0.3},
	{name: "round", thick: 4, round: 2, face: 1, noise: 0.3, density: 200, within: 0.25},
	{name: "leaning face", thick: 4, face: 1, noise: 0.3, tilt: 0.3, density: 100, within: 0.12},
	{name: "tapered", thick: 2.5, face: 1, noise: 0.5, density: 100, slope: 0.002, within: 0.2},
	{name: "exact", thick: 2, face: 1, noise: 0.01, density: 100, within: 0.05},
	{name: "few points", thick: 3, face: 1, noise: 0.5, density: 8, within: 0.9},
}

// points scans the last 45 mm of the tail, whose edge lies at a place aft of the loft's at station 0.
func (c *cut) points(f *fitter, edge float64, seed uint64) (out []tailPoint) {
	r := rand.New(rand.NewPCG(seed, 1))
	const span, ahead, half = 600.0, 40.0, 0.12 // half: slope of each skin
	add := func(at, height, nx, nz float64, lower bool) {
		e := c.noise * r.NormFloat64()
		at, height = at+e*nx, height+e*nz
		if c.isotropic {
			at += c.noise * r.NormFloat64() * nz
		}
		station := span * r.Float64()
		x := 1 + (at+edge+c.slope*station)/f.ChordAt(station)
		if x > tailFrom && x < tailTo {
			out = append(out, tailPoint{x: x, station: station, weight: 1, height: height, lower: lower})
		}
	}
	for side := range 2 {
		sign := 1 - 2*float64(side)
		for range int(ahead * c.density) {
			at := -ahead*r.Float64() + sign*c.tilt - c.round
			add(at, sign*(c.thick/2+half*(-at)), half, sign, side == 1)
		}
	}
	for range int(c.face * c.thick * c.density * math.Max(1, 0.5*math.Pi*2*c.round/math.Max(c.thick, 1e-9))) {
		sin := 2*r.Float64() - 1
		if c.round > 0 {
			sin = math.Sin(math.Pi * (r.Float64() - 0.5))
		}
		cos := math.Sqrt(1 - sin*sin)
		add(c.tilt*sin-c.round*(1-cos), c.thick/2*sin, 1, 0, sin < 0)
	}
	for range int(c.density) { // strays
		x := tailFrom + (tailTo-tailFrom)*r.Float64()
		out = append(out, tailPoint{x: x, station: span * r.Float64(), weight: 1, height: 8 * (r.Float64() - 0.5), lower: r.IntN(2) == 0})
	}
	return out
}

func TestTheEdgeOfTailsOfAllKinds(t *testing.T) {
	for _, c := range cuts {
		t.Run(c.name, func(t *testing.T) {
			f := testFitter(t, "NACA 0012")
			f.Chord, f.Taper, f.scale = 1200, 0.03, math.Max(c.noise, 0.02)
			var worst float64
			covered := 0
			const scans = 3
			for seed := range scans {
				edge := 1.5 - 1.1*float64(seed)
				e, ok := f.fitEdge(c.points(f, edge, uint64(seed)), 0, 600)
				if !ok {
					t.Fatal("not found")
				}
				off := math.Abs(e.line.at(0) - edge)
				worst = math.Max(worst, off)
				if off <= 3*e.line.u(0) {
					covered++
				}
			}
			if worst > c.within {
				t.Errorf("the edge is found %.2f mm wrong, wanted within %.2f", worst, c.within)
			}
			if covered < scans-1 {
				t.Errorf("%d of %d within three standard uncertainties", covered, scans)
			}
		})
	}
}

// TestSomethingHeldToTheTail lays a hand or a clamp over a part of the span: the line through the rest must hold.
func TestSomethingHeldToTheTail(t *testing.T) {
	c := cut{thick: 2.5, face: 1, noise: 0.5, density: 200}
	f := testFitter(t, "NACA 0012")
	f.Chord, f.scale = 1200, 0.5
	points := c.points(f, 0, 7)
	r := rand.New(rand.NewPCG(7, 2))
	for range 3000 {
		points = append(points, tailPoint{x: 1 + (12*r.Float64()-4)/1200, station: 400 + 70*r.Float64(), weight: 1, height: -3 * r.Float64(), lower: true})
	}
	e, ok := f.fitEdge(points, 0, 600)
	if off := math.Abs(e.line.at(0)); !ok || off > 0.25 {
		t.Errorf("the edge is found %.2f mm wrong", off)
	}
}

func TestNoTailNoEdge(t *testing.T) {
	f := testFitter(t, "NACA 0012")
	f.Chord, f.scale = 1200, 0.5
	if _, ok := f.fitEdge(nil, 0, 600); ok {
		t.Error("found in nothing")
	}
	var nothing []tailPoint // triangles without area
	for i := range 500 {
		nothing = append(nothing, tailPoint{x: 0.96 + 0.04*float64(i)/500, station: float64(i)})
	}
	if e, ok := f.fitEdge(nothing, 0, 600); ok {
		t.Errorf("found at %.2f mm in what has no area", e.line.at(0))
	}
	var skin []tailPoint
	for i := range 5000 { // skin that goes on beyond the tail
		skin = append(skin, tailPoint{x: tailFrom + (tailTo-tailFrom)*float64(i)/5000, station: float64(i*7%600) + 0.5, weight: 1, height: 2})
	}
	if e, ok := f.fitEdge(skin, 0, 600); ok {
		t.Errorf("found at %.2f mm in a skin that does not end", e.line.at(0))
	}
}

package outbox

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// slab is a cloud of points in a box of 3 by 2 by 0.5, turned askew and far from the origin.
func slab(n int) *scan.Scan {
	rng := rand.New(rand.NewPCG(5, 6))
	turn := r3.NewRotation(1.1, r3.Vec{X: 1, Y: 2, Z: -1})
	s := &scan.Scan{Source: scan.Source{File: "left.xyz"}, Format: "xyz"}
	for range n {
		p := turn.Rotate(r3.Vec{X: 3 * rng.Float64(), Y: 2 * rng.Float64(), Z: 0.5 * rng.Float64()})
		s.Points = append(s.Points, [3]float32{float32(p.X + 40), float32(p.Y), float32(p.Z - 7)})
	}
	return s
}

func TestGlimpseFindsTheMainDirections(t *testing.T) {
	s := slab(20000)
	s.Points = append(s.Points, [3]float32{900, 900, 900}) // a stray does not shrink the rest to a dot
	g := newGlimpse(someOf(s))
	for k, want := range []float64{3, 2, 0.5} {
		if math.Abs(g.size[k]-want) > 0.05*want+0.02 {
			t.Errorf("extent %d is %.3f, want %v", k, g.size[k], want)
		}
	}
	for v, d := range g.views {
		full := 0
		for _, n := range d.counts {
			if n > 0 {
				full++
			}
		}
		if share := float64(full) / float64(len(d.counts)); share < 0.6 {
			t.Errorf("view %d: %.0f %% of the cells hold points", v, 100*share)
		}
	}
	if words, _, _ := parseSVG(t, g.picture("left.xyz").svgFile()); len(words) != 2 || !strings.HasPrefix(words[0].text, "Broad side, ") {
		t.Errorf("%+v", words)
	}
	if newGlimpse(someOf(slab(5))) != nil {
		t.Error("a picture of five points")
	}
}

// Points on one spot or one line are shown or left out, never a crash.
func TestGlimpseOfDegeneratePoints(t *testing.T) {
	for _, line := range []bool{false, true} {
		s := &scan.Scan{}
		for i := range 100 {
			x := float32(0)
			if line {
				x = float32(i)
			}
			s.Points = append(s.Points, [3]float32{x, 1, 1})
		}
		if g := newGlimpse(someOf(s)); (g != nil) != line {
			t.Errorf("line %v: %v", line, g)
		}
	}
}

func TestRefusedPageShowsThePoints(t *testing.T) {
	d := Delivery{Identity: sampleIdentity("left"), Sheet: sampleSheet(), Scans: []ScanInfo{Describe(slab(5000))}}
	d.Scans[0].Source.File = hostile
	dir := t.TempDir()
	if err := Refuse(dir, d, []scan.Message{{Code: "no-wing", Text: "No wing."}}); err != nil {
		t.Fatal(err)
	}
	page := string(contents(t, dir)[ReportName])
	wellFormed(t, page)
	if !strings.Contains(page, `class="glimpse"`) || strings.Contains(page, "<script") {
		t.Error("no picture of the points, or a file's name acts on the page")
	}
}

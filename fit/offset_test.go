package fit

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/scan/outside"
	"tipwright/section/airfoil"
)

// placed returns a nominal outline of a chord in mm; aft of cut (a share of the chord) it is sawn off.
func placed(t testing.TB, name string, chord, cut float64, n int) []r2.Vec {
	t.Helper()
	a, err := airfoil.Parse(name)
	if err != nil {
		t.Fatal(err)
	}
	var out []r2.Vec
	for _, q := range a.Outline(n) {
		if q.X <= cut {
			out = append(out, r2.Scale(chord, q))
		}
	}
	return out
}

// sharpened closes the tail of an outline at the middle of its end.
func sharpened(p []r2.Vec) []r2.Vec {
	end := mix(p[0], p[len(p)-1], 0.5)
	p[0], p[len(p)-1] = end, end
	return p
}

func circle(radius float64, n int) []r2.Vec {
	var out []r2.Vec
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out = append(out, r2.Vec{X: radius * c, Y: radius * s})
	}
	return append(out, out[0])
}

// kinked turns the part of an outline aft of a hinge down, so that the lower side has a corner inward.
func kinked(p []r2.Vec, hinge, angle float64) []r2.Vec {
	for i, q := range p {
		if q.X > hinge {
			p[i] = r2.Add(r2.Vec{X: hinge}, turned(r2.Sub(q, r2.Vec{X: hinge}), -angle))
		}
	}
	return uncross(p)
}

func TestOffsetOfCircle(t *testing.T) {
	t.Parallel()
	for _, d := range []float64{-30, -1, -0.3, 0.2, 5, 80} {
		const radius, n = 100.0, 4000
		out, err := Offset(circle(radius, n), d)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range out {
			if e := r2.Norm(p) - (radius + d); math.Abs(e) > 1e-3 {
				t.Fatalf("offset %g: a point lies %g off the circle", d, e)
			}
		}
		if a := math.Abs(enclosed(out)); math.Abs(a/(math.Pi*(radius+d)*(radius+d))-1) > 1e-4 {
			t.Fatalf("offset %g: area %g", d, a)
		}
	}
}

func TestOffsetOfSquare(t *testing.T) {
	t.Parallel()
	square := []r2.Vec{{X: 0, Y: 0}, {X: 10, Y: 0}, {X: 10, Y: 10}, {X: 0, Y: 10}, {X: 0, Y: 0}}
	back := []r2.Vec{{X: 0, Y: 0}, {X: 0, Y: 10}, {X: 10, Y: 10}, {X: 10, Y: 0}, {X: 0, Y: 0}}
	for name, path := range map[string][]r2.Vec{"counter-clockwise": square, "clockwise": back} {
		in, err := Offset(path, -2)
		if err != nil {
			t.Fatal(err)
		}
		if a := math.Abs(enclosed(in)); math.Abs(a-36) > 1e-9 {
			t.Errorf("%s, inward: area %.12g, want 36", name, a)
		}
		out, err := Offset(path, 2)
		if err != nil {
			t.Fatal(err)
		}
		// Steiner's formula: area + perimeter·d + π·d².
		if want := 100 + 80 + 4*math.Pi; math.Abs(math.Abs(enclosed(out))-want) > 0.01 {
			t.Errorf("%s, outward: area %.6g, want %.6g", name, enclosed(out), want)
		}
		if _, err := Offset(path, -6); err == nil {
			t.Errorf("%s: an offset beyond the middle leaves something", name)
		}
	}
}

func TestOffsetRefusesNonsense(t *testing.T) {
	t.Parallel()
	for name, p := range map[string][]r2.Vec{
		"empty": nil, "two points": {{}, {X: 1}}, "not a number": {{}, {X: 1}, {X: math.NaN(), Y: 1}},
		"one place": {{}, {}, {}, {}},
	} {
		if _, err := Offset(p, -1); err == nil {
			t.Errorf("%s: no error", name)
		}
	}
	if _, err := Offset(circle(10, 20), math.NaN()); err == nil {
		t.Error("no error for an offset that is not a number")
	}
}

// The parallel of a parallel comes back, keeps its distance and never crosses itself.
func TestOffsetKeepsDistance(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(12, 60).Draw(t, "n")
		var p []r2.Vec
		for i := range n {
			s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			r := rapid.Float64Range(40, 100).Draw(t, "r")
			p = append(p, r2.Vec{X: r * c, Y: r * s})
		}
		p = append(p, p[0])
		d := rapid.Float64Range(-25, 25).Draw(t, "d")
		if math.Abs(d) < 1e-3 {
			return
		}
		out, err := Offset(p, d)
		if err != nil {
			t.Fatal(err)
		}
		if len(crossings(out, true)) > 0 {
			t.Fatalf("offset %g crosses itself", d)
		}
		for i, q := range out {
			if i > 0 {
				q = mix(out[i-1], q, 0.5)
			}
			if e := distanceTo(p, q) - math.Abs(d); e < -1e-5 || e > 0.01 { // mm: what is promised of an offset; arcs and midpoints together may take a third of it
				t.Fatalf("offset %g: the parallel is off by %g", d, e)
			}
		}
	})
}

// TestOffsetRoundsASpike goes round a point that is far sharper than any tail, at distances down to less than the
// corners of the arc may stand off.
func TestOffsetRoundsASpike(t *testing.T) {
	t.Parallel()
	var p []r2.Vec
	for i := range 60 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 60)
		r := 40.0
		if i == 7 {
			r = 100
		}
		p = append(p, r2.Vec{X: r * c, Y: r * s})
	}
	p = append(p, p[0])
	for _, d := range []float64{0.0005, 0.0017, 0.005, 0.05, 1, 20} {
		out, err := Offset(p, d)
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range out {
			if e := distanceTo(p, q) - d; e < -1e-5 || e > arcSag+mitreExcess {
				t.Errorf("offset %g: a corner of the parallel is off by %g", d, e)
			}
		}
	}
}

// Reference: shapely (GEOS), an independent implementation of buffers.
func TestOffsetAgainstShapely(t *testing.T) {
	t.Parallel()
	type pairs [][2]float64
	type job struct {
		Outline  pairs   `json:"outline"`
		Distance float64 `json:"distance"`
		Parallel pairs   `json:"parallel"`
	}
	flat := func(p []r2.Vec) (out pairs) {
		for _, q := range p {
			out = append(out, [2]float64{q.X, q.Y})
		}
		return out
	}
	var names []string
	var jobs []job
	add := func(name string, p []r2.Vec, distances ...float64) {
		for _, d := range distances {
			out, err := Offset(p, d)
			if err != nil {
				t.Fatalf("%s at %g: %v", name, d, err)
			}
			if len(crossings(out, r2.Norm(r2.Sub(out[0], out[len(out)-1])) < closedGap)) > 0 {
				t.Errorf("%s at %g crosses itself", name, d)
			}
			names = append(names, fmt.Sprintf("%s at %g mm", name, d))
			jobs = append(jobs, job{flat(p), d, flat(out)})
		}
	}
	const n = 801
	add("23012", placed(t, "NACA 23012", 1200, 2, n), -3, -0.8, -0.3, 0.4)
	add("23012 with a sharp tail", sharpened(placed(t, "NACA 23012", 1200, 2, n)), -3, -0.3, 0.2, 2.5)
	add("23012 sawn off at 90 %", placed(t, "NACA 23012", 1200, 0.9, n), -6, -0.3, 0.4)
	add("4412 with the aileron down", kinked(placed(t, "NACA 4412", 900, 2, n), 700, 0.15), -3, -0.3, 0.5, 4)
	add("0006 smaller than its nose allows", sharpened(placed(t, "NACA 0006", 500, 2, n)), -4, -1)
	add("a coarse outline", placed(t, "NACA 2412", 1000, 2, 41), -2, 2)
	var answers []struct{ Far, Missed float64 }
	outside.Script(t, "testdata/parallel.py", jobs, &answers, "shapely")
	if len(answers) != len(jobs) {
		t.Fatalf("%d answers to %d jobs", len(answers), len(jobs))
	}
	for i, a := range answers {
		if a.Far > 0.01 || a.Missed > 0.01 {
			t.Errorf("%s: %.4f mm off the reference, which runs up to %.4f mm beside it", names[i], a.Far, a.Missed)
		}
	}
}

package section

import (
	"iter"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section/airfoil"
)

// tube is an open tube of n sides and two rings, as a drawing program meshes an extrusion: every vertex on the
// curve, one diagonal in each strip.
func tube(n int, closed bool, length float64, at func(i int) (x, z float64)) *scan.Scan {
	s := &scan.Scan{}
	for _, y := range []float64{0, length} {
		for i := range n {
			x, z := at(i)
			s.Points = append(s.Points, [3]float32{float32(x), float32(y), float32(z)})
		}
	}
	strips := n
	if !closed {
		strips = n - 1
	}
	for i := range strips {
		a, b := uint32(i), uint32((i+1)%n)
		c, d := a+uint32(n), b+uint32(n)
		s.Triangles = append(s.Triangles, [3]uint32{a, b, d}, [3]uint32{a, d, c})
	}
	return s
}

// TestCurvedCylinder lays points over the facets of a cylinder, whose flat facets lie r(1 - cos(π/n)) inside it.
// A cubic through the ends of a circular arc of angle θ whose handles are a third of the chord, brought into the
// tangents, stands off it by r·θ⁴/42.7 in its middle (computed).
func TestCurvedCylinder(t *testing.T) {
	const r, length = 100.0, 400.0
	for _, n := range []int{12, 24, 48} {
		s := tube(n, true, length, func(i int) (x, z float64) {
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			return r * cos, r * sin
		})
		theta := 2 * math.Pi / float64(n)
		flat := r * (1 - math.Cos(theta/2))
		worst := 0.0
		points := newMesh(s).spread(4, nil)
		if points.len() < 1000 {
			t.Fatalf("%d sides: only %d points", n, points.len())
		}
		for p := range everyPoint(points) {
			worst = math.Max(worst, math.Abs(math.Hypot(p.X, p.Z)-r))
		}
		if limit := r*math.Pow(theta, 4)/42 + 1e-4; worst > limit {
			t.Errorf("%d sides: points lie up to %.4f mm off the cylinder, want %.4f (flat facets: %.3f)", n, worst, limit, flat)
		}
	}
}

// TestCurvedKeepsCreases wants the faces of a box to stay flat.
func TestCurvedKeepsCreases(t *testing.T) {
	s := tube(4, true, 300, func(i int) (x, z float64) {
		return []float64{0, 200, 200, 0}[i], []float64{0, 0, 80, 80}[i]
	})
	for p := range everyPoint(newMesh(s).spread(5, nil)) {
		off := math.Min(math.Min(math.Abs(p.X), math.Abs(p.X-200)), math.Min(math.Abs(p.Z), math.Abs(p.Z-80)))
		if off > 1e-4 {
			t.Fatalf("a point lies at %v, off every face of the box", p)
		}
	}
}

// TestCurvedSection lays points over a section of 64 points, cosine-spaced, and holds them to the formula's
// outline: the flat facets lie up to 0.4 mm inside it at a chord of 1 m.
func TestCurvedSection(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	f := newField(a.Outline(outlinePoints), fieldCell)
	outline := a.Outline(65)
	s := tube(len(outline), false, 900, func(i int) (x, z float64) { return 1000 * outline[i].X, 1000 * outline[i].Y })
	var sum float64
	worst, n := 0.0, 0
	for p := range everyPoint(newMesh(s).spread(4, nil)) {
		ft, ok := f.at(r2of(p, 1000))
		if !ok {
			t.Fatalf("a point lies far off the section: %v", p)
		}
		d := 1000 * math.Abs(ft.distance)
		sum += d * d
		n++
		worst = math.Max(worst, d)
	}
	if rms := math.Sqrt(sum / float64(n)); rms > 0.02 || worst > 0.12 {
		t.Errorf("points lie %.3f mm rms and up to %.3f mm off the section, want 0.02 and 0.12", rms, worst)
	}
}

// TestMeasureCoarseMesh measures an exact mesh of 64 points round and two stations: nothing but the program can
// be at fault there.
func TestMeasureCoarseMesh(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	outline := a.Outline(65)
	s := tube(len(outline), false, 600, func(i int) (x, z float64) { return 1000 * outline[i].X, 1000 * outline[i].Y })
	factor, _ := a.Tape()
	v, err := Measure(s, Options{Airfoil: a, Chord: 1000 * factor, Side: Left, Unit: scan.Millimetre})
	if err != nil {
		t.Fatal(err)
	}
	if off := v.Chord.Value - 1000; math.Abs(off) > 0.5 {
		t.Errorf("chord %.2f mm, want 1000", v.Chord.Value)
	}
	if math.Abs(v.Taper.Value) > 0.001 || math.Abs(v.Twist.Value) > 2e-6 {
		t.Errorf("taper %.5f, twist %.2g rad/mm, want none", v.Taper.Value, v.Twist.Value)
	}
	y := v.WingFromScan.Rotate(r3.Vec{Y: 1})
	if math.Abs(y.Y) < math.Cos(0.02*math.Pi/180) {
		t.Errorf("the span axis lies along %v", y)
	}
}

func r2of(p r3.Vec, chord float64) r2.Vec { return r2.Vec{X: p.X / chord, Y: p.Z / chord} }

// everyPoint yields the points of a cloud.
func everyPoint(c *cloud) iter.Seq[r3.Vec] {
	return func(yield func(r3.Vec) bool) {
		for i := range c.len() {
			if !yield(c.at(i)) {
				return
			}
		}
	}
}

// TestCoarseNose cautions about a mesh whose nose is three corners, and not about one whose nose is ten.
func TestCoarseNose(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	factor, _ := a.Tape()
	for points, want := range map[int]bool{31: true, 81: false} {
		outline := a.Outline(points)
		s := tube(len(outline), false, 600, func(i int) (x, z float64) { return 1000 * outline[i].X, 1000 * outline[i].Y })
		v, err := Measure(s, Options{Airfoil: a, Chord: 1000 * factor, Side: Left, Unit: scan.Millimetre})
		if err != nil {
			t.Fatal(err)
		}
		said := slices.ContainsFunc(v.Messages, func(m scan.Message) bool { return m.Code == "coarse-nose" })
		if said != want {
			t.Errorf("%d points round: cautioned %v, want %v", points, said, want)
		}
	}
}

package airfoil

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// flat returns the greatest distance of the curve from the outline's straight pieces, tried at four places between
// neighbours.
func flat(a *Airfoil, n int) float64 {
	points := a.Outline(n)
	s := func(i int) float64 { return math.Cos(math.Pi * float64(i) / float64(n-1)) }
	var worst float64
	for i := range n - 1 {
		for _, u := range []float64{0.2, 0.4, 0.6, 0.8} {
			p := a.curve.point(s(i) + u*(s(i+1)-s(i)))
			worst = math.Max(worst, distance(p, points[i], points[i+1]))
		}
	}
	return worst
}

func TestOutlineLiesWithinAMillionthOfTheCurve(t *testing.T) {
	for _, name := range []string{"NACA 0003", "NACA 0006", "NACA 0012", "NACA 0030", "NACA 2412", "NACA 6624", "NACA 6203", "NACA 21006",
		"NACA 23012", "NACA 25124", "NACA 0012-64", "NACA 0006-93", "NACA 0012-02"} {
		if d := flat(must(t, name), 2001); d > 1e-6 {
			t.Errorf("%s: the polyline is %.2g of the chord off the curve", name, d)
		}
	}
	for name, text := range fixtures(t) {
		if name == "blunder.dat" || name == "cut-off.dat" {
			continue
		}
		if d := flat(read(t, text), 2001); d > 1e-6 {
			t.Errorf("%s: the polyline is %.2g of the chord off the curve", name, d)
		}
	}
}

func TestOutlineOfAnySection(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := names(leastThickness).Draw(t, "name")
		a, err := Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		n := rapid.IntRange(40, 400).Draw(t, "n")
		points := a.Outline(n)
		if len(points) != n {
			t.Fatalf("%d points for %d", len(points), n)
		}
		first, last := points[0], points[n-1]
		if r2.Norm(r2.Sub(first, last)) != a.TailThickness() || !(first.Y > last.Y) {
			t.Fatalf("tail from %v to %v", first, last)
		}
		origin := 0
		for _, p := range points {
			if r2.Norm(p) < 1e-12 {
				origin++
			}
		}
		if origin != 1 || r2.Norm(points[n/2]) > 1e-12 {
			t.Fatalf("%d points at the origin, the middle one at %v", origin, points[n/2])
		}
		var area float64
		for i, p := range points {
			q := points[(i+1)%n]
			area += r2.Cross(p, q) / 2
			if p == q {
				t.Fatalf("points %d and %d are the same", i, i+1)
			}
		}
		if area < 0.01 {
			t.Fatalf("signed area %g: not from the tail over the upper surface", area)
		}
	})
}

func TestSurfacesCutTheOutline(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err := Parse(names(leastThickness).Draw(t, "name"))
		if err != nil {
			t.Fatal(err)
		}
		s := rapid.Float64Range(-1, 1).Draw(t, "s")
		p := a.curve.point(s)
		if p.X < 0 || p.X > 1 {
			return
		}
		upper, lower := a.Upper(p.X), a.Lower(p.X)
		got := upper
		if s < a.nose {
			got = lower
		}
		if math.Abs(got-p.Y) > 1e-6 { // steep at the nose: an error of 1e-13 in x is 1e-7 in z there
			t.Fatalf("%s at s = %g: %g, the outline says %g", a.Name, s, got, p.Y)
		}
		if upper < lower {
			t.Fatalf("%s at %g: upper %g under lower %g", a.Name, p.X, upper, lower)
		}
	})
}

func TestTangentIsTheDerivative(t *testing.T) {
	curves := map[string]*Airfoil{"file": read(t, fixtures(t)["once-round.dat"])}
	for _, name := range []string{"NACA 4412", "NACA 23012", "NACA 24115", "NACA 0012-64", "NACA 2412-35"} {
		curves[name] = must(t, name)
	}
	const h = 1e-6
	for name, a := range curves {
		for _, s := range []float64{-0.99, -0.7, -0.31, -0.05, 0.02, 0.2, 0.444, 0.8, 0.99} {
			want := r2.Scale(1/(2*h), r2.Sub(a.curve.point(s+h), a.curve.point(s-h)))
			if got := a.curve.tangent(s); r2.Norm(r2.Sub(got, want)) > 1e-5 {
				t.Errorf("%s at s = %g: tangent %v, by differences %v", name, s, got, want)
			}
		}
	}
}

func TestThicknessScalesWithItsDigits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		per := rapid.IntRange(3, 30).Draw(t, "thickness")
		x := rapid.Float64Range(0, 1).Draw(t, "x")
		suffix := rapid.SampledFrom([]string{"", "-64", "-33"}).Draw(t, "suffix")
		thin, err1 := Parse("NACA 00" + twoDigits(per) + suffix)
		one, err2 := Parse("NACA 0010" + suffix)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		if got, want := thin.Upper(x), one.Upper(x)*float64(per)/10; math.Abs(got-want) > 1e-12 {
			t.Fatalf("%d %% at %g: %g, want %g", per, x, got, want)
		}
		if thin.Lower(x) != -thin.Upper(x) {
			t.Fatalf("%d %% at %g is not symmetric", per, x)
		}
	})
}

func twoDigits(n int) string { return string([]byte{byte('0' + n/10), byte('0' + n%10)}) }

func TestOutsideTheChordIsNaN(t *testing.T) {
	for _, a := range []*Airfoil{must(t, "NACA 23012"), read(t, fixtures(t)["two-blocks.dat"])} {
		for _, x := range []float64{-1e-9, 1.0000001, math.NaN(), math.Inf(1)} {
			if !math.IsNaN(a.Upper(x)) || !math.IsNaN(a.Lower(x)) {
				t.Errorf("%s at %g: %g, %g", a.Name, x, a.Upper(x), a.Lower(x))
			}
		}
		for _, x := range []float64{0, 1e-12, 1 - 1e-12, 1} {
			if math.IsNaN(a.Upper(x)) || math.IsNaN(a.Lower(x)) {
				t.Errorf("%s at %g is NaN", a.Name, x)
			}
		}
	}
}

func TestOutlineNeedsThreePoints(t *testing.T) {
	if got := must(t, "NACA 0012").Outline(3); len(got) != 3 || got[1] != (r2.Vec{}) {
		t.Errorf("three points: %v", got)
	}
	defer func() {
		if recover() == nil {
			t.Error("two points must panic")
		}
	}()
	must(t, "NACA 0012").Outline(2)
}

func TestTapeEndsOnTheFarthestPoint(t *testing.T) {
	// The taped chord is longest from the tail's middle: no point of the outline lies farther.
	rapid.Check(t, func(t *rapid.T) {
		a, err := Parse(names(leastThickness).Draw(t, "name"))
		if err != nil {
			t.Fatal(err)
		}
		factor, angle := a.Tape()
		points := a.Outline(801)
		tail := r2.Scale(0.5, r2.Add(points[0], points[800]))
		nose := r2.Sub(tail, r2.Vec{X: factor * math.Cos(angle), Y: factor * math.Sin(angle)})
		closest := math.Inf(1)
		for i, p := range points {
			if d := r2.Norm(r2.Sub(p, tail)); d > factor+1e-12 {
				t.Fatalf("%s: point %v lies %g from the tail, the tape says %g", a.Name, p, d, factor)
			}
			if i > 0 {
				closest = math.Min(closest, distance(nose, points[i-1], p))
			}
		}
		if closest > 1e-5 {
			t.Fatalf("%s: the tape's nose %v lies %g off the outline", a.Name, nose, closest)
		}
	})
}

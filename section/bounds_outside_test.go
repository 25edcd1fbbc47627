package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// The least uncertainties that n independent points of noise σ allow, by least squares on points spread evenly
// (facts.md 3, computed there): of a line of length L in its middle σ/√n and in slope σ√(12/n)/L, of a circle's
// curvature over an arc L σ√(720/n)/L². A plane is a line each way. No estimate may promise less, and on points
// that are independent the fits here should reach them.

// spreadOf returns the standard deviation of values about their mean.
func spreadOf(v []float64) float64 {
	var sum, square float64
	for _, x := range v {
		sum += x
	}
	for _, x := range v {
		square += (x - sum/float64(len(v))) * (x - sum/float64(len(v)))
	}
	return math.Sqrt(square / float64(len(v)-1))
}

// The plane of the tip rib, from the points of its face.
func TestOutsidePlaneReachesItsBound(t *testing.T) {
	t.Parallel()
	const n, sigma, length, height, draws = 500, 0.5, 1000.0, 120.0, 200
	r := rand.New(rand.NewPCG(12, 5))
	var middle, slopeX, slopeZ []float64
	var uX, uZ float64
	for range draws {
		pts := make([]r3.Vec, n)
		for i := range pts {
			pts[i] = r3.Vec{X: length * (r.Float64() - 0.5), Z: height * (r.Float64() - 0.5), Y: 3 + sigma*r.NormFloat64()}
		}
		e, ok := plane(pts, 100, 1)
		if !ok {
			t.Fatal("no plane")
		}
		middle, slopeX, slopeZ = append(middle, e.at), append(slopeX, e.slopeX), append(slopeZ, e.slopeZ)
		uX, uZ = uX+e.uX/draws, uZ+e.uZ/draws
	}
	root := math.Sqrt(n)
	for _, c := range []struct {
		what                   string
		bound, found, promised float64
	}{
		{"middle", sigma / root, spreadOf(middle), 0},
		{"slope along", sigma * math.Sqrt(12) / root / length, spreadOf(slopeX), uX},
		{"slope across", sigma * math.Sqrt(12) / root / height, spreadOf(slopeZ), uZ},
	} {
		// Robust weights cost a twentieth of the points; 200 draws tell a spread to a twentieth.
		if c.found < 0.85*c.bound || c.found > 1.2*c.bound {
			t.Errorf("%s: scatters by %.3g, the bound is %.3g", c.what, c.found, c.bound)
		}
		if c.promised > 0 && (c.promised < 0.95*c.bound || c.promised > 1.2*c.bound) {
			t.Errorf("%s: promised to %.3g, the bound is %.3g", c.what, c.promised, c.bound)
		}
	}
}

// shape returns a fitter whose section is a given outline of chord 1 and whose loft is a prism of it, chord mm.
func shape(t *testing.T, outline []r2.Vec, chord float64) *fitter {
	t.Helper()
	a, err := airfoil.Parse("NACA 0012") // never looked at: the outline stands in its place
	if err != nil {
		t.Fatal(err)
	}
	f := &fitter{wingFromPoints: Identity()}
	f.field = newField(outline, fieldCell)
	f.Loft = Loft{Airfoil: a, Chord: chord}
	f.inboard = 1
	return f
}

// fitFree fits the given parameters and returns their values and what the fit says of their uncertainty.
func fitFree(f *fitter, span float64, free ...int) (values, u [parameters]float64) {
	s := step{lo: 0, hi: span, gate: 20, rounds: 12}
	for _, p := range free {
		s.free[p] = true
	}
	f.run(s)
	return f.values(), f.certainty(s)
}

// The loft on a flat plate: height and tilts about the middle of the plate, and twist, which is the product of two
// lines: 12σ/(√n·L·W).
func TestOutsideLoftOnAPlateReachesItsBound(t *testing.T) {
	t.Parallel()
	const n, sigma, chord, from, to, span, draws = 1200, 0.4, 1000.0, 0.2, 0.7, 600.0, 60
	var outline []r2.Vec // two flat skins far apart; only the upper one is looked at
	for i := range 801 {
		outline = append(outline, r2.Vec{X: 1 - float64(i)/800, Y: 0.09})
	}
	for i := range 801 {
		outline = append(outline, r2.Vec{X: float64(i) / 800, Y: -0.09})
	}
	r := rand.New(rand.NewPCG(5, 77))
	var height, pitch, twist []float64
	var uPitch, uTwist float64
	for range draws {
		f := shape(t, outline, chord)
		for range n {
			f.points = append(f.points, single(r3.Vec{X: chord * (from + (to-from)*r.Float64()), Y: span * r.Float64(), Z: 0.09*chord + sigma*r.NormFloat64()}))
		}
		_, u := fitFree(f, span, zPar, pitchPar, twistPar, rollPar)
		turn := f.wingFromPoints.R
		// What the pose and the twist make of a plate: its height in the middle and its slopes there.
		mid := r3.Vec{X: chord * (from + to) / 2, Y: span / 2, Z: 0.09 * chord}
		moved := f.wingFromPoints.Apply(mid)
		height = append(height, moved.Z-mid.Z+f.Twist*span/2*mid.X)
		pitch = append(pitch, turn[2][0]+f.Twist*span/2)
		twist = append(twist, f.Twist)
		uPitch, uTwist = uPitch+u[pitchPar]/draws, uTwist+u[twistPar]/draws
	}
	root, length := math.Sqrt(n), chord*(to-from)
	for _, c := range []struct {
		what         string
		bound, found float64
	}{
		{"height", sigma / root, spreadOf(height)},
		{"incidence", sigma * math.Sqrt(12) / root / length, spreadOf(pitch)},
		{"twist", 12 * sigma / root / length / span, spreadOf(twist)},
	} {
		if c.found < 0.75*c.bound || c.found > 1.3*c.bound {
			t.Errorf("%s: scatters by %.3g, the bound is %.3g", c.what, c.found, c.bound)
		}
	}
	// At station 0, where the parameters stand, twice the uncertainty of the middle: line ends are known half as well.
	if bound := 2 * sigma * math.Sqrt(12) / root / length; uPitch < 0.9*bound || uPitch > 1.5*bound {
		t.Errorf("incidence at station 0: promised to %.3g, the bound is %.3g", uPitch, bound)
	}
	if bound := 12 * sigma / root / length / span; uTwist < 0.9*bound || uTwist > 1.5*bound {
		t.Errorf("twist: promised to %.3g, the bound is %.3g", uTwist, bound)
	}
}

// The loft on a round bar: its radius from half and from a quarter of the way round. facts.md 3 gives 0.19 mm for
// R = 15 mm, σ = 0.5 mm and 50 points over 180 degrees, 0.77 mm over 90; the formula is for short arcs, and over half
// a turn it is about right.
func TestOutsideLoftOnABarReachesItsBound(t *testing.T) {
	t.Parallel()
	const radius, sigma, span, draws = 150.0, 0.3, 400.0, 60
	var outline []r2.Vec
	for i := range 1601 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 1600)
		outline = append(outline, r2.Vec{X: 0.5 + 0.5*c, Y: 0.5 * s})
	}
	for _, half := range []float64{math.Pi / 2, math.Pi / 4} {
		const n = 400
		r := rand.New(rand.NewPCG(3, uint64(100*half)))
		var found []float64
		var promised float64
		for range draws {
			f := shape(t, outline, 2*radius)
			for range n {
				s, c := math.Sincos(math.Pi + half*(2*r.Float64()-1))
				d := radius + sigma*r.NormFloat64()
				f.points = append(f.points, single(r3.Vec{X: radius + d*c, Y: span * r.Float64(), Z: d * s}))
			}
			v, u := fitFree(f, span, xPar, zPar, chordPar)
			found, promised = append(found, v[chordPar]/2), promised+u[chordPar]/2/draws
		}
		arc := 2 * half * radius
		bound := radius * radius * sigma * math.Sqrt(720.0/n) / (arc * arc)
		if got := spreadOf(found); got < 0.75*bound || got > 1.35*bound {
			t.Errorf("radius from %.0f degrees: scatters by %.4f mm, the bound is %.4f", 2*half*180/math.Pi, got, bound)
		}
		if promised < 0.8*bound || promised > 1.5*bound {
			t.Errorf("radius from %.0f degrees: promised to %.4f mm, the bound is %.4f", 2*half*180/math.Pi, promised, bound)
		}
	}
}

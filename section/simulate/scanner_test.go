package simulate

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"tipwright/scan"
	"tipwright/section"
)

// back returns all points of a scan in the wing frame.
func back(s *scan.Scan, t *Truth) []r3.Vec {
	out := make([]r3.Vec, len(s.Points))
	for i := range s.Points {
		p := s.At(i)
		out[i] = t.WingFromScan.Apply(r3.Vec{X: p[0], Y: p[1], Z: p[2]})
	}
	return out
}

// clean is the Marsh Wren's scanner without noise or clutter, in random pose.
func clean(side section.Side, points int) (Wing, Scanner) {
	w, s := MarshWren(side)
	return w, Scanner{Seed: s.Seed, Points: points, Unit: s.Unit, RandomPose: true, ScaleError: s.ScaleError}
}

func mustScan(t testing.TB, w Wing, s Scanner) (*scan.Scan, *Truth) {
	t.Helper()
	out, truth, err := Scan(w, s)
	if err != nil {
		t.Fatal(err)
	}
	return out, truth
}

// offOutline returns the distance of q from a polyline.
func offOutline(q r2.Vec, outline []r2.Vec) float64 {
	best := math.Inf(1)
	for i := 1; i < len(outline); i++ {
		a, d := outline[i-1], r2.Sub(outline[i], outline[i-1])
		u := 0.0
		if n := r2.Norm2(d); n > 0 {
			u = min(max(r2.Dot(r2.Sub(q, a), d)/n, 0), 1)
		}
		best = min(best, r2.Norm(r2.Sub(q, r2.Add(a, r2.Scale(u, d)))))
	}
	return best
}

func TestScanMapsBackOntoTheTruth(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		for _, mesh := range []bool{false, true} {
			w, s := clean(side, 4000)
			s.Mesh = mesh
			out, truth := mustScan(t, w, s)
			worst, n := 0.0, 0
			for i, p := range back(out, truth) {
				station := p.Y * side.Inboard()
				if station < -1e-3 || station > w.Span+1e-3 {
					t.Fatalf("%v: station %g", side, station)
				}
				if i%20 != 0 {
					continue
				}
				o := truth.AsBuiltAt(station)
				o = append(o, o[0]) // the aft face
				worst = max(worst, offOutline(r2.Vec{X: p.X, Y: p.Z}, o))
				n++
			}
			// float32 metres resolve 0.0002 mm, and the outline's polyline lies within 0.01 mm.
			if worst > 0.01 || n < 150 {
				t.Errorf("%v mesh %v: %d points, the worst %.4f mm off the as-built outline", side, mesh, n, worst)
			}
		}
	}
}

func TestSamplingIsEvenByArea(t *testing.T) {
	w := lofted(t, section.Left)
	w.Taper = 0.5
	out, truth := mustScan(t, w, Scanner{Points: 40000})
	var half [2]int
	for _, p := range back(out, truth) {
		half[min(1, int(p.Y/250))]++
	}
	// Chord 1000 at the tip, 1125 at 250 mm, 1250 at 500 mm.
	if got, want := float64(half[1])/float64(half[0]), (1125.0+1250)/(1000+1125); math.Abs(got-want) > 0.01 {
		t.Errorf("the inboard half holds %.3f times the points of the outboard one, its area is %.3f times as large", got, want)
	}
	if n := half[0] + half[1]; n < 40000 || n > 41000 {
		t.Errorf("%d points, asked for 40000 and the tail", n)
	}
}

func TestMirroredSidesAreEqual(t *testing.T) {
	for _, mesh := range []bool{false, true} {
		w, s := clean(section.Left, 3000)
		s.Mesh, s.RibFace, s.RandomPose, s.ScaleError, s.Unit = mesh, Closed, false, 0, scan.Millimetre
		left, truth := mustScan(t, w, s)
		w.Side = section.Right
		right, mirrored := mustScan(t, w, s)
		if !slices.Equal(truth.AsBuilt, mirrored.AsBuilt) {
			t.Error("the sections of a mirrored wing differ")
		}
		for i, p := range left.Points {
			if q := right.Points[i]; q != [3]float32{p[0], -p[1], p[2]} {
				t.Fatalf("point %d: %v on the left, %v on the right", i, p, q)
			}
		}
	}
}

func TestSeeds(t *testing.T) {
	w, s := MarshWren(section.Left)
	s.Points = 3000
	a, truth := mustScan(t, w, s)
	b, _ := mustScan(t, w, s)
	if !slices.Equal(a.Points, b.Points) {
		t.Error("the same seed gives another scan")
	}
	s.Seed++
	c, _ := mustScan(t, w, s)
	if slices.Equal(a.Points[:50], c.Points[:50]) {
		t.Error("another seed gives the same scan")
	}
	s.Seed--
	s.Noise = 0
	_, quiet := mustScan(t, w, s)
	if quiet.WingFromScan != truth.WingFromScan {
		t.Error("the noise changes the pose")
	}
}

func TestUnitPoseAndScale(t *testing.T) {
	w := lofted(t, section.Left)
	turn := rotationAbout(r3.Vec{Z: math.Pi / 2})
	turn.T = r3.Vec{X: 1000, Y: 2000, Z: -500}
	out, truth := mustScan(t, w, Scanner{Points: 1000, Unit: scan.Inch, Prescribed: true, Pose: turn, ScaleError: 0.004})
	if out.Unit != scan.Inch {
		t.Errorf("unit %q", out.Unit)
	}
	// By hand: the wing's point (500, 0, 0) turns to (0, 500, 0), moves to (1000, 2500, -500) mm.
	k := 1.004 / 25.4
	got := truth.WingFromScan.Apply(r3.Vec{X: 1000 * k, Y: 2500 * k, Z: -500 * k})
	if r3.Norm(r3.Sub(got, r3.Vec{X: 500})) > 1e-9 {
		t.Errorf("got %v, want (500, 0, 0)", got)
	}
	far := Scanner{Points: 1000, Pose: section.Transform{R: section.Identity().R, Scale: 1, T: r3.Vec{X: 4e8, Y: 5e9}}}
	out, truth = mustScan(t, w, far)
	if out.Origin == [3]float64{} {
		t.Error("a far-off scan has no origin of its own")
	}
	for _, p := range back(out, truth) {
		if p.X < -10 || p.X > 1100 {
			t.Fatalf("a far-off scan has lost its precision: x = %g", p.X)
		}
	}
}

func TestRandomPose(t *testing.T) {
	w := lofted(t, section.Left)
	var moved, up float64
	for seed := range uint64(200) {
		b := newBuilder(&w, &Scanner{Points: 100, RandomPose: true, Seed: seed})
		pose := b.pose()
		moved = max(moved, r3.Norm(pose.T))
		up += pose.R[2][2] / 200
		for i := range 3 {
			if n := math.Hypot(math.Hypot(pose.R[i][0], pose.R[i][1]), pose.R[i][2]); math.Abs(n-1) > 1e-12 {
				t.Fatalf("seed %d: not a rotation: %v", seed, pose.R)
			}
		}
	}
	// Even over all directions: mean 0, standard error 1/sqrt(3*200) = 0.04.
	if moved < 1000 || math.Abs(up) > 0.15 {
		t.Errorf("poses move by up to %.0f mm and point up %.2f in the mean", moved, up)
	}
}

// residuals returns how far the points of a flat-sided test wing lie from the skin without noise: the same
// scan, made twice.
func residuals(t *testing.T, s Scanner) []float64 {
	t.Helper()
	w := lofted(t, section.Left)
	noisy := newBuilder(&w, &s)
	noisy.cloud()
	before := slices.Clone(noisy.vertices)
	noisy.distort()
	var out []float64
	for i, v := range noisy.vertices {
		if v.on == Upper {
			out = append(out, r3.Dot(r3.Sub(v.p, before[i].p), v.n))
		}
	}
	return out
}

func TestNoiseIsAsLargeAsAsked(t *testing.T) {
	for _, c := range []struct {
		name  string
		s     Scanner
		want  float64
		loose float64
	}{
		{"along the normal", Scanner{Points: 40000, Noise: 0.4}, 0.4, 0.01},
		{"isotropic", Scanner{Points: 40000, Noise: 0.4, Isotropic: true}, 0.4, 0.01},
		{"correlated", Scanner{Points: 20000, CorrelatedNoise: 0.3, NoiseLength: 20}, 0.3, 0.05},
	} {
		if got := stat.StdDev(residuals(t, c.s), nil); math.Abs(got-c.want) > c.loose {
			t.Errorf("%s: %.4f mm, want %.4f", c.name, got, c.want)
		}
	}
}

func TestCorrelationFallsWithDistance(t *testing.T) {
	s := Scanner{Seed: 5}
	w := lofted(t, section.Left)
	b := newBuilder(&w, &Scanner{Points: 100, Seed: s.Seed})
	var sum [3]float64
	const fields = 300
	r := b.stream(fieldStream)
	for range fields {
		f := newField(r, 50, 40)
		at := f.at(r3.Vec{X: 100})
		for i, d := range []float64{0, 50, 200} {
			sum[i] += at * f.at(r3.Vec{X: 100, Y: d}) / fields
		}
	}
	for i, want := range []float64{1, math.Exp(-0.5), 0} {
		if math.Abs(sum[i]-want) > 0.2 { // three standard errors of 300 fields
			t.Errorf("correlation %.2f, want %.2f", sum[i], want)
		}
	}
}

func TestWarpIsSlow(t *testing.T) {
	w := lofted(t, section.Left)
	b := newBuilder(&w, &Scanner{Points: 5000, Warp: 1, Seed: 3})
	b.cloud()
	before := slices.Clone(b.vertices)
	b.distort()
	moved := 0.0
	for i, v := range b.vertices {
		d := r3.Sub(v.p, before[i].p)
		moved = max(moved, r3.Norm(d))
		if i > 0 && r3.Norm(r3.Sub(before[i].p, before[i-1].p)) < 30 {
			if e := r3.Norm(r3.Sub(d, r3.Sub(b.vertices[i-1].p, before[i-1].p))); e > 0.5 {
				t.Fatalf("neighbours move %g mm apart", e)
			}
		}
	}
	if moved < 0.3 || moved > 8 {
		t.Errorf("a warp of 1 mm moves points by up to %g mm", moved)
	}
}

func TestScansOfAnyWing(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		real := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(rt, name) }
		flag := func(name string) bool { return rapid.Bool().Draw(rt, name) }
		w := Wing{
			Airfoil: parse(t, rapid.SampledFrom([]string{"NACA 0012", "NACA 23015", "NACA 6409"}).Draw(rt, "airfoil")),
			Side:    rapid.SampledFrom([]section.Side{section.Left, section.Right}).Draw(rt, "side"),
			Chord:   real("chord", 200, 3000), Span: real("span", 50, 1500), Overhang: real("overhang", 0, 30),
			Taper: real("taper", -0.1, 0.3), Twist: real("twist", -1e-4, 1e-4), Hinge: rapid.SampledFrom([]float64{0, 0.7, 0.8}).Draw(rt, "hinge"),
			Deflection: real("deflection", -0.2, 0.2), HingeGap: real("gap", 0, 8), TailThickness: real("tail", 0, 8),
		}
		s := Scanner{
			Seed: rapid.Uint64().Draw(rt, "seed"), Points: 600, Noise: real("noise", 0, 3), Mesh: flag("mesh"), MeshSmooth: 1,
			Unit: rapid.SampledFrom(scan.Units()).Draw(rt, "unit"), RandomPose: true, Strays: real("strays", 0, 0.3),
			Floor: flag("floor"), Wall: flag("wall"), Stand: flag("stand"), Person: flag("person"), Hand: flag("hand"),
			Strips: flag("strips"), Tape: flag("tape"), RibFace: RibFace(rapid.IntRange(0, 2).Draw(rt, "face")),
			InboardClosed: flag("inboard"), HoleShare: real("holes", 0, 0.3), InsideSeen: real("inside", 0, 20),
			OneSurface: Surface(rapid.IntRange(0, 2).Draw(rt, "surface")), Warp: real("warp", 0, 3), Falloff: real("falloff", 0, 1),
		}
		out, _, err := Scan(w, s)
		if err != nil {
			rt.Fatal(err)
		}
		for _, p := range out.Points {
			for _, v := range p {
				if !finite(float64(v)) {
					rt.Fatal("a point is not finite")
				}
			}
		}
		for _, tri := range out.Triangles {
			if int(max(tri[0], tri[1], tri[2])) >= len(out.Points) || tri[0] == tri[1] || tri[1] == tri[2] || tri[0] == tri[2] {
				rt.Fatalf("triangle %v of %d points", tri, len(out.Points))
			}
		}
		if s.Mesh != (len(out.Triangles) > 0) || len(out.Points) == 0 {
			rt.Fatalf("%d points, %d triangles", len(out.Points), len(out.Triangles))
		}
	})
}

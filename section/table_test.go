package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// TestTable holds the table of feet to the feet themselves, for points all over the reach of the map.
func TestTable(t *testing.T) {
	for _, name := range []string{"NACA 23012", "NACA 4415", "NACA 0006", "NACA 2421", "NACA 0012-35"} {
		a, err := airfoil.Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		f := newField(a.Outline(outlinePoints), fieldCell)
		const tries = 50_000
		r := rand.New(rand.NewPCG(1, 2))
		used := 0
		for range tries {
			p, n := f.point(r.Float64() * f.length())
			p = r2.Add(p, r2.Scale((2*r.Float64()-1)*mapReach, n))
			i, k := int((p.X-f.origin.X)/f.cell), int((p.Y-f.origin.Y)/f.cell)
			if !f.table[k*f.nx+i].known {
				continue
			}
			used++
			got, ok := f.at(p)
			want := f.search(p, k*f.nx+i)
			if d := math.Abs(got.distance - want.distance); !ok || d > 2*tableOff {
				t.Fatalf("%s at %v: distance %.9f, by search %.9f", name, p, got.distance, want.distance)
			}
			if math.Abs(got.arc-want.arc) > 2*tableSlip || r2.Norm(r2.Sub(got.normal, want.normal)) > 3*tableSlip {
				t.Fatalf("%s at %v: foot %+v, by search %+v", name, p, got, want)
			}
			if math.Abs(r2.Norm(got.normal)-1) > 1e-6 {
				t.Fatalf("%s at %v: normal %v is no unit vector", name, p, got.normal)
			}
		}
		if used < tries*3/4 {
			t.Errorf("%s: the table holds %d feet of %d", name, used, tries)
		}
	}
}

// BenchmarkAt compares points of a skin with the loft.
func BenchmarkAt(b *testing.B) {
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		b.Fatal(err)
	}
	m := model{field: newField(a.Outline(outlinePoints), fieldCell), inboard: 1}
	m.Chord, m.Taper, m.Twist, m.Sweep, m.Hinge, m.Deflection = 1220, 0.04, 2.6e-5, -0.011, 0.78, 0.02
	r := rand.New(rand.NewPCG(1, 2))
	points := make([]r3.Vec, 1<<16)
	for i := range points {
		arc, station := float64(i)/float64(len(points))*m.field.length(), 600*r.Float64()
		x, z, _ := m.surfacePoint(arc, station)
		points[i] = r3.Vec{X: x + r.NormFloat64(), Y: station, Z: z + r.NormFloat64()}
	}
	i, sum := 0, 0.0
	for b.Loop() {
		found, _ := m.at(points[i&(len(points)-1)])
		i, sum = i+1, sum+found.distance
	}
}

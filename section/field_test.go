package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/section/airfoil"
)

// TestFieldLeavesOutWhatIsFar holds the field to the same feet with and without what spares it looking for them: the other
// surface is passed over only where it is farther, and no foot within reach is withheld.
func TestFieldLeavesOutWhatIsFar(t *testing.T) {
	for _, name := range []string{"NACA 23012", "NACA 0006", "NACA 4418"} {
		a, err := airfoil.Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		f := newField(a.Outline(outlinePoints), fieldCell)
		r := rand.New(rand.NewPCG(5, 9))
		far, other := 0, 0
		for range 200_000 {
			p := r2.Vec{X: -0.1 + 1.2*r.Float64(), Y: -0.2 + 0.4*r.Float64()}
			n := int((p.Y-f.origin.Y)*f.perCell)*f.nx + int((p.X-f.origin.X)*f.perCell)
			var ft foot
			if !f.look(p, &ft) {
				continue
			}
			for _, reach := range []float64{0.002, 0.02, 0.05, 0.09} {
				var near foot
				switch ok := f.lookNear(p, reach, &near); {
				case !ok && !(math.Abs(ft.distance) > reach):
					t.Fatalf("%s: a foot %.4f chords away is withheld from who asks within %.4f", name, ft.distance, reach)
				case ok && near != ft:
					t.Fatalf("%s: %v has two feet", name, p)
				case !ok:
					far++
				}
			}
			if p.X > forkX {
				want := f.project(p, int(f.near[n]))
				if second := f.project(p, int(f.fork[n])); math.Abs(second.distance) < math.Abs(want.distance) {
					want = second
					other++
				}
				if got := f.search(p, n); got != want {
					t.Fatalf("%s: %v has its foot at %v, want %v", name, p, got, want)
				}
			}
		}
		if far == 0 || other == 0 {
			t.Errorf("%s: %d feet were withheld and %d were on the other surface", name, far, other)
		}
	}
}

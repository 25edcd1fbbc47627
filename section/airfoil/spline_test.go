package airfoil

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// read makes an airfoil of a text or stops.
func read(t testing.TB, text string) *Airfoil {
	t.Helper()
	a, err := Read(strings.NewReader(text), "test.dat")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// apart returns the greatest distance of the points of one outline from the other, and where.
func apart(from, to []r2.Vec) (worst float64, at r2.Vec) {
	j := 0
	for _, p := range from {
		best := math.Inf(1)
		lo := max(0, j-40)
		for k := lo; k < min(len(to)-1, j+200); k++ {
			if d := distance(p, to[k], to[k+1]); d < best {
				best, j = d, k
			}
		}
		if best > worst {
			worst, at = best, p
		}
	}
	return worst, at
}

func TestProbe(t *testing.T) {
	for _, g := range []struct {
		name string
		xs   []float64
	}{{"cos15", cosine(15)}, {"cos30", cosine(30)}, {"cos60", cosine(60)}, {"cos200", cosine(200)}, {"tab", printed()}, {"tab-.5", append([]float64{0}, printed()[2:]...)}} {
		for _, n := range []string{"0006", "0012", "0024", "2412", "4415", "6212", "23012", "21006", "23112", "0012-64", "0012-03"} {
			a := must(t, n)
			u, l := surfacesOf(a, g.xs)
			b, err := Read(strings.NewReader(lines("%.6f %.6f", round(u, l))), "x")
			if err != nil {
				fmt.Println(g.name, n, err)
				continue
			}
			d, at := apart(b.Outline(3001), a.Outline(3001))
			f := &outlineFile{}
			for _, p := range round(u, l) {
				f.points = append(f.points, sample{Vec: p})
			}
			var dn, da float64
			for i := 1; i < len(f.points)-1; i++ {
				if f.points[i].X < noseZone {
					dn = max(dn, f.deviation(i))
				} else {
					da = max(da, f.deviation(i))
				}
			}
			fa, _ := a.Tape()
			fb, _ := b.Tape()
			ca, xa := a.Camber()
			cb, xb := b.Camber()
			fmt.Printf("%s %s off %.1e at %.4f  radius %.4f/%.4f dev nose %.1e aft %.1e tape %.1e camber %.5f@%.3f %.5f@%.3f\n", g.name, n, d, at.X, 100*b.NoseRadius(), 100*a.NoseRadius(), dn, da, fa-fb, ca, xa, cb, xb)
		}
	}
}

package section

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// The plane of an open end must not lean because one skin shows a third of the other's points: 0.3 mm over a wing's
// height would be 0.2 degrees. The points lie evenly from the edge inboard, with and without noise across it.
func TestEdgeOfASparserSkinDoesNotLean(t *testing.T) {
	t.Parallel()
	skin := func(r *rand.Rand, z, spacing, noise float64) (found []outermost) {
		for x := 0.0; x < 1200; x += edgeBinMM {
			var bin []r3.Vec
			for y := r.ExpFloat64() * spacing; y < 60; y += r.ExpFloat64() * spacing {
				if p := (r3.Vec{X: x, Y: y + noise*r.NormFloat64(), Z: z}); p.Y < 50 {
					bin = append(bin, p)
				}
			}
			found = append(found, outermostOf(bin))
		}
		return found
	}
	for _, noise := range []float64{0, 0.25, 0.5} {
		const seeds = 12
		lean := 0.0
		for seed := range uint64(seeds) {
			r := rand.New(rand.NewPCG(seed, 3))
			e, ok := plane(givenBack(slices.Concat(skin(r, 50, 0.7, noise), skin(r, -50, 2, noise)), noise), 60, edgeLean)
			if !ok {
				t.Fatal("no plane")
			}
			lean += e.slopeZ / seeds
		}
		if math.Abs(lean) > 0.0015 {
			t.Errorf("noise %.2f mm: the plane leans by %.4f rad towards the sparser skin", noise, lean)
		}
	}
}

// A sparse scan of the whole wing shows all of the outline, though most cells of its map are empty; one of the upper
// skin shows half of it.
func TestCoverageOfASparseScan(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 5))
	for _, c := range []struct {
		cells, columns int // points for 1000 cells; columns seen of 400
		want           float64
	}{{250, 400, 1}, {250, 200, 0.5}, {3000, 400, 1}, {3000, 200, 0.5}} {
		m := Map{Arc: make([]float64, 400), Station: make([]float64, 60), Cells: make([]Cell, 400*60)}
		for i := range m.Cells {
			if i%400 < c.columns {
				for p := r.IntN(1000); p < c.cells; p += 1000 {
					m.Cells[i].N++
				}
			}
		}
		if got := m.coverage(); math.Abs(got-c.want) > 0.01 {
			t.Errorf("%d points in 1000 cells, %d columns of 400: coverage %.3f, want %.2f", c.cells, c.columns, got, c.want)
		}
	}
}

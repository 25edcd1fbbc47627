package section

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"
)

// TestVoxelsNear holds the neighbourhoods to a search through all points.
func TestVoxelsNear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		coordinate := rapid.Float64Range(-12, 12)
		vec := rapid.Custom(func(t *rapid.T) r3.Vec {
			return r3.Vec{X: coordinate.Draw(t, "x"), Y: coordinate.Draw(t, "y"), Z: coordinate.Draw(t, "z")}
		})
		points := rapid.SliceOfN(vec, 1, 200).Draw(t, "points")
		g := newVoxels(1, len(points), len(points)/usualCells)
		numbers := map[voxelKey]int32{}
		for _, p := range points {
			i := g.add(p)
			if want, ok := numbers[g.keyOf(p)]; ok && want != i {
				t.Fatalf("the cell of %v is %d, was %d", p, i, want)
			}
			numbers[g.keyOf(p)] = i
		}
		p := points[rapid.IntRange(0, len(points)-1).Draw(t, "which")]
		var want []int32
		for key, i := range numbers {
			far := 0
			for axis, v := range g.keyOf(p) {
				far = max(far, int(math.Abs(float64(v-key[axis]))))
			}
			if far <= 2 {
				want = append(want, i)
			}
		}
		block, index := g.keyOf(p).place()
		var around surroundings
		g.gather(int(g.block(block)), &around)
		var room [mostNear]int32
		got := around.near(index, &room)
		slices.Sort(got)
		slices.Sort(want)
		if !slices.Equal(got, want) {
			t.Fatalf("near %v: %v, want %v", p, got, want)
		}
	})
}

// TestMedian holds the selection to the sorted order.
func TestMedian(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.SliceOfN(rapid.Float64Range(-3, 3), 1, 300).Draw(t, "values")
		if rapid.Bool().Draw(t, "few") {
			for i := range v {
				v[i] = math.Round(v[i])
			}
		}
		sorted := slices.Sorted(slices.Values(v))
		if got := median(slices.Clone(v)); got != sorted[len(v)/2] {
			t.Fatalf("median %g, want %g", got, sorted[len(v)/2])
		}
	})
}

package section

import (
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// TestWhatOnlyAPoorFlipExplainsDoesNotCount lays a slab of wing beside a sheet that follows the section laid the wrong
// way round: a stand whose top happens to lie there. However many points it has, it must not turn the wing about.
func TestWhatOnlyAPoorFlipExplainsDoesNotCount(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	f := newField(a.Outline(outlinePoints), fieldCell)
	const chord = 1000.0
	right := &candidate{fitter: fitter{model: model{field: f, inboard: 1}, wingFromPoints: Identity(), scale: 1}}
	right.Chord, right.lo, right.hi, right.misfit = chord, -100, 100, certainMisfit
	wrong := *right
	wrong.flip(flips[2])
	wrong.scale = 6
	lay := func(c *candidate, from, to, station float64) {
		for i := range 300 {
			q, n := f.point(f.length() * (from + (to-from)*(float64(i)+0.5)/300))
			back := c.wingFromPoints.Inverse()
			p := back.Apply(r3.Vec{X: chord * q.X, Y: station, Z: chord * q.Y})
			right.points = append(right.points, single(p))
			right.normals = append(right.normals, back.Rotate(r3.Vec{X: n.X, Z: n.Y}))
		}
	}
	lay(right, 0, 1, 0)
	for s := range 20 {
		lay(&wrong, 0.1, 0.4, float64(4*s)-40) // twenty times as many points, on a part of one skin
	}
	wrong.points, wrong.normals = right.points, right.normals
	compare([]*candidate{right, &wrong})
	if !(right.loss < wrong.loss/1.5) {
		t.Errorf("the wing as it lies has a loss of %.4f chords, turned about it has %.4f", right.loss, wrong.loss)
	}
}

func TestPromisingTakesWhatOneSlabShowsBestToo(t *testing.T) {
	seeds := []seed{{votes: 30, cover: 0.5}, {votes: 20, cover: 0.6}, {votes: 10, cover: 0.4}, {votes: 9, cover: 1}, {votes: 8, cover: 0.7}}
	for _, c := range []struct {
		most, covered int
		want          []float64
	}{
		{2, 0, []float64{0.5, 0.6}},
		{2, 1, []float64{0.5, 0.6, 1}},
		{2, 9, []float64{0.5, 0.6, 1, 0.7, 0.4}},
		{9, 2, []float64{0.5, 0.6, 0.4, 1, 0.7}},
	} {
		var got []float64
		for _, s := range promising(seeds, c.most, c.covered) {
			got = append(got, s.cover)
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("promising(%d, %d) has covers %v, want %v", c.most, c.covered, got, c.want)
		}
	}
}

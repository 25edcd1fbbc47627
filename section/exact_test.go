package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// fallen lays points without noise on a map of 9 by 9 cells: a skin that falls along arc and station as the side of a
// low spot does, and for every third point another wall the given depth below, if any.
func fallen(slope, wall float64) (m *Map, cells *piles) {
	m = &Map{Arc: make([]float64, 9), Station: make([]float64, 9), Cells: make([]Cell, 81)}
	cells = newPiles(9, 9)
	r := rand.New(rand.NewPCG(4, 4))
	for k := range 81 {
		for n := range 8 {
			d := slope * (arcStep*(float64(k%9)+r.Float64()) + stationStep*(float64(k/9)+r.Float64()))
			if wall > 0 && n%3 == 2 {
				d -= wall
			}
			cells.add(int32(k/9), int32(k%9), float32(d))
		}
	}
	return m, cells
}

// However exact the points, those on the side of a low spot count, and the side does not pass for the walls of a
// hollow body.
func TestSideOfASpotInAnExactMesh(t *testing.T) {
	const noise = 0.005 // what the flat skin round the spot shows
	for _, slope := range []float64{0, 0.005, 0.02, 0.03} {
		m, cells := fallen(slope, 0)
		want := slope * 4.5 * (arcStep + stationStep)
		ds := cells.whole().columns(4, 4, 4)
		c := biweightMean(ds, want, noise, m.slack(ds, m.someOf(cells), 4, 4, want, noise, new(middling)))
		if c.N != 8 || math.Abs(c.Departure-want) > 0.05 {
			t.Errorf("slope %g: %d points, departure %.3f, want 8 and %.3f", slope, c.N, c.Departure, want)
		}
		if m.walls(cells.whole(), 4, 4) {
			t.Errorf("slope %g passes for walls", slope)
		}
		if m, cells := fallen(slope, 1.2); !m.walls(cells.whole(), 4, 4) {
			t.Errorf("two walls that fall by %g pass for one skin", slope)
		}
	}
	m, cells := fallen(0, 1.2)
	if s := m.slack(cells.whole().columns(4, 4, 4), m.someOf(cells), 4, 4, 0, noise, new(middling)); s != noise {
		t.Errorf("between walls a slack of %.3f mm is given", s)
	}
}

package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// rimMap returns a map, and its points, of which a share that falls from the end on lies gap mm below the outside at 0,
// and whose noise at the end is times as large as farther in.
func rimMap(share, gap, times float64) (Map, *piles) {
	m := Map{inside: &inside{}}
	for j := range 64 {
		m.Arc = append(m.Arc, (float64(j)+0.5)*arcStep)
	}
	for i := range 60 {
		m.Station = append(m.Station, (float64(i)+0.5)*stationStep)
	}
	m.Cells = make([]Cell, len(m.Arc)*len(m.Station))
	r := rand.New(rand.NewPCG(7, 11))
	cells := newPiles(len(m.Station), len(m.Arc))
	for k := range m.Cells {
		near := math.Exp(-m.Station[k/len(m.Arc)] / 60)
		for range 12 {
			d := 0.5 * r.NormFloat64() * (1 + (times-1)*near)
			if r.Float64() < share*near {
				d -= gap
			}
			cells.add(int32(k/len(m.Arc)), int32(k%len(m.Arc)), float32(d))
		}
	}
	return m, cells
}

func TestInsideOfAnOpenEnd(t *testing.T) {
	for _, c := range []struct {
		name              string
		share, gap, times float64
		seen, maybe       bool
		off               float64 // mm by which the rim may lie off the outside
	}{
		{"one skin", 0, 0, 1, false, false, 0.02},
		{"larger noise at the end", 0, 0, 1.8, false, false, 0.03},
		{"half of the points 0.8 mm below", 0.5, 0.8, 1, true, false, 0.1},
		{"half of the points 1.5 mm below", 0.5, 1.5, 1, true, false, 0.08},
		{"three quarters 3 mm below", 0.8, 3, 1, true, false, 0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, cells := rimMap(c.share, c.gap, c.times)
			m.average(cells, m.someOf(cells), nil)
			if got := m.inside.gap > 0; got != c.seen || m.inside.maybe != c.maybe {
				t.Errorf("inside %+v, want seen %v, maybe %v", *m.inside, c.seen, c.maybe)
			}
			sum := 0.0
			for k := range 4 * len(m.Arc) {
				sum += m.Cells[k].Departure / float64(4*len(m.Arc))
			}
			if math.Abs(sum) > c.off {
				t.Errorf("the rim lies at %.3f mm, want 0 within %.2f", sum, c.off)
			}
		})
	}
}

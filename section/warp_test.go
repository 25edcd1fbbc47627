package section

import (
	"math"
	"math/rand/v2"
	"testing"
)

// bentMap is a map of a panel 1200 by 700 mm whose skin stands off upwards by up (share of the chord, share of the span).
func bentMap(seed uint64, noise float64, up func(x, s float64) float64, off func(arc, station float64) float64) (*Map, *Loft) {
	r := rand.New(rand.NewPCG(seed, 3))
	l := &Loft{Chord: 1200, Hinge: 0.77}
	m := &Map{Length: 2460, NoseArc: 1230, HingeArc: [2]float64{1230 - 0.77*1200, 1230 + 0.77*1200}}
	for a := 4.0; a < m.Length; a += 8 {
		m.Arc = append(m.Arc, a)
	}
	for s := -6.0; s < 700; s += 12 {
		m.Station = append(m.Station, s)
	}
	for _, s := range m.Station {
		for _, a := range m.Arc {
			d := math.Copysign(1, m.NoseArc-a) * up(math.Abs(a-m.NoseArc)/l.Chord, s/700)
			m.Cells = append(m.Cells, Cell{Departure: d + off(a, s) + noise*r.NormFloat64(), SE: noise, N: 9})
		}
	}
	return m, l
}

// A bend of the whole scan is told with its size; noise, a form that is the same at all stations, spots, a change of the loft's
// parameters and a skin that grows thicker are none.
func TestWarp(t *testing.T) {
	t.Parallel()
	flat := func(_, _ float64) float64 { return 0 }
	square := func(v float64) float64 { return v * v }
	for _, c := range []struct {
		name      string
		noise     float64
		up, off   func(_, _ float64) float64
		least, to float64
	}{
		{"nothing", 0.3, flat, flat, 0, 0.015},
		{"bent by 0.2 mm", 0.3, func(_, s float64) float64 { return 0.2 * (6*s*s - 6*s + 1) }, flat, 0.17, 0.23},
		{"bent by 0.2 mm, noisy", 1.5, func(_, s float64) float64 { return 0.2 * (6*s*s - 6*s + 1) }, flat, 0.13, 0.25},
		{"turned and shifted", 0.3, func(x, s float64) float64 { return 0.4 - 0.5*s + 0.7*x*s }, flat, 0, 0.015},
		{"form", 0.3, flat, func(a, _ float64) float64 { return 0.6 * math.Sin(a/130) }, 0, 0.015},
		{"thicker", 0.3, flat, func(_, s float64) float64 { return 0.5 * square(s/700) }, 0, 0.03},
		{"spot", 0.1, flat, func(a, s float64) float64 {
			d := math.Hypot(a-700, s-200) / 75
			if d > 1 {
				return 0
			}
			return -0.5 * (1 + math.Cos(math.Pi*d))
		}, 0, 0.02},
	} {
		m, l := bentMap(1, c.noise, c.up, c.off)
		if got := m.warp(l); got < c.least || got > c.to {
			t.Errorf("%s: bent by %.3f mm, expected %.3f to %.3f", c.name, got, c.least, c.to)
		}
	}
}

// Of a map that shows too little nothing is told.
func TestWarpOfLittle(t *testing.T) {
	t.Parallel()
	m, l := bentMap(1, 0.3, func(_, s float64) float64 { return s * s }, func(_, _ float64) float64 { return 0 })
	for i := range m.Cells {
		if i%len(m.Arc) > 40 {
			m.Cells[i] = Cell{}
		}
	}
	if got := m.warp(l); got != 0 {
		t.Errorf("bent by %.3f mm", got)
	}
}

func BenchmarkWarp(b *testing.B) {
	m, l := bentMap(1, 0.3, func(_, s float64) float64 { return s * s }, func(_, _ float64) float64 { return 0 })
	for b.Loop() {
		m.warp(l)
	}
}

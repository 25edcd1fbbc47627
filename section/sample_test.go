package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
)

// TestSamplerAgreesWithCompare holds the map's way of comparing a point with the loft to that of the fits.
func TestSamplerAgreesWithCompare(t *testing.T) {
	f := testFitter(t, "NACA 23012")
	f.Chord, f.Taper, f.Twist, f.Sweep, f.Rise = 1200, 0.05, 4e-5, 0.03, 0.02
	f.Hinge, f.HingeZ, f.Deflection, f.offset = 0.78, 0.01, 0.04, 0.3
	r := rand.New(rand.NewPCG(1, 3))
	seen := 0
	for range 20_000 {
		station := 800 * r.Float64()
		x, z, _ := f.surfacePoint(f.field.length()*r.Float64(), station)
		p := r3.Vec{X: x + 20*r.NormFloat64(), Y: f.inboard * station, Z: z + 10*r.NormFloat64()}
		var s sample
		ok := f.sampler().look(p, &s)
		c, in := f.at(p)
		if want := in && !c.end && math.Abs(c.distance-f.offset) <= mapReach*f.Chord; ok != want {
			t.Fatalf("%v counts: %v, want %v", p, ok, want)
		}
		if !ok {
			continue
		}
		seen++
		want := sample{c.arc * f.Chord, c.station, c.distance / math.Sqrt(r3.Norm2(c.gradient))}
		if math.Abs(s.arc-want.arc)+math.Abs(s.station-want.station)+math.Abs(s.distance-want.distance) > 1e-9 {
			t.Fatalf("%v: %v, want %v", p, s, want)
		}
	}
	if seen < 5000 {
		t.Errorf("only %d points were compared", seen)
	}
}

// TestEdgeLikelihood holds the likelihood that is told from sums at whole steps to the sum over the bins themselves.
func TestEdgeLikelihood(t *testing.T) {
	shape := tailShape{blur: 0.3, face: 1.5, faceBlur: 0.6, stray: 0.02, tilt: 0.1}
	table := shape.tableFor()
	r := rand.New(rand.NewPCG(4, 3))
	c := edgeCounts{lo: -20.03, bins: [2][]float64{make([]float64, 250), make([]float64, 250)}}
	for _, bins := range c.bins {
		for i := range bins {
			bins[i] = math.Floor(9 * r.Float64())
		}
	}
	l := newEdgeLikelihood(&c, table)
	for range 50 {
		edge, want := 4*r.Float64()-2, 0.0
		for side, bins := range c.bins {
			end := edge + shape.tilt*(1-2*float64(side))
			all := 0.0
			for i, n := range bins {
				all += n
				want += n * table.at(table.log, c.lo+(float64(i)+0.5)*edgeStep-end)
			}
			want -= all * math.Log(table.at(table.integral, c.lo+25-end)-table.at(table.integral, c.lo-end))
		}
		if got := l.at(edge); math.Abs(got-want) > 1e-6*math.Abs(want) {
			t.Fatalf("an edge at %.3f mm: %.9g, want %.9g", edge, got, want)
		}
	}
}

package section

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section/airfoil"
)

// TestAileronEnd finds where an aileron ends within the panel, and finds no end where there is none.
func TestAileronEnd(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	const chord, span, down = 1000.0, 800.0, 0.026
	for _, c := range []struct {
		name string
		end  float64 // station to which the aileron reaches, mm
		want bool
	}{{"over the whole panel", math.Inf(1), false}, {"to 350 mm", 350, true}, {"none", 0, false}} {
		r := rand.New(rand.NewPCG(3, 4))
		m := model{field: newField(a.Outline(outlinePoints), fieldCell), inboard: 1}
		m.Chord, m.Hinge = chord, 0.75
		m.HingeZ = hingeHeight(m.field, m.Hinge)
		f := &candidate{lo: 0, hi: span}
		f.wingFromPoints = Identity()
		for range 60_000 {
			station := span * r.Float64()
			m.Deflection = 0
			if station < c.end {
				m.Deflection = down
			}
			x, z, _ := m.surfacePoint(r.Float64()*m.field.length(), station)
			f.points = append(f.points, single(r3.Vec{X: x, Y: station, Z: z + 0.5*r.NormFloat64()}))
		}
		m.Deflection = down / 2 // what a fit of one angle over the panel may have made of it
		f.model = m
		at, ok := f.aileronEnd()
		if ok != c.want || ok && math.Abs(at-c.end) > aileronBand {
			t.Errorf("%s: the deflection changes at %.0f mm (%t)", c.name, at, ok)
		}
	}
}

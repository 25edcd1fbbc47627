package section

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"
	"pgregory.net/rapid"

	"tipwright/section/airfoil"
)

// testFitter returns a fitter with a loft that has some of everything.
func testFitter(t *testing.T, name string) *fitter {
	t.Helper()
	a, err := airfoil.Parse(name)
	if err != nil {
		t.Fatal(err)
	}
	f := &fitter{wingFromPoints: Identity()}
	f.field = newField(a.Outline(outlinePoints), fieldCell)
	f.Loft = Loft{Airfoil: a, Chord: 1100, Taper: 0.05, Twist: 3e-5, Sweep: 0.04, Rise: 0.06,
		Hinge: 0.77, HingeZ: hingeHeight(f.field, 0.77), Deflection: 0.03}
	f.inboard = -1
	return f
}

// size is what the derivatives amount to on a panel a metre long.
var size = [parameters]float64{rollPar: 900, pitchPar: 1100, yawPar: 300, xPar: 1, zPar: 1, chordPar: 1, taperPar: 900,
	twistPar: 1e6, deflectPar: 300, offsetPar: 1, sweepPar: 300, risePar: 900}

// TestJacobian compares every derivative with a central difference: an independent way to the same number.
func TestJacobian(t *testing.T) {
	for _, name := range []string{"NACA 23012", "NACA 6409", "NACA 0018"} {
		f := testFitter(t, name)
		f.field.table = nil // its feet step by up to a micrometre from cell to cell, which so short differences magnify
		rapid.Check(t, func(rt *rapid.T) {
			arc := rapid.Float64Range(0.02, f.field.length()-0.02).Draw(rt, "arc")
			station := rapid.Float64Range(5, 900).Draw(rt, "station")
			off := rapid.Float64Range(-2, 2).Draw(rt, "off")
			x, z, neutral := f.surfacePoint(arc, station)
			if math.Abs(neutral.X-f.Hinge) < 0.01 || neutral.X < 0.05 {
				return // the loft bends here, and two millimetres off a nose the foot moves far
			}
			p := r3.Vec{X: x, Y: station * f.inboard, Z: z}
			at, ok := f.at(p)
			if !ok {
				rt.Fatal("a point of the surface is not on it")
			}
			if math.Abs(at.distance) > 2e-3 {
				rt.Fatalf("a point of the surface lies %g mm from it", at.distance)
			}
			p = r3.Add(p, r3.Scale(off, at.gradient))
			if at, ok = f.at(p); !ok || at.end {
				return
			}
			jacobian := at.jacobian(p)
			for par := range parameters {
				h := 1e-3
				switch par {
				case rollPar, pitchPar, yawPar, taperPar, deflectPar, sweepPar, risePar: // rad, or mm per mm
					h = 1e-5
				case twistPar:
					h = 1e-8
				}
				move := func(by float64) float64 {
					g := *f
					var c [parameters]float64
					c[par] = by
					g.apply(c)
					r, _ := g.at(g.wingFromPoints.Apply(p))
					return r.distance - g.offset
				}
				got, want := jacobian[par], (move(h)-move(-h))/(2*h)
				if math.Abs(got-want) > 0.015*size[par] { // the direction is interpolated between the vertices of the outline
					rt.Fatalf("%s parameter %d at arc %.4f station %.0f: %g, by differences %g", name, par, arc, station, got, want)
				}
			}
		})
	}
}

// TestSincos holds the short way to the long one.
func TestSincos(t *testing.T) {
	for a := -0.3; a <= 0.3; a += 0.0007 {
		s, c := sincos(a)
		ws, wc := math.Sincos(a)
		if math.Abs(s-ws) > 2e-16 || math.Abs(c-wc) > 3e-16 {
			t.Fatalf("sincos(%g) is off by %g and %g", a, s-ws, c-wc)
		}
	}
}

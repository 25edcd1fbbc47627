package draw

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// Cutting long lines into stretches may not change what is near a point: every element looked at whole, one
// after the other, must give the same distance.
func TestInkNearIsThatOfEveryElement(t *testing.T) {
	place := rapid.Custom(func(t *rapid.T) r2.Vec {
		return r2.Vec{X: rapid.Float64Range(-100, 100).Draw(t, "x"), Y: rapid.Float64Range(-100, 100).Draw(t, "y")}
	})
	line := rapid.SliceOfN(place, 1, 3*stretchSteps)
	element := rapid.OneOf(
		rapid.Custom(func(t *rapid.T) Element { return Path{line.Draw(t, "line"), rapid.Bool().Draw(t, "closed")} }),
		rapid.Custom(func(t *rapid.T) Element { return Area{line.Draw(t, "edge")} }),
		rapid.Custom(func(t *rapid.T) Element { return Line{place.Draw(t, "a"), place.Draw(t, "b")} }),
		rapid.Custom(func(t *rapid.T) Element { return Circle{place.Draw(t, "middle"), 4} }),
		rapid.Custom(func(t *rapid.T) Element { return Text{At: place.Draw(t, "at"), Height: 2.5, Words: "joins A2"} }),
	)
	rapid.Check(t, func(t *rapid.T) {
		elements := rapid.SliceOfN(element, 0, 5).Draw(t, "elements")
		p, reach := place.Draw(t, "p"), rapid.Float64Range(1, 80).Draw(t, "reach")
		want := reach
		for _, e := range elements {
			lo, hi := e.bounds()
			if p.X+reach >= lo.X && p.X-reach <= hi.X && p.Y+reach >= lo.Y && p.Y-reach <= hi.Y {
				want = math.Min(want, away(e, p))
			}
		}
		half := len(elements) / 2
		k := newInk([]*Layer{{Elements: elements[:half]}}).with(elements[half:])
		if got := k.near(p, reach); math.Abs(got-want) > 1e-12 {
			t.Fatalf("%g mm, not %g", got, want)
		}
	})
}

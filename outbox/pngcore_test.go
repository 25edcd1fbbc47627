package outbox

import (
	"bytes"
	"image"
	"image/png"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// A four-cornered area must look the same whether its core is painted apart or not: a fifth corner on one of its
// sides changes nothing of its shape, but has it painted whole.
func TestCoreOfAnAreaLooksTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		place := func(name string, lo, hi float64) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
		loop := []r2.Vec{vec(place("x0", 5, 40), place("y0", 5, 40)), vec(place("x1", 60, 95), place("y1", 5, 40)),
			vec(place("x2", 60, 95), place("y2", 60, 95)), vec(place("x3", 5, 40), place("y3", 60, 95))}
		if rapid.Bool().Draw(t, "the other way round") {
			loop[0], loop[1], loop[2], loop[3] = loop[3], loop[2], loop[1], loop[0]
		}
		pixels := rapid.IntRange(60, 170).Draw(t, "pixels")
		five := []r2.Vec{loop[0], loop[1], loop[2], loop[3], r2.Scale(0.5, r2.Add(loop[3], loop[0]))}
		a, b := areaPNG(t, loop, pixels), areaPNG(t, five, pixels)
		for y := range a.Bounds().Dy() {
			for x := range a.Bounds().Dx() {
				p, _, _, _ := a.At(x, y).RGBA()
				q, _, _, _ := b.At(x, y).RGBA()
				if d := int(p>>8) - int(q>>8); d < -8 || d > 8 { // the corner is rounded to a 64th of a pixel
					t.Fatalf("pixel %d, %d: %d and %d", x, y, p>>8, q>>8)
				}
			}
		}
	})
}

func areaPNG(t *rapid.T, loop []r2.Vec, pixels int) image.Image {
	p := picture{width: 100, height: 100}
	p.area(ink, loop)
	data, err := p.png(pixels)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	return img
}

func TestCoreLeavesOtherShapesAlone(t *testing.T) {
	for name, loop := range map[string][]r2.Vec{
		"a triangle":      {vec(0, 0), vec(10, 0), vec(0, 10)},
		"a bow":           {vec(0, 0), vec(10, 10), vec(10, 0), vec(0, 10)},
		"a dart":          {vec(0, 0), vec(20, 5), vec(0, 10), vec(15, 5)},
		"a thin line":     {vec(0, 0), vec(10, 0), vec(10, 0.4), vec(0, 0.4)},
		"all one place":   {vec(3, 3), vec(3, 3), vec(3, 3), vec(3, 3)},
		"a steep lozenge": {vec(0, 0), vec(10, 10), vec(20, 0), vec(10, -10)},
	} {
		if r, ring, ok := core(loop); ok {
			for _, q := range ring[1] {
				if !within(q, loop) {
					t.Errorf("%s: the core %v leaves it", name, r)
				}
			}
		}
	}
}

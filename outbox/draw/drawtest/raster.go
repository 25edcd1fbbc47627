package drawtest

import (
	"bytes"
	"image/png"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// BlackBox renders an SVG by librsvg on white, at its own size with 96 pixels to the inch scaled up four
// times, and returns the box round what is dark, in mm from the upper left corner. Only the uppermost below
// mm are looked at.
func BlackBox(t testing.TB, svg []byte, below float64) r2.Box {
	t.Helper()
	const zoom, pixel = "4", 25.4 / 96 / 4
	out := run(t, Tool(t, "rsvg-convert", "librsvg2-bin"), "--zoom", zoom, "--background-color", "white", save(t, "drawing.svg", svg))
	img, err := png.Decode(bytes.NewReader(out))
	if err != nil {
		t.Fatal(err)
	}
	b := img.Bounds()
	dark := r2.Box{Min: r2.Vec{X: 1e9, Y: 1e9}}
	for y := b.Min.Y; y < b.Max.Y && float64(y)*pixel < below; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			if r, g, bl, _ := img.At(x, y).RGBA(); r+g+bl < 3*0x8000 {
				dark.Min.X, dark.Min.Y = min(dark.Min.X, float64(x)*pixel), min(dark.Min.Y, float64(y)*pixel)
				dark.Max.X, dark.Max.Y = max(dark.Max.X, float64(x+1)*pixel), max(dark.Max.Y, float64(y+1)*pixel)
			}
		}
	}
	return dark
}

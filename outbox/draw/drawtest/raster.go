package drawtest

import (
	"bytes"
	"fmt"
	"image/png"
	"math"
	"strconv"
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

// Grey is one page of a PDF as a printer would put it down, 300 dots to the inch.
type Grey struct {
	pix        []byte
	wide, high int
}

// Pixel is the side of a pixel of [Grey], mm.
const Pixel = 25.4 / 300

// RasterPDF renders one page, counted from 1, by poppler at 300 dots to the inch.
func RasterPDF(t testing.TB, pdf []byte, page int) Grey {
	t.Helper()
	n := strconv.Itoa(page)
	out := run(t, Tool(t, "pdftoppm", "poppler-utils"), "-r", "300", "-gray", "-f", n, "-l", n, save(t, "drawing.pdf", pdf))
	var g Grey
	var most int
	if _, err := fmt.Sscanf(string(out[:min(len(out), 40)]), "P5\n%d %d\n%d\n", &g.wide, &g.high, &most); err != nil || most != 255 || len(out) < g.wide*g.high {
		t.Fatalf("pdftoppm gave no picture: %v", err)
	}
	g.pix = out[len(out)-g.wide*g.high:]
	return g
}

// Ink returns how dark the page is at a place, from 0 to 1, mm from the lower left corner, between pixels by
// straight lines.
func (g Grey) Ink(p r2.Vec) float64 {
	x, y := p.X/Pixel-0.5, float64(g.high)-p.Y/Pixel-0.5
	x0, y0 := math.Floor(x), math.Floor(y)
	dark := func(i, j float64) float64 {
		if i < 0 || j < 0 || int(i) >= g.wide || int(j) >= g.high {
			return 0
		}
		return 1 - float64(g.pix[int(j)*g.wide+int(i)])/255
	}
	fx, fy := x-x0, y-y0
	return (1-fy)*((1-fx)*dark(x0, y0)+fx*dark(x0+1, y0)) + fy*((1-fx)*dark(x0, y0+1)+fx*dark(x0+1, y0+1))
}

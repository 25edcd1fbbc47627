package outbox

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"testing"

	"pgregory.net/rapid"
)

// An image of few colours must come back to the last pixel.
func TestIndexedPNGKeepsFewColours(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		img := image.NewRGBA(image.Rect(0, 0, rapid.IntRange(1, 40).Draw(t, "width"), rapid.IntRange(1, 40).Draw(t, "height")))
		level := rapid.SampledFrom([]uint8{0, 31, 90, 160, 201, 255})
		for i := range img.Pix {
			img.Pix[i] = level.Draw(t, "level")
			if i%4 == 3 {
				img.Pix[i] = 255
			}
		}
		got := decoded(t, img)
		_, colours := runsOf(img)
		kept := len(colours) <= mostColours
		for i := range img.Pix {
			if kept && got.Pix[i] != img.Pix[i] {
				t.Fatalf("byte %d became %d, not %d", i, got.Pix[i], img.Pix[i])
			}
		}
	})
}

// decoder is what both kinds of test are.
type decoder interface {
	Helper()
	Fatal(args ...any)
}

func decoded(t decoder, img *image.RGBA) *image.RGBA {
	t.Helper()
	data, err := indexedPNG(img)
	if err != nil {
		t.Fatal(err)
	}
	back, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	out := image.NewRGBA(back.Bounds())
	for y := range out.Rect.Dy() {
		for x := range out.Rect.Dx() {
			out.Set(x, y, back.At(x, y))
		}
	}
	return out
}

// Of too many colours the frequent ones stay and the rare ones become a neighbour, never one far away.
func TestIndexedPNGTakesTheNearestColour(t *testing.T) {
	img := image.NewRGBA(image.Rect(0, 0, 512, 20))
	for y := range 20 {
		for x := range 512 {
			c := color.RGBA{R: uint8(x / 2), G: uint8(x / 2), B: uint8(x/2 + x%2), A: 255} // 512 colours, each with a near one
			if x == 511 {
				c.B = 254
			}
			if x%2 == 0 || y == 0 {
				img.SetRGBA(x, y, c)
			} else {
				img.SetRGBA(x, y, img.RGBAAt(x-1, y))
			}
		}
	}
	got := decoded(t, img)
	for i, want := range img.Pix {
		if d := int(got.Pix[i]) - int(want); d < -1 || d > 1 || i/4/512 > 0 && d != 0 {
			t.Fatalf("pixel %d, %d: %d became %d", i/4%512, i/4/512, want, got.Pix[i])
		}
	}
}

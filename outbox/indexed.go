package outbox

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"image"
	"image/color"
	"image/png"
	"slices"
)

// mostColours is what an image with one byte a pixel can hold.
const mostColours = 256

// indexedPNG encodes an image as PNG with one byte a pixel. A drawing has few colours but for the blends along its
// edges, so the most frequent ones do, and each of the others becomes the nearest of them. Encoding takes a quarter
// of the time and the file a third of the room of three bytes a pixel. The image must be opaque.
func indexedPNG(img *image.RGBA) ([]byte, error) {
	runs, colours := runsOf(img)
	kept := mostFrequent(colours)
	index, palette := make([]uint8, len(colours)), make(color.Palette, len(kept))
	for i, c := range colours {
		index[i] = nearestColour(kept, c.rgba)
	}
	for i, c := range kept {
		palette[i] = unpacked(c)
	}
	out := image.NewPaletted(img.Bounds(), palette)
	at := out.Pix
	for _, r := range runs {
		v := index[r.colour]
		for i := range at[:r.length] {
			at[i] = v
		}
		at = at[r.length:]
	}
	var b bytes.Buffer
	e := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := e.Encode(&b, out); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// run is a stretch of a row of pixels of one colour, by its place among all colours.
type run struct{ colour, length int32 }

// frequency is a colour, red in the highest byte, and how many pixels have it.
type frequency struct {
	rgba   uint32
	pixels int
}

// runsOf returns the pixels as runs, row by row, and the colours in the order in which they come.
func runsOf(img *image.RGBA) (runs []run, colours []frequency) {
	places := map[uint32]int32{}
	var lately [1 << 10]struct { // colours that came lately: nearly all come again at once
		rgba  uint32
		place int32
	}
	w := img.Rect.Dx()
	for y := range img.Rect.Dy() {
		row := img.Pix[y*img.Stride : y*img.Stride+4*w]
		for x := 0; x < w; {
			from, c := x, binary.BigEndian.Uint32(row[4*x:])
			for x++; x < w && binary.BigEndian.Uint32(row[4*x:]) == c; x++ {
			}
			l := &lately[c*0x9e3779b1>>22]
			if l.rgba != c || c == 0 {
				i, ok := places[c]
				if !ok {
					i = int32(len(colours))
					places[c], colours = i, append(colours, frequency{rgba: c})
				}
				l.rgba, l.place = c, i
			}
			colours[l.place].pixels += x - from
			runs = append(runs, run{l.place, int32(x - from)})
		}
	}
	return runs, colours
}

// mostFrequent returns the colours that are kept, the most frequent first.
func mostFrequent(colours []frequency) []uint32 {
	all := slices.Clone(colours)
	slices.SortFunc(all, func(a, b frequency) int { return cmp.Or(cmp.Compare(b.pixels, a.pixels), cmp.Compare(a.rgba, b.rgba)) })
	kept := make([]uint32, min(len(all), mostColours))
	for i := range kept {
		kept[i] = all[i].rgba
	}
	return kept
}

// nearestColour returns the place of the kept colour that is least away from c in red, green and blue.
func nearestColour(kept []uint32, c uint32) uint8 {
	best, least := 0, int32(1<<30)
	for i, k := range kept {
		if k == c {
			return uint8(i)
		}
		if d := channelGap(k, c, 24) + channelGap(k, c, 16) + channelGap(k, c, 8); d < least {
			best, least = i, d
		}
	}
	return uint8(best)
}

// channelGap returns the square of the difference of two colours in one channel.
func channelGap(a, b uint32, shift int) int32 {
	d := int32(a>>shift&0xff) - int32(b>>shift&0xff)
	return d * d
}

func unpacked(c uint32) color.RGBA {
	return color.RGBA{R: uint8(c >> 24), G: uint8(c >> 16), B: uint8(c >> 8), A: uint8(c)}
}

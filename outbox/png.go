package outbox

import (
	"fmt"
	"image"
	"image/color"
	"image/draw"
	"math"
	"slices"

	textfont "golang.org/x/image/font"
	fixedpoint "golang.org/x/image/math/fixed"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/vgimg"
)

// dotsPerInch makes a point of the canvas a pixel.
const dotsPerInch = 72

// canvas draws marks into an image, one point of the canvas a pixel.
type canvas struct {
	*vgimg.Canvas
	fonts  *font.Cache
	tones  daylight
	scale  float64 // pixels a unit
	height float64 // pixels
}

// png returns the picture in its light colours, pixels wide, as PNG.
func (p *picture) png(pixels int) ([]byte, error) {
	c := canvas{fonts: font.NewCache(liberation.Collection()), tones: newDaylight(), scale: float64(pixels) / p.width}
	c.height = math.Ceil(p.height * c.scale)
	c.Canvas = vgimg.NewWith(
		vgimg.UseWH(vg.Length(pixels), vg.Length(c.height)), vgimg.UseDPI(dotsPerInch),
		vgimg.UseBackgroundColor(c.tones.of(ground)))
	img, ok := c.Image().(*image.RGBA)
	if !ok {
		return nil, fmt.Errorf("the drawing library draws into %T", c.Image())
	}
	for i := range p.marks {
		if m := &p.marks[i]; i > 0 || !p.isGround(m) { // the canvas has it already
			c.draw(m)
		}
	}
	return indexedPNG(img)
}

// isGround reports whether a mark does no more than fill the whole picture with the colour of the ground.
func (p *picture) isGround(m *mark) bool {
	return m.fill == ground && m.stroke == noTone && m.alpha == 0 && len(m.loops) == 1 &&
		slices.Equal(m.loops[0], box(0, 0, p.width, p.height))
}

func (c *canvas) draw(m *mark) {
	if m.text != "" {
		c.text(m)
		return
	}
	if m.fill != noTone {
		c.fill(m)
	}
	if m.stroke != noTone {
		c.SetColor(c.tones.of(m.stroke))
		c.SetLineWidth(vg.Length(m.width * c.scale))
		var dash []vg.Length
		for _, d := range m.dash {
			dash = append(dash, vg.Length(d*c.scale))
		}
		c.SetLineDash(dash, 0)
		// A few at a time, since the canvas takes time with the square of the lines that it draws together on a row.
		for some := range slices.Chunk(m.loops, 8) {
			c.Stroke(c.path(some, m.closed))
		}
	}
}

// fill fills a mark.
func (c *canvas) fill(m *mark) {
	shade := color.NRGBAModel.Convert(c.tones.of(m.fill)).(color.NRGBA)
	if m.alpha > 0 {
		shade.A = uint8(math.Round(255 * m.alpha))
	}
	c.SetColor(shade)
	if len(m.loops) == 1 && shade.A == 255 {
		scaled := make([]r2.Vec, len(m.loops[0]))
		for i, q := range m.loops[0] {
			scaled[i] = r2.Scale(c.scale, q)
		}
		if whole, ring, ok := core(scaled); ok {
			draw.Draw(c.Image(), whole, image.NewUniform(shade), image.Point{}, draw.Src)
			c.Fill(pathThrough(ring, true, c.pixel))
			return
		}
	}
	c.Fill(c.path(m.loops, m.closed))
}

// path makes one path of several loops. The canvas fills by winding number; since loops from a field run with
// what is inside to one hand, holes come out the same as by even-odd.
func (c *canvas) path(loops [][]r2.Vec, closed bool) vg.Path {
	return pathThrough(loops, closed, c.point)
}

func pathThrough(loops [][]r2.Vec, closed bool, at func(r2.Vec) vg.Point) vg.Path {
	var path vg.Path
	for _, l := range loops {
		for i, q := range l {
			if i == 0 {
				path.Move(at(q))
			} else {
				path.Line(at(q))
			}
		}
		if closed {
			path.Close()
		}
	}
	return path
}

// point takes a point of the picture, Y down, to the canvas, Y up.
func (c *canvas) point(p r2.Vec) vg.Point {
	return vg.Point{X: vg.Length(p.X * c.scale), Y: vg.Length(c.height - p.Y*c.scale)}
}

// pixel takes a point in pixels, Y down, to the canvas.
func (c *canvas) pixel(p r2.Vec) vg.Point {
	return vg.Point{X: vg.Length(p.X), Y: vg.Length(c.height - p.Y)}
}

func (c *canvas) text(m *mark) {
	f := font.Font{Typeface: "Liberation", Variant: "Sans"}
	if m.bold {
		f.Weight = textfont.WeightBold
	}
	face := c.fonts.Lookup(f, vg.Length(m.size*c.scale))
	at := r2.Scale(c.scale, m.at)
	switch m.anchor {
	case middleAt:
		at.X -= float64(face.Width(m.text)) / 2
	case endAt:
		at.X -= float64(face.Width(m.text))
	}
	w := textfont.Drawer{Dst: c.Image(), Face: face.FontFace(dotsPerInch)}
	defer w.Face.Close()
	say := func(at r2.Vec) {
		w.Dot = fixedpoint.Point26_6{X: fixedpoint.Int26_6(64 * at.X), Y: fixedpoint.Int26_6(64 * at.Y)}
		w.DrawString(m.text)
	}
	if m.halo != noTone {
		w.Src = image.NewUniform(c.tones.of(m.halo))
		rim := 0.11 * m.size * c.scale
		for k := range 12 {
			s, o := math.Sincos(2 * math.Pi * float64(k) / 12)
			say(r2.Add(at, vec(rim*o, rim*s)))
		}
	}
	w.Src = image.NewUniform(c.tones.of(m.fill))
	say(at)
}

// Package draw holds one kind of drawing, full size in millimetres, and writes it as PDF (tiled over the
// builder's paper, with bars to check the printer), as SVG and as DXF. It knows lines and paper, no wing.
//
// Millimetres, y up, whatever the writer makes of it; the origin is wherever the drawing says it is. No
// coordinate is ever summed up from others on the way to the file, so the error in a file is that of one
// rounding: 0.0001 mm in SVG and DXF, 0.002 mm in PDF.
package draw

import (
	"fmt"
	"math"
	"regexp"

	"gonum.org/v1/gonum/spatial/r2"
)

// Drawing is what is to be drawn, in mm of paper, y up: full size unless Scale says otherwise.
type Drawing struct {
	Title    string
	Origin   string    // what lies at (0, 0), in words: "leading edge, on the chord line"
	Scale    string    // empty for full size; "1 : 6" for a drawing whose figures count and not its lines
	Min, Max r2.Vec    // mm on paper, corners of the drawing's frame; see Fit
	Layers   []*Layer  // drawn in this order; see On
	Controls []Control // lengths to tape on the print before anybody cuts
	Plan     Note      // printed at the head of the first page: where this drawing stands among others
	Notes    []Note    // printed on the first page, after the advice on printing
}

// Control is a length between two marks of the drawing that the builder can tape on the print, across all
// joints: the proof that the sheets were printed and joined true.
type Control struct {
	Name string // "nose mark to tail mark"
	A, B r2.Vec // mm
}

// Length returns the distance of the two marks, mm.
func (c Control) Length() float64 { return r2.Norm(r2.Sub(c.B, c.A)) }

// Note is a heading with paragraphs under it.
type Note struct {
	Heading string
	Lines   []string
}

// Layer gathers what serves one purpose and is drawn with one pen.
type Layer struct {
	Name     string // in capitals and underscores: "BLOCK_EDGE". SVG and DXF carry it
	Pen      Pen
	Key      string // what its lines mean, for the key on the first page: "saw along this"; empty for no entry
	Elements []Element
}

// Pen says how a layer is drawn.
type Pen struct {
	Width float64   // mm
	Dash  []float64 // mm drawn, mm left out, and so on; nil is solid
	Ink   Ink
}

// Ink is a colour, red, green and blue from 0 to 255. The zero value is black.
type Ink struct{ R, G, B uint8 }

// Element is a [Line], [Path], [Circle], [Area] or [Text].
type Element interface {
	// bounds returns the corners of the box round the element, mm, without the width of the pen. A
	// coordinate that is not a number makes a corner that is none.
	bounds() (lo, hi r2.Vec)
}

// Line is a straight line from A to B, mm.
type Line struct{ A, B r2.Vec }

// Path is a line through points, mm; a closed one runs from the last point back to the first.
type Path struct {
	Points []r2.Vec
	Closed bool
}

// Circle is a full circle, mm.
type Circle struct {
	Centre r2.Vec
	R      float64
}

// Area is a polygon filled with the layer's ink, mm. DXF R12 has no filled polygon: there it is its edge.
type Area struct{ Points []r2.Vec }

// Anchor says which point of a text's base line is given.
type Anchor int

// The anchors, as every page format has them.
const (
	Start Anchor = iota
	Middle
	End
)

// Text is one line of lettering. Height is that of a capital, mm, as in lettering standards and DXF; the
// type's size is Height / capital. Angle turns it counter-clockwise about At, rad.
type Text struct {
	At     r2.Vec // mm, on the base line
	Height float64
	Anchor Anchor
	Angle  float64
	Words  string
}

// On returns the layer of a name and makes it, with the pen, if there is none yet.
func (d *Drawing) On(name string, pen Pen) *Layer {
	for _, l := range d.Layers {
		if l.Name == name {
			return l
		}
	}
	l := &Layer{Name: name, Pen: pen}
	d.Layers = append(d.Layers, l)
	return l
}

// Add puts elements on the layer.
func (l *Layer) Add(e ...Element) { l.Elements = append(l.Elements, e...) }

// Fit sets the drawing's frame so that it clears all that is drawn by margin mm.
func (d *Drawing) Fit(margin float64) {
	b := emptyBox()
	for _, l := range d.Layers {
		for _, e := range l.Elements {
			b = b.with(e.bounds())
		}
	}
	m := r2.Vec{X: margin, Y: margin}
	d.Min, d.Max = r2.Sub(b.lo, m), r2.Add(b.hi, m)
}

// unit says what a unit of the drawing is, for formats that can hold a remark.
func (d *Drawing) unit() string {
	if d.Scale != "" {
		return "Millimetres on paper, scale " + d.Scale
	}
	return "Millimetres, full size"
}

// size returns width and height of the frame, mm.
func (d *Drawing) size() r2.Vec { return r2.Sub(d.Max, d.Min) }

// layerNames holds names to what DXF R12 can carry: 31 characters (from memory), three of which are "_MM".
var layerNames = regexp.MustCompile(`^[A-Z][A-Z0-9_]{0,27}$`)

const largest = 20000.0 // mm: no drawing of a wing's end is larger

// check returns an error for a drawing that no writer may write: a coordinate that is not a number, a
// frame that holds nothing, a pen or a letter without size.
func (d *Drawing) check() error {
	s := d.size()
	if !(s.X > 0 && s.Y > 0 && s.X <= largest && s.Y <= largest) {
		return fmt.Errorf("drawing %q: a frame of %.1f by %.1f mm cannot be drawn", d.Title, s.X, s.Y)
	}
	names := map[string]bool{}
	for _, l := range d.Layers {
		if names[l.Name] || !layerNames.MatchString(l.Name) {
			return fmt.Errorf("drawing %q: %q cannot be a layer's name, or stands twice", d.Title, l.Name)
		}
		names[l.Name] = true
		if !(l.Pen.Width >= 0.01 && l.Pen.Width < 10) {
			return fmt.Errorf("drawing %q: layer %s has a pen of %g mm", d.Title, l.Name, l.Pen.Width)
		}
		for i, e := range l.Elements {
			if err := checkElement(e); err != nil {
				return fmt.Errorf("drawing %q: layer %s, element %d: %w", d.Title, l.Name, i+1, err)
			}
		}
	}
	for _, c := range d.Controls {
		if n := c.Length(); !(n > 0 && n < 2*largest) {
			return fmt.Errorf("drawing %q: control %q has no length", d.Title, c.Name)
		}
	}
	return nil
}

func checkElement(e Element) error {
	lo, hi := e.bounds()
	for _, v := range []float64{lo.X, lo.Y, hi.X, hi.Y} {
		if !(math.Abs(v) < 2*largest) {
			return fmt.Errorf("a coordinate of %g mm cannot be drawn", v)
		}
	}
	switch e := e.(type) {
	case Circle:
		if !(e.R > 0) {
			return fmt.Errorf("a circle of radius %g mm cannot be drawn", e.R)
		}
	case Text:
		if !(e.Height > 0) {
			return fmt.Errorf("a text %g mm high cannot be drawn", e.Height)
		}
	}
	return nil
}

// box is an upright rectangle, mm.
type box struct{ lo, hi r2.Vec }

func emptyBox() box {
	inf := math.Inf(1)
	return box{r2.Vec{X: inf, Y: inf}, r2.Vec{X: -inf, Y: -inf}}
}

// with returns the box grown to hold another one. What is not a number is handed on by min and max.
func (b box) with(lo, hi r2.Vec) box {
	return box{
		r2.Vec{X: min(b.lo.X, lo.X), Y: min(b.lo.Y, lo.Y)},
		r2.Vec{X: max(b.hi.X, hi.X), Y: max(b.hi.Y, hi.Y)},
	}
}

func (b box) meets(lo, hi r2.Vec) bool {
	return lo.X <= b.hi.X && hi.X >= b.lo.X && lo.Y <= b.hi.Y && hi.Y >= b.lo.Y
}

func boxOf(points ...r2.Vec) (lo, hi r2.Vec) {
	b := emptyBox()
	for _, p := range points {
		b = b.with(p, p)
	}
	return b.lo, b.hi
}

func (e Line) bounds() (lo, hi r2.Vec) { return boxOf(e.A, e.B) }
func (e Path) bounds() (lo, hi r2.Vec) { return boxOf(e.Points...) }
func (e Area) bounds() (lo, hi r2.Vec) { return boxOf(e.Points...) }
func (e Circle) bounds() (lo, hi r2.Vec) {
	r := r2.Vec{X: e.R, Y: e.R}
	return r2.Sub(e.Centre, r), r2.Add(e.Centre, r)
}

// bounds takes descenders into account.
func (e Text) bounds() (lo, hi r2.Vec) {
	w := Width(e.Words, e.Height)
	left := -w * float64(e.Anchor) / 2
	var corners []r2.Vec
	for _, c := range []r2.Vec{{X: left, Y: -0.3 * e.Height}, {X: left + w, Y: 1.05 * e.Height}} {
		corners = append(corners, c, r2.Vec{X: c.X, Y: 1.05*e.Height - 0.3*e.Height - c.Y})
	}
	for i, c := range corners {
		corners[i] = r2.Add(e.At, r2.Rotate(c, e.Angle, r2.Vec{}))
	}
	return boxOf(corners...)
}

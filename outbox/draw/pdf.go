package draw

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/gonum/spatial/r2"
)

// PDF writes the drawing as PDF: a first page that says how to print, check and join, then the drawing at
// full size over as many sheets as it takes. Sheets overlap; registration marks lie in the overlaps at the
// same place of the drawing on both sheets. Every sheet has bars of a stated length to check the printer,
// and all of it, bars included, is corrected by what the page says the bars measured. Readers are told to
// print without scaling.
//
// The same drawing and page give the same bytes. It returns an error for a drawing that cannot be drawn or
// paper that cannot be printed on, before anything is written, or that of w.
func PDF(w io.Writer, d *Drawing, p Page) error {
	if err := d.check(); err != nil {
		return err
	}
	l, err := p.layOut(d)
	if err != nil {
		return err
	}
	doc := newDocument(d.Title)
	for _, layers := range firstPages(d, p, l) {
		doc.addPage(l.forWords(p)).paint(layers)
	}
	for i, t := range l.tiles {
		c := doc.addPage(l)
		c.window(l, t, d.Layers)
		c.paint(furniture(d, l, i))
	}
	var b bytes.Buffer
	if err := doc.Output(&b); err != nil {
		return fmt.Errorf("drawing %q: %w", d.Title, err)
	}
	out, err := finished(b.Bytes())
	if err != nil {
		return fmt.Errorf("drawing %q: %w", d.Title, err)
	}
	_, err = w.Write(out)
	return err
}

type document struct{ *fpdf.Fpdf }

// newDocument begins a document that holds neither a clock's time nor anything drawn by lot. The date is a
// fixed one because the format's writer would otherwise put in the present.
func newDocument(title string) document {
	doc := document{fpdf.New("P", "mm", "A4", "")}
	fixed := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	doc.SetCreationDate(fixed)
	doc.SetModificationDate(fixed)
	doc.SetCatalogSort(true)
	doc.SetCompression(false) // see finished
	doc.SetProducer("tipwright", false)
	doc.SetTitle(title, true)
	doc.SetAutoPageBreak(false, 0)
	doc.SetMargins(0, 0, 0)
	doc.SetLineJoinStyle("round")
	return doc
}

// addPage adds a sheet and returns a canvas in true mm from its lower left corner.
func (doc document) addPage(l *layout) *canvas {
	size := fpdf.SizeType{Wd: l.paper.X * l.scale.X, Ht: l.paper.Y * l.scale.Y}
	doc.AddPageFormat("P", size)
	return &canvas{pdf: doc.Fpdf, scale: l.scale, height: size.Ht}
}

// canvas paints elements onto one sheet.
type canvas struct {
	pdf    *fpdf.Fpdf
	scale  r2.Vec // what true mm are multiplied by
	height float64
	shift  r2.Vec // sheet coordinates less those of what is painted, true mm
	path   []byte // room for the operators of one path
}

// at takes a point to the coordinates of the PDF library: mm from the upper left corner.
func (c *canvas) at(p r2.Vec) (x, y float64) {
	return (p.X + c.shift.X) * c.scale.X, c.height - (p.Y+c.shift.Y)*c.scale.Y
}

// window paints what the tile shows of the drawing.
func (c *canvas) window(l *layout, t tile, layers []*Layer) {
	x, y := c.at(r2.Vec{X: l.window.lo.X, Y: l.window.hi.Y})
	size := r2.Sub(l.window.hi, l.window.lo)
	c.pdf.ClipRect(x, y, size.X*c.scale.X, size.Y*c.scale.Y, false)
	c.shift = r2.Sub(l.window.lo, t.lo)
	view := box{t.lo, r2.Add(t.lo, size)}
	for i, layer := range layers {
		seen := *layer
		seen.Elements = nil
		for k, e := range layer.Elements {
			b := l.ink.boxes[i][k]
			m := r2.Vec{X: layer.Pen.Width, Y: layer.Pen.Width}
			if view.meets(r2.Sub(b.lo, m), r2.Add(b.hi, m)) {
				seen.Add(e)
			}
		}
		c.layer(&seen)
	}
	c.pdf.ClipEnd()
	c.shift = r2.Vec{}
}

func (c *canvas) paint(layers []*Layer) {
	for _, l := range layers {
		c.layer(l)
	}
}

func (c *canvas) layer(l *Layer) {
	if len(l.Elements) == 0 {
		return
	}
	ink := l.Pen.Ink
	c.pdf.SetLineWidth(l.Pen.Width)
	c.pdf.SetDashPattern(l.Pen.Dash, 0)
	c.pdf.SetDrawColor(int(ink.R), int(ink.G), int(ink.B))
	c.pdf.SetFillColor(int(ink.R), int(ink.G), int(ink.B))
	c.pdf.SetTextColor(int(ink.R), int(ink.G), int(ink.B))
	for _, e := range l.Elements {
		c.element(e)
	}
}

func (c *canvas) element(e Element) {
	switch e := e.(type) {
	case Line:
		c.trace([]r2.Vec{e.A, e.B}, "S")
	case Path:
		if e.Closed {
			c.trace(e.Points, "h\nS")
		} else {
			c.trace(e.Points, "S")
		}
	case Area:
		c.trace(e.Points, "f")
	case Circle:
		c.circle(e)
	case Text:
		c.text(e)
	}
}

// trace writes the operators of a path through points, and those that end it (ISO 32000-1, tables 59 and 60).
// Long lines are most of a file: it writes what the library's own calls would, several times faster.
func (c *canvas) trace(points []r2.Vec, end string) {
	const pointsPerMM = 72 / 25.4
	out := c.path[:0]
	for i, p := range points {
		x, y := c.at(p)
		out = append(strconv.AppendFloat(out, x*pointsPerMM, 'f', 2, 64), ' ')
		out = strconv.AppendFloat(out, (c.height-y)*pointsPerMM, 'f', 2, 64)
		if i == 0 {
			out = append(out, " m\n"...)
		} else {
			out = append(out, " l\n"...)
		}
	}
	c.path = append(out, end...)
	c.pdf.RawWriteBuf(bytes.NewReader(c.path))
}

// circle draws four cubics, which leave the circle by less than 0.0003 of its radius (the usual handles,
// 4/3 (sqrt 2 - 1)).
func (c *canvas) circle(e Circle) {
	const handle = 0.5522847498
	r := e.R
	on := func(dx, dy float64) (x, y float64) { return c.at(r2.Add(e.Centre, r2.Vec{X: dx * r, Y: dy * r})) }
	x, y := on(1, 0)
	c.pdf.MoveTo(x, y)
	ax, ay := 1.0, 0.0
	for range 4 {
		bx, by := -ay, ax
		x1, y1 := on(ax+handle*bx, ay+handle*by)
		x2, y2 := on(bx+handle*ax, by+handle*ay)
		x3, y3 := on(bx, by)
		c.pdf.CurveBezierCubicTo(x1, y1, x2, y2, x3, y3)
		ax, ay = bx, by
	}
	c.pdf.DrawPath("D")
}

func (c *canvas) text(e Text) {
	const pointsPerMM = 72 / 25.4
	words := windows1252(e.Words)
	c.pdf.SetFont("Helvetica", "", e.Height/capital*pointsPerMM)
	x, y := c.at(e.At)
	left := x - c.pdf.GetStringWidth(words)*float64(e.Anchor)/2
	if e.Angle == 0 {
		c.pdf.Text(left, y, words)
		return
	}
	c.pdf.TransformBegin()
	c.pdf.TransformRotate(degrees(e.Angle), x, y)
	c.pdf.Text(left, y, words)
	c.pdf.TransformEnd()
}

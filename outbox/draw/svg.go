package draw

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

// SVG writes the drawing as SVG 1.1. Width and height are in mm and the view box has the same numbers, so
// one user unit is one millimetre (some old readers take 90 or 72 units for an inch all the same: a check
// line of 100 mm stands below the drawing). Coordinates have four decimals, and no transform stands between
// them and the paper except for turned lettering.
//
// It returns an error for a drawing that cannot be drawn, before anything is written, or that of w.
func SVG(w io.Writer, d *Drawing) error {
	if err := d.check(); err != nil {
		return err
	}
	s := svg{d: withCheckLine(d)}
	s.head()
	for _, l := range s.d.Layers {
		s.layer(l)
	}
	s.b.WriteString("</svg>\n")
	_, err := w.Write(s.b.Bytes())
	return err
}

const checkLength = 100.0 // mm

// withCheckLine returns the drawing with a check line below it, for formats that have no printed bars.
func withCheckLine(d *Drawing) *Drawing {
	out := *d
	out.Min.Y -= 12
	out.Max.X = max(d.Max.X, d.Min.X+checkLength+10)
	check := &Layer{Name: "CHECK", Pen: Pen{Width: 0.18}}
	a := r2.Vec{X: d.Min.X + 5, Y: d.Min.Y - 9}
	b := r2.Vec{X: a.X + checkLength, Y: a.Y}
	tick := r2.Vec{Y: 2}
	check.Add(
		Line{a, b}, Line{r2.Sub(a, tick), r2.Add(a, tick)}, Line{r2.Sub(b, tick), r2.Add(b, tick)},
		Text{At: r2.Add(a, r2.Vec{X: 2, Y: 1.5}), Height: 2.5, Words: d.unitInWords()},
	)
	out.Layers = append(append([]*Layer(nil), d.Layers...), check)
	return &out
}

// unitInWords stands on the check line.
func (d *Drawing) unitInWords() string {
	if d.Scale != "" {
		return "This line is 100 mm. Millimetres, scale " + d.Scale + ": do not cut from it."
	}
	return "This line is 100 mm. All dimensions are in millimetres."
}

// svg is a drawing on its way into the file.
type svg struct {
	d *Drawing
	b bytes.Buffer
}

func (s *svg) printf(format string, args ...any) { fmt.Fprintf(&s.b, format, args...) }

func (s *svg) head() {
	size := s.d.size()
	w, h := decimals(size.X), decimals(size.Y)
	s.printf("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n")
	s.printf("<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" width=\"%smm\" height=\"%smm\" viewBox=\"0 0 %s %s\">\n", w, h, w, h)
	s.printf("<title>%s</title>\n", escaped(s.d.Title))
	o := s.place(r2.Vec{})
	s.printf("<desc>%s. The origin of the drawing (%s) lies at %s, %s.</desc>\n", escaped(s.d.unit()), escaped(s.d.Origin), decimals(o.X), decimals(o.Y))
}

// place takes a point to the page of SVG, whose y runs down from the upper left corner.
func (s *svg) place(p r2.Vec) r2.Vec { return r2.Vec{X: p.X - s.d.Min.X, Y: s.d.Max.Y - p.Y} }

func (s *svg) layer(l *Layer) {
	ink := fmt.Sprintf("#%02x%02x%02x", l.Pen.Ink.R, l.Pen.Ink.G, l.Pen.Ink.B)
	dash := ""
	if len(l.Pen.Dash) > 0 {
		var parts []string
		for _, v := range l.Pen.Dash {
			parts = append(parts, decimals(v))
		}
		dash = fmt.Sprintf(" stroke-dasharray=\"%s\"", strings.Join(parts, " "))
	}
	name := strings.ReplaceAll(strings.ToLower(l.Name), "_", "-")
	s.printf("<g id=\"%s\" fill=\"none\" stroke=\"%s\" stroke-width=\"%s\" stroke-linejoin=\"round\"%s>\n",
		escaped(name), ink, decimals(l.Pen.Width), dash)
	for _, e := range l.Elements {
		s.element(e, ink)
	}
	s.b.WriteString("</g>\n")
}

func (s *svg) element(e Element, ink string) {
	switch e := e.(type) {
	case Line:
		a, b := s.place(e.A), s.place(e.B)
		s.printf("<line x1=\"%s\" y1=\"%s\" x2=\"%s\" y2=\"%s\"/>\n", decimals(a.X), decimals(a.Y), decimals(b.X), decimals(b.Y))
	case Path:
		shape := "polyline"
		if e.Closed {
			shape = "polygon"
		}
		s.printf("<%s points=\"%s\"/>\n", shape, s.points(e.Points))
	case Area:
		s.printf("<polygon fill=\"%s\" stroke=\"none\" points=\"%s\"/>\n", ink, s.points(e.Points))
	case Circle:
		c := s.place(e.Centre)
		s.printf("<circle cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", decimals(c.X), decimals(c.Y), decimals(e.R))
	case Text:
		s.text(e, ink)
	}
}

func (s *svg) points(p []r2.Vec) string {
	out := make([]byte, 0, 20*len(p))
	for i, q := range p {
		if i > 0 {
			out = append(out, ' ')
		}
		q = s.place(q)
		out = append(appendDecimals(out, q.X), ',')
		out = appendDecimals(out, q.Y)
	}
	return string(out)
}

func (s *svg) text(e Text, ink string) {
	at := s.place(e.At)
	x, y := decimals(at.X), decimals(at.Y)
	turn := ""
	if e.Angle != 0 {
		turn = fmt.Sprintf(" transform=\"rotate(%s %s %s)\"", decimals(-degrees(e.Angle)), x, y)
	}
	s.printf("<text x=\"%s\" y=\"%s\" fill=\"%s\" stroke=\"none\" font-family=\"Helvetica, Arial, sans-serif\" font-size=\"%s\" text-anchor=\"%s\"%s>%s</text>\n",
		x, y, ink, decimals(e.Height/capital), [...]string{"start", "middle", "end"}[e.Anchor], turn, escaped(e.Words))
}

// decimals writes a number with four decimals and never as "-0.0000".
func decimals(v float64) string { return string(appendDecimals(nil, v)) }

func appendDecimals(to []byte, v float64) []byte {
	n := len(to)
	to = strconv.AppendFloat(to, v, 'f', 4, 64)
	if string(to[n:]) == "-0.0000" {
		return append(to[:n], "0.0000"...)
	}
	return to
}

// escaped makes a legible text fit for XML.
func escaped(s string) string {
	var b bytes.Buffer
	_ = xml.EscapeText(&b, []byte(Legible(s))) // a Buffer takes everything
	return b.String()
}

package draw

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

// DXF writes the drawing as ASCII DXF, release 12 (AC1009), which every program that reads DXF knows: lines
// as POLYLINE with VERTEX and SEQEND, never LWPOLYLINE. Release 12 has no unit, no filled polygon and no
// pen width: layers are called after their purpose with _MM at the end, a text and a line of 100 mm say the
// unit, an [Area] is its edge. Coordinates are those of the drawing, its origin is theirs.
//
// It returns an error for a drawing that cannot be drawn, before anything is written, or that of w.
func DXF(w io.Writer, d *Drawing) error {
	if err := d.check(); err != nil {
		return err
	}
	f := dxf{d: withCheckLine(d)}
	f.header()
	f.tables()
	f.pair(0, "SECTION")
	f.pair(2, "BLOCKS")
	f.pair(0, "ENDSEC")
	f.pair(0, "SECTION")
	f.pair(2, "ENTITIES")
	for _, l := range f.d.Layers {
		for _, e := range l.Elements {
			f.element(e, layerName(l.Name))
		}
	}
	f.pair(0, "ENDSEC")
	f.pair(0, "EOF")
	_, err := w.Write(f.b.Bytes())
	return err
}

// dxf is a drawing on its way into the file: pairs of group code and value.
type dxf struct {
	d *Drawing
	b bytes.Buffer
}

// code writes a group code, three characters wide.
func (f *dxf) code(code int) {
	for wide := 100; wide > max(code, 1); wide /= 10 {
		f.b.WriteByte(' ')
	}
	f.b.Write(strconv.AppendInt(f.b.AvailableBuffer(), int64(code), 10))
	f.b.WriteString("\r\n")
}

func (f *dxf) pair(code int, value string) {
	f.code(code)
	f.b.WriteString(value)
	f.b.WriteString("\r\n")
}

func (f *dxf) number(code int, v float64) {
	f.code(code)
	f.b.Write(appendDecimals(f.b.AvailableBuffer(), v))
	f.b.WriteString("\r\n")
}

func (f *dxf) count(code, n int) { f.pair(code, fmt.Sprintf("%6d", n)) }
func (f *dxf) point(code int, x, y, z float64) {
	f.number(code, x)
	f.number(code+10, y)
	f.number(code+20, z)
}
func (f *dxf) variable(name string, emit func()) { f.pair(9, name); emit() }

func (f *dxf) header() {
	d := f.d
	f.pair(999, asDXF(d.Title))
	f.pair(999, asDXF(d.unit()+". Origin: "+d.Origin))
	f.pair(0, "SECTION")
	f.pair(2, "HEADER")
	f.variable("$ACADVER", func() { f.pair(1, "AC1009") })
	f.variable("$INSBASE", func() { f.point(10, 0, 0, 0) })
	f.variable("$EXTMIN", func() { f.point(10, d.Min.X, d.Min.Y, 0) })
	f.variable("$EXTMAX", func() { f.point(10, d.Max.X, d.Max.Y, 0) })
	f.variable("$LIMMIN", func() { f.number(10, d.Min.X); f.number(20, d.Min.Y) })
	f.variable("$LIMMAX", func() { f.number(10, d.Max.X); f.number(20, d.Max.Y) })
	f.variable("$LTSCALE", func() { f.number(40, 1) })
	f.variable("$LUNITS", func() { f.count(70, 2) }) // decimal
	f.variable("$LUPREC", func() { f.count(70, 3) })
	f.pair(0, "ENDSEC")
}

func (f *dxf) tables() {
	f.pair(0, "SECTION")
	f.pair(2, "TABLES")
	f.lineTypes()
	f.table("LAYER", len(f.d.Layers)+1)
	f.layer("0", 7, "CONTINUOUS")
	for _, l := range f.d.Layers {
		f.layer(layerName(l.Name), colourIndex(l.Pen.Ink), lineType(l))
	}
	f.pair(0, "ENDTAB")
	f.table("STYLE", 1)
	f.pair(0, "STYLE")
	f.pair(2, "STANDARD")
	f.count(70, 0)
	f.number(40, 0)
	f.number(41, 1)
	f.number(50, 0)
	f.count(71, 0)
	f.number(42, 2.5)
	f.pair(3, "txt")
	f.pair(4, "")
	f.pair(0, "ENDTAB")
	f.pair(0, "ENDSEC")
}

func (f *dxf) table(name string, n int) {
	f.pair(0, "TABLE")
	f.pair(2, name)
	f.count(70, n)
}

// lineTypes writes the solid line and one dashed line for each layer that has one.
func (f *dxf) lineTypes() {
	var dashed []*Layer
	for _, l := range f.d.Layers {
		if len(l.Pen.Dash) > 0 {
			dashed = append(dashed, l)
		}
	}
	f.table("LTYPE", len(dashed)+1)
	f.lineType("CONTINUOUS", "Solid line", nil)
	for _, l := range dashed {
		f.lineType(lineType(l), "Dashed, mm", l.Pen.Dash)
	}
	f.pair(0, "ENDTAB")
}

func (f *dxf) lineType(name, what string, dash []float64) {
	f.pair(0, "LTYPE")
	f.pair(2, name)
	f.count(70, 0)
	f.pair(3, what)
	f.count(72, 65)
	f.count(73, len(dash))
	sum := 0.0
	for _, v := range dash {
		sum += v
	}
	f.number(40, sum)
	for i, v := range dash {
		f.number(49, v*float64(1-2*(i%2))) // what is left out is negative
	}
}

func (f *dxf) layer(name string, colour int, kind string) {
	f.pair(0, "LAYER")
	f.pair(2, name)
	f.count(70, 0)
	f.count(62, colour)
	f.pair(6, kind)
}

func (f *dxf) entity(kind, layer string) {
	f.pair(0, kind)
	f.pair(8, layer)
}

func (f *dxf) element(e Element, layer string) {
	switch e := e.(type) {
	case Line:
		f.entity("LINE", layer)
		f.point(10, e.A.X, e.A.Y, 0)
		f.point(11, e.B.X, e.B.Y, 0)
	case Path:
		f.polyline(e.Points, e.Closed, layer)
	case Area:
		f.polyline(e.Points, true, layer)
	case Circle:
		f.entity("CIRCLE", layer)
		f.point(10, e.Centre.X, e.Centre.Y, 0)
		f.number(40, e.R)
	case Text:
		f.text(e, layer)
	}
}

func (f *dxf) polyline(p []r2.Vec, closed bool, layer string) {
	f.entity("POLYLINE", layer)
	f.count(66, 1)
	f.point(10, 0, 0, 0)
	flag := 0
	if closed {
		flag = 1
	}
	f.count(70, flag)
	for _, q := range forMachines(p, closed) {
		f.entity("VERTEX", layer)
		f.point(10, q.X, q.Y, 0)
	}
	f.entity("SEQEND", layer)
}

// leastStep is the shortest step that is asked of a cutter, mm: within the drawing's tolerance, and long
// enough that no controller takes it for a stop or a doubled point (common practice, no source).
const leastStep = 0.005

// forMachines leaves out points that follow the one before too closely; an open line keeps both its ends.
func forMachines(p []r2.Vec, closed bool) []r2.Vec {
	if len(p) < 4 {
		return p
	}
	near := func(a, b r2.Vec) bool { return r2.Norm(r2.Sub(a, b)) < leastStep }
	out := []r2.Vec{p[0]}
	for _, q := range p[1:] {
		if !near(q, out[len(out)-1]) {
			out = append(out, q)
		}
	}
	last := len(out) - 1
	switch {
	case closed && last > 1 && near(out[last], out[0]):
		out = out[:last]
	case !closed && last > 0:
		out[last] = p[len(p)-1]
	}
	return out
}

func (f *dxf) text(e Text, layer string) {
	f.entity("TEXT", layer)
	f.point(10, e.At.X, e.At.Y, 0)
	f.number(40, e.Height)
	f.pair(1, asDXF(e.Words))
	f.number(50, degrees(e.Angle))
	f.pair(7, "STANDARD")
	if e.Anchor != Start {
		f.count(72, int(e.Anchor))
		f.point(11, e.At.X, e.At.Y, 0)
	}
}

func degrees(rad float64) float64 { return rad * 180 / math.Pi }

// asDXF makes a text fit for a value: one line of ASCII, at most 255 characters (the limit of release 12,
// from memory), without the pairs of per cent signs and the carets that begin a control code.
func asDXF(words string) string {
	s := strings.ReplaceAll(ASCII(words), "^", "^ ")
	for strings.Contains(s, "%%") {
		s = strings.ReplaceAll(s, "%%", "% %")
	}
	return s[:min(len(s), 255)]
}

// layerName adds the unit that release 12 cannot state; check has seen to the rest of the name.
func layerName(name string) string { return name + "_MM" }

func lineType(l *Layer) string {
	if len(l.Pen.Dash) == 0 {
		return "CONTINUOUS"
	}
	return layerName(l.Name)
}

// colourIndex returns the nearest of the colours that have a number in every DXF reader: red, yellow,
// green, cyan, blue, magenta, black (or white, on a black screen) and grey.
func colourIndex(ink Ink) int {
	table := []Ink{{255, 0, 0}, {255, 255, 0}, {0, 255, 0}, {0, 255, 255}, {0, 0, 255}, {255, 0, 255}, {0, 0, 0}, {128, 128, 128}}
	best, least := 7, math.Inf(1)
	for i, c := range table {
		dr, dg, db := float64(ink.R)-float64(c.R), float64(ink.G)-float64(c.G), float64(ink.B)-float64(c.B)
		if d := float64(dr*dr) + float64(dg*dg) + float64(db*db); d < least {
			best, least = i+1, d
		}
	}
	return best
}

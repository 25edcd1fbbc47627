package scan

import (
	"encoding/xml"
	"errors"
	"io"
)

// threeMFUse is one use of an object, by the build or as a component of another.
type threeMFUse struct {
	part  string // where the object stands, empty for the same part
	id    string
	where affine
}

// threeMFObject is a mesh, or a group of components.
type threeMFObject struct {
	kind       string // "model" and others; "support" and "other" are no part of the body
	points     [][3]float64
	triangles  [][3]uint32
	components []threeMFUse
}

// threeMFPart is what one model part of a 3MF file says.
type threeMFPart struct {
	unit    string
	objects map[string]*threeMFObject
	items   []threeMFUse
}

// threeMFReader reads a model part element by element.
type threeMFReader struct {
	in      *input
	xml     *xml.Decoder
	part    *threeMFPart
	object  *threeMFObject // the one that is open, nil between
	points  int64
	faces   int64
	started bool
	ended   bool
}

func readThreeMFPart(in *input, r io.Reader) (*threeMFPart, error) {
	t := &threeMFReader{in: in, xml: xml.NewDecoder(r), part: &threeMFPart{objects: map[string]*threeMFObject{}}}
	for {
		token, err := t.xml.RawToken()
		if err == io.EOF && t.ended {
			return t.part, nil
		}
		if err == io.EOF {
			return nil, t.wrong("its model does not come to an end")
		}
		if err != nil {
			return nil, t.broken(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			err = t.element(e)
		case xml.EndElement:
			err = t.end(e.Name.Local)
		}
		if err != nil {
			return nil, err
		}
	}
}

func (t *threeMFReader) broken(err error) error {
	var f *FormatError
	if errors.As(err, &f) {
		return f
	}
	f = t.wrong("its XML cannot be read")
	f.Err = err
	return f
}

// wrong makes the error for the place that was read last.
func (t *threeMFReader) wrong(format string, args ...any) *FormatError {
	line, _ := t.xml.InputPos()
	return t.in.onLine(line, exportAgain, format, args...)
}

func (t *threeMFReader) element(e xml.StartElement) error {
	name := e.Name.Local
	if !t.started {
		if t.started = true; name != "model" {
			return t.wrong("its model begins with the element %s", shown([]byte(name)))
		}
		t.part.unit = attribute(e, "unit")
		return nil
	}
	switch {
	case name == "object" && t.object != nil:
		return t.wrong("an object begins within another")
	case name == "object":
		t.object = &threeMFObject{kind: attribute(e, "type")}
		t.part.objects[attribute(e, "id")] = t.object
	case name == "item":
		return t.use(e, &t.part.items)
	case t.object == nil:
	case name == "component":
		return t.use(e, &t.object.components)
	case name == "vertex":
		return t.vertex(e)
	case name == "triangle":
		return t.triangle(e)
	}
	return nil
}

// end checks the corners of a mesh once all its points are there.
func (t *threeMFReader) end(name string) error {
	t.ended = t.ended || name == "model" && t.object == nil
	if name != "object" || t.object == nil {
		return nil
	}
	n := uint32(len(t.object.points))
	for _, c := range t.object.triangles {
		if most := max(c[0], c[1], c[2]); most >= n {
			return t.wrong("a triangle uses point %d of an object with %d points", most, n)
		}
	}
	t.object = nil
	return nil
}

func (t *threeMFReader) use(e xml.StartElement, uses *[]threeMFUse) error {
	where, err := transform3MF(attribute(e, "transform"))
	if err != nil {
		return t.wrong("%v", err)
	}
	*uses = append(*uses, threeMFUse{part: attribute(e, "path"), id: attribute(e, "objectid"), where: where})
	return nil
}

func (t *threeMFReader) vertex(e xml.StartElement) error {
	var p [3]float64
	for i, axis := range []string{"x", "y", "z"} {
		v, ok := number([]byte(attribute(e, axis)), '.')
		if !ok {
			return t.wrong("a point has no number %s, but %s", axis, shown([]byte(attribute(e, axis))))
		}
		p[i] = v
	}
	t.object.points = append(t.object.points, p)
	t.points++
	return t.in.checkCounts(t.points, 0)
}

func (t *threeMFReader) triangle(e xml.StartElement) error {
	var c [3]uint32
	for i, name := range []string{"v1", "v2", "v3"} {
		n, ok := wholeNumber([]byte(attribute(e, name)))
		if !ok || n < 0 || n >= int64(t.in.lim.MaxPoints) {
			return t.wrong("a triangle's %s is no number of a point, but %s", name, shown([]byte(attribute(e, name))))
		}
		c[i] = uint32(n)
	}
	t.object.triangles = append(t.object.triangles, c)
	t.faces++
	return t.in.checkCounts(0, t.faces)
}

package scan

import (
	"archive/zip"
	"encoding/xml"
	"fmt"
	"io"
	"strings"
)

// The parts that a 3MF file must have (3MF Consortium, Core Specification 1.3, section 2).
const (
	threeMFRoot      = "3D/3dmodel.model"
	threeMFRelations = "_rels/.rels"
	threeMFStart     = "http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"
)

func (a *archive) is3MF() bool {
	return a.find(threeMFRoot) != nil || a.find("[Content_Types].xml") != nil && a.rootModel() != nil
}

// rootModel finds the part with which a 3MF file begins; nil if there is none.
func (a *archive) rootModel() *zip.File {
	if f := a.find(threeMFRelations); f != nil {
		if r, _, err := a.open(f); err == nil {
			defer r.Close()
			if target := startTarget(r); target != "" {
				return a.find(strings.TrimPrefix(target, "/"))
			}
		}
	}
	return a.find(threeMFRoot)
}

// startTarget returns where the relations say that the model begins; empty if they do not.
func startTarget(r io.Reader) string {
	d := xml.NewDecoder(io.LimitReader(r, 1<<20))
	for {
		token, err := d.RawToken()
		if err != nil {
			return ""
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "Relationship" && attribute(e, "Type") == threeMFStart {
			return attribute(e, "Target")
		}
	}
}

// threeMFUnit returns the unit of a word of the specification, and how many there are in one of the word's:
// the micron is not among ours.
func threeMFUnit(word string) (Unit, float64, bool) {
	switch word {
	case "", "millimeter":
		return Millimetre, 1, true
	case "micron":
		return Millimetre, 0.001, true
	case "centimeter":
		return Centimetre, 1, true
	case "inch":
		return Inch, 1, true
	case "foot":
		return Foot, 1, true
	case "meter":
		return Metre, 1, true
	}
	return UnitUnknown, 0, false
}

// threeMFKey names an object: the part that it stands in, and its number there.
type threeMFKey struct{ part, id string }

// threeMF puts the objects together as the file's build places them.
type threeMF struct {
	archive *archive
	build   *build
	parts   map[string]*threeMFPart
	scale   float64
	placed  int
}

// maxPlaced bounds how many objects a build may place, components of components included: without points they
// would count against no other limit.
const maxPlaced = 100_000

func (a *archive) read3MF() (*Scan, error) {
	root := a.rootModel()
	if root == nil {
		return nil, a.in.refuse(exportAgain, "the 3MF file has no model in it")
	}
	m := &threeMF{archive: a, build: &build{in: a.in, faced: true}, parts: map[string]*threeMFPart{}}
	part, err := m.part(root.Name)
	if err != nil {
		return nil, err
	}
	unit, scale, ok := threeMFUnit(part.unit)
	if !ok {
		return nil, a.in.refuse(exportAgain, "its unit %s is not one that 3MF knows", shown([]byte(part.unit)))
	}
	m.scale = scale
	if len(part.items) == 0 {
		return nil, a.in.refuse(exportAgain, "the 3MF file places no object")
	}
	for _, item := range part.items {
		if err := m.place(root.Name, item, identity(), nil); err != nil {
			return nil, err
		}
	}
	s, err := m.build.scan("3mf")
	if err != nil {
		return nil, err
	}
	s.Unit = unit
	return s, nil
}

// part brings in a model part, once.
func (m *threeMF) part(name string) (*threeMFPart, error) {
	name = strings.TrimPrefix(name, "/")
	f := m.archive.find(name)
	if f == nil {
		return nil, m.archive.in.refuse(exportAgain, "it has no part %s", shown([]byte(name)))
	}
	if p, ok := m.parts[f.Name]; ok {
		return p, nil
	}
	r, _, err := m.archive.open(f)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	p, err := readThreeMFPart(m.archive.in, r)
	if err != nil {
		return nil, m.archive.within(f.Name, err)
	}
	m.parts[f.Name] = p
	return p, nil
}

// place appends an object, or all its components, as it stands; above holds the objects that it is part of.
func (m *threeMF) place(part string, use threeMFUse, where affine, above []threeMFKey) error {
	if use.part != "" {
		part = use.part
	}
	p, err := m.part(part)
	if err != nil {
		return err
	}
	key := threeMFKey{strings.ToLower(strings.TrimPrefix(part, "/")), use.id}
	object := p.objects[use.id]
	if object == nil {
		return m.archive.in.refuse(exportAgain, "it has no object %s", shown([]byte(use.id)))
	}
	for _, k := range above {
		if k == key {
			return m.archive.in.refuse(exportAgain, "its object %s is a part of itself", shown([]byte(use.id)))
		}
	}
	if m.placed++; m.placed > maxPlaced {
		return m.archive.in.refuse(exportAgain, "it places more than %d objects", maxPlaced)
	}
	where = where.times(use.where)
	for _, c := range object.components {
		if err := m.place(part, c, where, append(above, key)); err != nil {
			return err
		}
	}
	return m.append(object, where)
}

// append adds a mesh as it stands. A mirrored one is turned round, so that it still faces outward. What only
// supports a print or is only shown is passed over.
func (m *threeMF) append(o *threeMFObject, where affine) error {
	if o.kind == "support" || o.kind == "other" {
		return nil
	}
	base := uint32(len(m.build.wide))
	if err := m.archive.in.checkCounts(int64(base)+int64(len(o.points)), int64(len(m.build.triangles)+len(o.triangles))); err != nil {
		return err
	}
	for _, p := range o.points {
		p = where.apply(p)
		m.build.wide = append(m.build.wide, [3]float64{p[0] * m.scale, p[1] * m.scale, p[2] * m.scale})
	}
	mirrored := where.mirrors()
	for _, t := range o.triangles {
		t = [3]uint32{t[0] + base, t[1] + base, t[2] + base}
		if mirrored {
			t[1], t[2] = t[2], t[1]
		}
		m.build.triangles = append(m.build.triangles, t)
	}
	return nil
}

// attribute returns the value of an attribute, whatever its name's prefix; empty if there is none.
func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// transform3MF reads the twelve numbers of a transform: the rows of a matrix by which a point, as a row, is
// multiplied, so that the last three move it (Core Specification 1.3, section 3.3).
func transform3MF(text string) (affine, error) {
	if text == "" {
		return identity(), nil
	}
	words := strings.Fields(text)
	var a affine
	for i, w := range words {
		v, ok := number([]byte(w), '.')
		if !ok || len(words) != 12 {
			return a, fmt.Errorf("a transform of twelve numbers is needed, not %s", shown([]byte(text)))
		}
		a[i%3][i/3] = v
	}
	if len(words) != 12 {
		return a, fmt.Errorf("a transform of twelve numbers is needed, not %s", shown([]byte(text)))
	}
	return a, nil
}

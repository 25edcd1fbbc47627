package scan

import "math"

// plyRows reads the rows of the elements one after another.
type plyRows interface {
	// row reads the next row: the values of the properties into values, by the property's number, and the
	// list property with number pick into the returned list, which lives until the next call.
	row(e *plyElement, values []float64, pick int) (list []float64, err error)
	// at makes an error for the place of the row that was read last.
	at(mend, format string, args ...any) *FormatError
	// spare refuses an element that promises more rows than can be in what is left of the file.
	spare(e *plyElement) error
	// finish tells what is left over after the last row.
	finish(b *build)
}

// readPLY reads a cloud or mesh in any of the three PLY formats. Elements and properties other than
// positions and faces are passed over.
func readPLY(in *input) (*Scan, error) {
	h, err := readPLYHeader(in)
	if err != nil {
		return nil, err
	}
	vertices := h.element("vertex")
	if vertices == nil {
		return nil, in.onLine(h.lines, exportAgain, "the PLY header names no element vertex, so there are no points")
	}
	if err := checkPLYCounts(in, h); err != nil {
		return nil, err
	}
	p := &plyReader{build: &build{in: in}, points: vertices.count}
	p.rows = newPLYRows(in, h)
	for i := range h.elements {
		if err := p.element(&h.elements[i]); err != nil {
			return nil, err
		}
	}
	p.rows.finish(p.build)
	return p.build.scan("ply")
}

func checkPLYCounts(in *input, h *plyHeader) error {
	for _, e := range h.elements {
		var err error
		switch e.name {
		case "vertex":
			err = in.checkCounts(e.count, 0)
		case "face":
			err = in.checkCounts(0, e.count)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func newPLYRows(in *input, h *plyHeader) plyRows {
	if h.format == "ascii" {
		l := newLines(in.data[h.length:])
		l.no = h.lines
		return &plyText{in: in, lines: l}
	}
	return newPLYBinary(in, h)
}

type plyReader struct {
	build  *build
	rows   plyRows
	points int64 // as the header promises
	values []float64
}

// element reads all rows of one element.
func (p *plyReader) element(e *plyElement) error {
	if len(e.properties) == 0 || e.count == 0 {
		return nil
	}
	if err := p.rows.spare(e); err != nil {
		return err
	}
	p.values = make([]float64, len(e.properties))
	switch e.name {
	case "vertex":
		return p.vertices(e)
	case "face":
		return p.faces(e)
	case "tristrips":
		return p.strips(e)
	}
	for range e.count {
		if _, err := p.rows.row(e, p.values, -1); err != nil {
			return err
		}
	}
	return nil
}

// vertices reads the points: in single precision if the file is binary and has them so.
func (p *plyReader) vertices(e *plyElement) error {
	var at [3]int
	narrow := true
	for i, name := range [...]string{"x", "y", "z"} {
		if at[i] = e.find(name); at[i] < 0 || e.properties[at[i]].list {
			return p.build.in.refuse(exportAgain, "its points have no property %s", name)
		}
		narrow = narrow && e.properties[at[i]].kind == plyFloat
	}
	if _, text := p.rows.(*plyText); text {
		narrow = false // decimals may say more than the header promises
	}
	if narrow {
		p.build.narrow = make([][3]float32, 0, e.count)
	} else {
		p.build.wide = make([][3]float64, 0, e.count)
	}
	for range e.count {
		if _, err := p.rows.row(e, p.values, -1); err != nil {
			return err
		}
		x, y, z := p.values[at[0]], p.values[at[1]], p.values[at[2]]
		if narrow {
			p.build.narrow = append(p.build.narrow, [3]float32{float32(x), float32(y), float32(z)})
		} else {
			p.build.wide = append(p.build.wide, [3]float64{x, y, z})
		}
	}
	return nil
}

// faces reads polygons and fans each out from its first corner.
func (p *plyReader) faces(e *plyElement) error {
	pick := e.find("vertex_indices", "vertex_index")
	if pick < 0 || !e.properties[pick].list {
		return p.build.in.refuse(exportAgain, "its faces have no list vertex_indices")
	}
	p.build.faced = true
	p.build.triangles = make([][3]uint32, 0, e.count)
	for range e.count {
		list, err := p.rows.row(e, p.values, pick)
		if err != nil {
			return err
		}
		if err := p.fan(list); err != nil {
			return err
		}
	}
	return nil
}

func (p *plyReader) fan(list []float64) error {
	for _, v := range list {
		if err := p.checkIndex(v); err != nil {
			return err
		}
	}
	for i := 2; i < len(list); i++ {
		p.build.triangles = append(p.build.triangles, [3]uint32{uint32(list[0]), uint32(list[i-1]), uint32(list[i])})
	}
	return p.build.in.checkCounts(0, int64(len(p.build.triangles)))
}

func (p *plyReader) checkIndex(v float64) error {
	if v >= 0 && v < float64(p.points) && v == math.Trunc(v) {
		return nil
	}
	return p.rows.at(exportAgain, "a face uses point %v, but the points are numbered 0 to %d", v, p.points-1)
}

// strips reads triangle strips: each point makes a triangle with the two before it, every second one turned
// round; -1 begins a new strip.
func (p *plyReader) strips(e *plyElement) error {
	pick := e.find("vertex_indices", "vertex_index")
	if pick < 0 || !e.properties[pick].list {
		return p.build.in.refuse(exportAgain, "its triangle strips have no list vertex_indices")
	}
	p.build.faced = true
	for range e.count {
		list, err := p.rows.row(e, p.values, pick)
		if err != nil {
			return err
		}
		if err := p.strip(list); err != nil {
			return err
		}
	}
	return nil
}

func (p *plyReader) strip(list []float64) error {
	begin := 0
	for i, v := range list {
		if v == -1 {
			begin = i + 1
			continue
		}
		if err := p.checkIndex(v); err != nil {
			return err
		}
		if i < begin+2 {
			continue
		}
		a, b := uint32(list[i-2]), uint32(list[i-1])
		if (i-begin)%2 == 1 {
			a, b = b, a
		}
		p.build.triangles = append(p.build.triangles, [3]uint32{a, b, uint32(v)})
	}
	return p.build.in.checkCounts(0, int64(len(p.build.triangles)))
}

// looksPLY tells a PLY by its first line, "ply".
func looksPLY(in *input) bool {
	d := in.data
	return len(d) >= 4 && string(d[:3]) == "ply" && (d[3] == '\n' || d[3] == '\r' || isBlank(d[3]))
}

package scan

import (
	"math"
	"slices"
	"strings"
)

// plyRows reads the rows of the elements one after another.
type plyRows interface {
	// row reads the next row: the wanted values into their slots, and the wanted list into the returned one,
	// which lives until the next call.
	row(e *plyElement, values *[3]float64) (list []float64, err error)
	// at makes an error for the place of the row that was read last.
	at(mend, format string, args ...any) *FormatError
	// spare refuses an element that promises more rows than can be in what is left of the file.
	spare(e *plyElement) error
	// finish tells what is left over after the last row, or refuses it.
	finish(b *build) error
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
	if h.strange > 0 {
		p.build.messages = append(p.build.messages, Notef("header-line", "Line %d of the PLY header is no statement of PLY and was passed over.", h.strange))
	}
	if p.rows, err = newPLYRows(in, h); err != nil {
		return nil, err
	}
	for i := range h.elements {
		if err := p.element(&h.elements[i]); err != nil {
			return nil, err
		}
	}
	if err := p.rows.finish(p.build); err != nil {
		return nil, err
	}
	p.polys.unfold(p.build)
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

func newPLYRows(in *input, h *plyHeader) (plyRows, error) {
	if h.format == "ascii" {
		return newPLYText(in, h)
	}
	return newPLYBinary(in, h), nil
}

type plyReader struct {
	build  *build
	rows   plyRows
	polys  polygons
	points int64 // as the header promises
	values [3]float64
}

// element reads all rows of one element.
func (p *plyReader) element(e *plyElement) error {
	if len(e.properties) == 0 || e.count == 0 {
		return nil
	}
	if err := p.rows.spare(e); err != nil {
		return err
	}
	switch e.name {
	case "vertex":
		return p.vertices(e)
	case "face":
		return p.lists(e, p.fan)
	case "tristrips":
		return p.lists(e, p.strip)
	}
	e.want()
	for range e.count {
		if _, err := p.rows.row(e, &p.values); err != nil {
			return err
		}
	}
	return nil
}

// vertices reads the points: in single precision if the file is binary and has them so.
func (p *plyReader) vertices(e *plyElement) error {
	at, err := p.axes(e)
	if err != nil {
		return err
	}
	e.want(at[:]...)
	_, text := p.rows.(*plyText) // its decimals may say more than the header promises
	if text || slices.ContainsFunc(at[:], func(i int) bool { return e.properties[i].kind != plyFloat }) {
		p.build.wide, err = plyPoints[float64](p, e)
	} else {
		p.build.narrow, err = plyPoints[float32](p, e)
	}
	return err
}

// axes finds the properties x, y and z.
func (p *plyReader) axes(e *plyElement) (at [3]int, err error) {
	for i, name := range []string{"x", "y", "z"} {
		if at[i] = e.find(name, strings.ToUpper(name)); at[i] < 0 || e.properties[at[i]].list {
			return at, p.build.in.refuse(exportAgain, "its points have no property %s", name)
		}
	}
	return at, nil
}

func plyPoints[T float32 | float64](p *plyReader, e *plyElement) (points [][3]T, err error) {
	points, p.build.plain = roomFor[[3]T](int(e.count)), false
	if b, binary := p.rows.(*plyBinary); binary {
		if r, fixed := e.fixed(); fixed {
			p.build.plain, err = plyBlocks(b, e, r, points)
			return points, err
		}
	}
	for i := range points {
		if _, err := p.rows.row(e, &p.values); err != nil {
			return nil, err
		}
		points[i] = [3]T{T(p.values[0]), T(p.values[1]), T(p.values[2])}
	}
	return points, nil
}

// lists reads the point numbers of every face or strip and makes triangles of them.
func (p *plyReader) lists(e *plyElement, triangles func(list []float64) error) error {
	pick := e.corners()
	if pick < 0 || !e.properties[pick].list {
		return p.build.in.refuse(exportAgain, "its element %s has no list vertex_indices", e.name)
	}
	e.want(pick)
	p.build.faced = true
	if p.build.triangles == nil {
		p.build.triangles = roomFor[[3]uint32](int(e.count))[:0]
	}
	for left := e.count; left > 0; left-- {
		if e.name == "face" {
			if left -= p.plainFaces(e, left); left == 0 {
				break
			}
		}
		list, err := p.rows.row(e, &p.values)
		if err != nil {
			return err
		}
		if err := triangles(list); err != nil {
			return err
		}
	}
	return p.build.in.checkCounts(0, int64(len(p.build.triangles)))
}

// fan makes triangles of a polygon, all from its first corner.
func (p *plyReader) fan(list []float64) error {
	for _, v := range list {
		if err := p.checkIndex(v); err != nil {
			return err
		}
	}
	p.polys.add(len(p.build.triangles), len(list))
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

// strip makes triangles of a strip: each point makes one with the two before it, every second one turned
// round; -1 begins a new strip.
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

// looksPLY tells a PLY by its first line.
func looksPLY(in *input) bool {
	line, _ := newLines(in.data[:min(len(in.data), 64)]).next()
	return isPLYMagic(line)
}

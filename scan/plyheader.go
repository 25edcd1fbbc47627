package scan

import (
	"bytes"
	"cmp"
	"slices"
)

// plyType is one of the eight scalar types of PLY (Turk, "The PLY polygon file format", 1994).
type plyType uint8

const (
	plyInt8 plyType = iota
	plyUint8
	plyInt16
	plyUint16
	plyInt32
	plyUint32
	plyFloat
	plyDouble
)

// size returns how many bytes a value of the type takes in a binary file.
func (t plyType) size() int { return [...]int{1, 1, 2, 2, 4, 4, 4, 8}[t] }

// plyTypes gives both spellings of each type: the one of the first description, and the one with its width.
var plyTypes = map[string]plyType{
	"char": plyInt8, "uchar": plyUint8, "short": plyInt16, "ushort": plyUint16, "int": plyInt32, "uint": plyUint32,
	"float": plyFloat, "double": plyDouble,
	"int8": plyInt8, "uint8": plyUint8, "int16": plyInt16, "uint16": plyUint16, "int32": plyInt32, "uint32": plyUint32,
	"float32": plyFloat, "float64": plyDouble,
}

type plyProperty struct {
	name    string
	kind    plyType
	list    bool
	counted plyType // type of a list's length
	slot    int     // where its value goes among those that a reader wants, -1 for nowhere; a list that is wanted has 0
}

type plyElement struct {
	name       string
	count      int64
	properties []plyProperty
}

// find returns the index of the first property with one of the names, -1 if there is none.
func (e *plyElement) find(names ...string) int {
	return slices.IndexFunc(e.properties, func(p plyProperty) bool { return slices.Contains(names, p.name) })
}

// corners returns the index of the list of point numbers: by its usual names, or as the only list of whole
// numbers; -1 if there is none.
func (e *plyElement) corners() int {
	if i := e.find("vertex_indices", "vertex_index", "vertex_indexes"); i >= 0 {
		return i
	}
	only := -1
	for i, p := range e.properties {
		if !p.list || p.kind >= plyFloat {
			continue
		}
		if only >= 0 {
			return -1
		}
		only = i
	}
	return only
}

// want has the properties with these numbers read, the first into slot 0 and so on, and all others passed over.
func (e *plyElement) want(numbers ...int) {
	for i := range e.properties {
		e.properties[i].slot = slices.Index(numbers, i)
	}
}

// leastBytes returns how many bytes a binary row takes when all its lists are empty.
func (e *plyElement) leastBytes() int64 {
	var n int64
	for _, p := range e.properties {
		if p.list {
			n += int64(p.counted.size())
		} else {
			n += int64(p.kind.size())
		}
	}
	return n
}

type plyHeader struct {
	format   string // "ascii", "binary_little_endian" or "binary_big_endian"
	elements []plyElement
	lines    int // how many lines the header has
	length   int // how many bytes, so that the body begins there
	strange  int // first line that is no statement of PLY and was passed over, 0 for none
}

// element returns the one of that name, nil if there is none.
func (h *plyHeader) element(name string) *plyElement {
	for i := range h.elements {
		if h.elements[i].name == name {
			return &h.elements[i]
		}
	}
	return nil
}

// maxPLYHeader bounds the search for the header's end.
const maxPLYHeader = 1 << 20

// isPLYMagic tells the first line of a PLY; some writers put a blank after it.
func isPLYMagic(line []byte) bool { return string(bytes.TrimRight(line, " \t")) == "ply" }

// readPLYHeader reads from the first line, "ply", to "end_header".
func readPLYHeader(in *input) (*plyHeader, error) {
	l := newLines(in.data[:min(len(in.data), maxPLYHeader)])
	if first, _ := l.next(); !isPLYMagic(first) {
		return nil, in.onLine(1, exportInstead, "it begins with %s, not with ply, so it is no PLY file", shown(first))
	}
	h := &plyHeader{}
	for {
		line, ok := l.next()
		if !ok {
			if len(in.data) > maxPLYHeader {
				return nil, in.onLine(l.no, exportAgain, "the PLY header does not come to an end")
			}
			return nil, in.onLine(l.no, stillCopying, "the file ends within the PLY header, at byte %d", len(in.data))
		}
		key, rest := word(line)
		if string(key) == "end_header" {
			break
		}
		if mend, err := h.statement(string(key), bytes.Fields(rest)); err == unknownStatement && h.format == "ascii" {
			h.strange = cmp.Or(h.strange, l.no)
		} else if err != "" {
			return nil, in.onLine(l.no, mend, "%s, in %s", err, shown(line))
		}
	}
	h.lines, h.length = l.no, l.consumed(in.data)
	if in.data[3] == '\r' && in.data[4] != '\n' && in.data[h.length-1] == '\n' {
		h.length-- // the lines end in CR, so that the LF belongs to the body
	}
	if h.format == "" {
		return nil, in.onLine(h.lines, exportAgain, "the PLY header has no format line")
	}
	return h, nil
}

// consumed returns how many bytes of the data the lines so far took.
func (l *lines) consumed(data []byte) int { return min(len(data), maxPLYHeader) - len(l.rest) }

// unknownStatement is passed over in a text, where rows with more or fewer values than the properties show that
// it was a property. Nothing would show this in a binary file.
const unknownStatement = "unknown statement in the PLY header"

// statement takes one header line in; what is wrong with it, if anything, and what to do come back.
func (h *plyHeader) statement(key string, args [][]byte) (mend, wrong string) {
	switch key {
	case "comment", "obj_info", "":
	case "format":
		if len(args) == 0 || !slices.Contains([]string{"ascii", "binary_little_endian", "binary_big_endian"}, string(args[0])) {
			return exportAgain, "unknown PLY format"
		}
		h.format = string(args[0])
	case "element":
		return h.addElement(args)
	case "property":
		return h.addProperty(args)
	default:
		return exportAgain, unknownStatement
	}
	return "", ""
}

func (h *plyHeader) addElement(args [][]byte) (mend, wrong string) {
	if len(args) != 2 {
		return exportAgain, "an element needs a name and a count"
	}
	n, ok := wholeNumber(args[1])
	if !ok || n < 0 {
		return exportAgain, "the element's count makes no sense"
	}
	name := string(args[0])
	if h.element(name) != nil {
		return exportAgain, "the element is there twice"
	}
	h.elements = append(h.elements, plyElement{name: name, count: n})
	return "", ""
}

func (h *plyHeader) addProperty(args [][]byte) (mend, wrong string) {
	if len(h.elements) == 0 {
		return exportAgain, "a property before the first element"
	}
	p, ok := parsePLYProperty(args)
	if !ok {
		return exportAgain, "not a property that PLY knows"
	}
	e := &h.elements[len(h.elements)-1]
	if e.find(p.name) >= 0 {
		return exportAgain, "the property is there twice"
	}
	e.properties = append(e.properties, p)
	return "", ""
}

// parsePLYProperty reads "float x" or "list uchar int vertex_indices".
func parsePLYProperty(args [][]byte) (p plyProperty, ok bool) {
	switch {
	case len(args) == 2:
		p.kind, ok = plyTypes[string(args[0])]
		p.name = string(args[1])
		return p, ok
	case len(args) == 4 && string(args[0]) == "list":
		p.list = true
		p.counted, ok = plyTypes[string(args[1])]
		ok = ok && p.counted < plyFloat
		var known bool
		p.kind, known = plyTypes[string(args[2])]
		p.name = string(args[3])
		return p, ok && known
	}
	return p, false
}

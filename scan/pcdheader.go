package scan

import (
	"bytes"
	"slices"
	"strings"
)

// pcdHeader is what the lines before the points of a PCD file say.
type pcdHeader struct {
	fields  []pcdField
	columns int   // values to a line in the ASCII form
	row     int   // bytes to a point in the binary forms
	points  int64 // -1 until it is known
	width   int64
	height  int64
	data    string // "ascii", "binary" or "binary_compressed"
	lines   int    // how many lines the header has
	length  int    // how many bytes
}

// field returns the first field of a name in either case, nil if there is none.
func (h *pcdHeader) field(name string) *pcdField {
	i := slices.IndexFunc(h.fields, func(f pcdField) bool { return strings.EqualFold(f.name, name) && f.count > 0 })
	if i < 0 {
		return nil
	}
	return &h.fields[i]
}

// maxPCDHeader bounds the search for the header's end, maxPCDRow the bytes and values of a point.
const (
	maxPCDHeader = 1 << 16
	maxPCDRow    = 1 << 16
)

// readPCDHeader reads up to the line DATA, which says in which form the points follow.
func readPCDHeader(in *input) (*pcdHeader, error) {
	head := in.data[:min(len(in.data), maxPCDHeader)]
	l := newLines(head)
	h := &pcdHeader{points: -1, width: -1, height: 1}
	for h.data == "" {
		line, ok := l.next()
		if !ok && len(in.data) > len(head) {
			return nil, in.onLine(l.no, exportAgain, "the PCD header does not come to an end")
		}
		if !ok {
			return nil, in.onLine(l.no, stillCopying, "the file ends within the PCD header, at byte %d", len(in.data))
		}
		if isComment(line) {
			continue
		}
		key, rest := word(line)
		if wrong := h.statement(string(key), bytes.Fields(rest)); wrong != "" {
			return nil, in.onLine(l.no, l.mend(), "%s, in %s", wrong, shown(line))
		}
	}
	h.lines, h.length = l.no, len(head)-len(l.rest)
	if wrong := h.settle(); wrong != "" {
		return nil, in.onLine(h.lines, exportAgain, "%s", wrong)
	}
	return h, in.checkCounts(h.points, 0)
}

// statement takes one header line in and returns what is wrong with it.
func (h *pcdHeader) statement(key string, args [][]byte) (wrong string) {
	switch key {
	case "VERSION", "VIEWPOINT":
	case "FIELDS", "COLUMNS": // the latter up to version 0.5
		for _, a := range args {
			h.fields = append(h.fields, pcdField{name: string(a), size: 4, kind: 'F', count: 1})
		}
	case "SIZE", "TYPE", "COUNT":
		return h.describe(key, args)
	case "WIDTH":
		return wholeArgument(args, &h.width)
	case "HEIGHT":
		return wholeArgument(args, &h.height)
	case "POINTS":
		return wholeArgument(args, &h.points)
	case "DATA":
		if len(args) != 1 || !slices.Contains([]string{"ascii", "binary", "binary_compressed"}, string(args[0])) {
			return "unknown form of the points"
		}
		h.data = string(args[0])
	default:
		return "unknown statement in the PCD header"
	}
	return ""
}

// describe takes in the sizes, types or counts of all fields.
func (h *pcdHeader) describe(key string, args [][]byte) (wrong string) {
	if len(args) != len(h.fields) {
		return "it should have one value for each of the fields"
	}
	for i, a := range args {
		f := &h.fields[i]
		n, whole := wholeNumber(a)
		switch {
		case key == "TYPE" && len(a) == 1 && bytes.IndexByte([]byte("IUF"), a[0]) >= 0:
			f.kind = a[0]
		case key == "SIZE" && whole && (n == 1 || n == 2 || n == 4 || n == 8):
			f.size = int(n)
		case key == "COUNT" && whole && n >= 0 && n <= maxPCDRow:
			f.count = int(n)
		default:
			return "a value makes no sense"
		}
	}
	return ""
}

// wholeArgument reads the one number of a statement.
func wholeArgument(args [][]byte, to *int64) (wrong string) {
	if len(args) != 1 {
		return "it should have one number"
	}
	n, ok := wholeNumber(args[0])
	if !ok || n < 0 || n > 1<<40 {
		return "the number makes no sense"
	}
	*to = n
	return ""
}

// settle works out places and the number of points, and returns what is wrong with the header as a whole.
func (h *pcdHeader) settle() (wrong string) {
	for i := range h.fields {
		f := &h.fields[i]
		if f.kind == 'F' && f.size < 4 {
			return "the PCD header has floating-point values of " + string(rune('0'+f.size)) + " bytes"
		}
		f.column, f.offset = h.columns, h.row
		h.columns += f.count
		h.row += f.count * f.size
		if h.row > maxPCDRow {
			return "the PCD header describes points of more bytes than makes sense"
		}
	}
	switch {
	case len(h.fields) == 0:
		return "the PCD header names no fields"
	case h.points < 0 && h.width < 0:
		return "the PCD header does not say how many points there are"
	case h.height > 0 && h.width > (1<<40)/h.height:
		return "the PCD header promises more points than makes sense"
	case h.points < 0:
		h.points = h.width * h.height
	case h.width >= 0 && h.points != h.width*h.height:
		return "the PCD header contradicts itself: POINTS is not WIDTH times HEIGHT"
	}
	return ""
}

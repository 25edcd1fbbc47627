package scan

import (
	"bytes"
	"slices"
	"strings"
)

// blanks is the separator of a layout whose columns are divided by any number of blanks and tabs.
const blanks = ' '

// layout says how the columns of a text of points are laid out.
type layout struct {
	separator byte   // blanks, ',', ';' or '\t'
	at        [3]int // columns of x, y and z, from 0
	heading   int    // how many lines come before the first point
	count     int64  // the number of points that the first line promises, -1 for none
	mark      byte   // decimal mark, 0 until one was met; always '.' between commas
	unit      Unit   // that the columns' names give, if they do
	messages  []Message
}

// promised returns the promised count as far as the file can hold it: six bytes a point, the least.
func (l *layout) promised(in *input) int64 {
	return min(l.count, int64(len(in.data)/6), int64(in.lim.MaxPoints))
}

// value reads a cell. Once a decimal mark was met, the other one is not accepted any more: "1,234" among
// "12.5" would mean thousands.
func (l *layout) value(c []byte) (float64, bool) {
	if len(c) == 0 && l.separator != blanks {
		return slowNumber([]byte("nan"), '.')
	}
	mark := l.mark
	if mark == 0 {
		mark = '.'
		if bytes.IndexByte(c, ',') >= 0 {
			mark = ','
		}
		if bytes.IndexByte(c, mark) >= 0 {
			l.mark = mark
		}
	}
	return number(c, mark)
}

// cell splits the first cell off a line, without blanks and quotation marks around it.
func cell(line []byte, separator byte) (c, rest []byte, ok bool) {
	if separator == blanks {
		c, rest = word(line)
		return c, rest, len(c) > 0
	}
	if line == nil {
		return nil, nil, false
	}
	if i := bytes.IndexByte(line, separator); i >= 0 {
		c, rest = line[:i], line[i+1:]
	} else {
		c = line
	}
	for len(c) > 0 && (isBlank(c[0]) || c[0] == '"') {
		c = c[1:]
	}
	for len(c) > 0 && (isBlank(c[len(c)-1]) || c[len(c)-1] == '"') {
		c = c[:len(c)-1]
	}
	return c, rest, true
}

// mostColumns is more than any point has. A line with more has lost its line ends, or is no line of points.
const mostColumns = 1000

// cells splits a whole line, as far as mostColumns. A separator at its end makes no cell.
func cells(line []byte, separator byte) [][]byte {
	var all [][]byte
	for len(all) < mostColumns {
		c, rest, ok := cell(line, separator)
		if !ok {
			break
		}
		all = append(all, c)
		line = rest
	}
	if n := len(all); n > 1 && n < mostColumns && len(all[n-1]) == 0 {
		all = all[:n-1]
	}
	return all
}

// isComment tells empty lines and remarks.
func isComment(line []byte) bool {
	for i, c := range line {
		if isBlank(c) {
			continue
		}
		return c == '#' || c == ';' || c == '/' && i+1 < len(line) && line[i+1] == '/'
	}
	return true
}

// looksXYZ tells a text of points: after remarks and at most a heading of two lines, a line with three numbers.
func looksXYZ(in *input) bool {
	if !isText(in.data) {
		return false
	}
	h := readHeading(in)
	return h.first != nil && len(h.others) <= maxOthers
}

// maxOthers is how many lines of other kind may come before the points: a count and the columns' names.
// Grids of heights and the like have more, and their numbers are no points.
const maxOthers = 2

// heading is what comes before the first line of points.
type heading struct {
	remarks [][]byte // remarks, without their sign
	others  [][]byte // lines that are neither remarks nor points
	first   []byte   // the first line of points, nil if there is none
	no      int      // its number
}

// maxHeading bounds the search for the first point, in lines.
const maxHeading = 1000

func readHeading(in *input) heading {
	var h heading
	l := newLines(in.data)
	for l.no < maxHeading {
		line, ok := l.next()
		if !ok {
			break
		}
		switch {
		case isComment(line):
			h.remarks = append(h.remarks, bytes.TrimLeft(line, "#;/ \t"))
		case separatorOf(line) != 0:
			h.first, h.no = line, l.no
			return h
		default:
			h.others = append(h.others, line)
		}
	}
	return h
}

// separatorOf finds what divides three numbers or more at the head of a line; 0 if there are no three.
func separatorOf(line []byte) byte {
	for _, separator := range []byte{';', '\t', ',', blanks} {
		if separator != blanks && bytes.Count(line, []byte{separator}) < 2 {
			continue
		}
		if separator == ',' && commasInside(line) {
			continue
		}
		if numbersIn(cells(line, separator)) >= 3 {
			return separator
		}
	}
	return 0
}

// commasInside tells a line of words between blanks with a comma within each of the first three: "1,5 2,5 3,5".
func commasInside(line []byte) bool {
	for range 3 {
		var w []byte
		w, line = word(line)
		if i := bytes.IndexByte(w, ','); i <= 0 || i == len(w)-1 || bytes.Count(w, []byte{','}) > 1 {
			return false
		}
	}
	return true
}

// numbersIn counts the cells that are numbers or empty, with either decimal mark.
func numbersIn(all [][]byte) int {
	n := 0
	for _, c := range all {
		_, point := number(c, '.')
		_, comma := number(c, ',')
		if point || comma || len(c) == 0 {
			n++
		}
	}
	return n
}

// findLayout works the layout out from the heading and the first lines of points.
func findLayout(in *input) (layout, error) {
	h := readHeading(in)
	if h.first == nil {
		return layout{}, in.refuse(exportAgain, "no line with the three numbers x, y and z is found")
	}
	if len(h.others) > maxOthers {
		return layout{}, in.onLine(h.no, "Export it with at most one line of column names, or put # before every other",
			"%d lines that are neither points nor remarks come before the first point", len(h.others))
	}
	l := layout{separator: separatorOf(h.first), at: [3]int{0, 1, 2}, heading: h.no - 1, count: -1}
	if l.separator == ',' {
		l.mark = '.'
		if bytes.Contains(h.first, []byte(", ")) && commaWords(h.first) {
			return l, in.onLine(h.no, "Export it with decimal points", "decimal commas and commas between the values cannot be told apart in %s", shown(h.first))
		}
	}
	columns := len(cells(h.first, l.separator))
	if columns == mostColumns {
		return l, in.onLine(h.no, "Export it with one point on each line", "the line has %d values or more, so its points are not parted by line ends", columns)
	}
	named, err := l.readNames(in, h, columns)
	if err != nil {
		return l, err
	}
	if !named && columns >= 4 && l.numbered(in) {
		l.at = [3]int{1, 2, 3}
		l.messages = append(l.messages, Notef("numbered-points", "The first column only numbers the points, so columns 2 to 4 were taken as x, y and z."))
	}
	return l, nil
}

// commaWords tells a line like "1,5, 2,5, 3,5".
func commaWords(line []byte) bool {
	all := bytes.Fields(line)
	return len(all) >= 3 && !slices.ContainsFunc(all, func(w []byte) bool {
		return bytes.IndexByte(bytes.TrimRight(w, ","), ',') < 0
	})
}

// readNames takes the count and the names of the columns from the heading, and tells whether there are names.
func (l *layout) readNames(in *input, h heading, columns int) (named bool, err error) {
	for _, line := range h.others {
		names := cells(line, l.separator)
		at, unit, ok := axes(names)
		switch n, whole := wholeNumber(bytes.TrimSpace(line)); {
		case whole && n >= 0:
			l.count = n
		case ok && len(names) < columns && l.separator == ',':
			return false, in.onLine(h.no, "Export it with decimal points", "the line has %d values, but the heading names %d columns: are these decimal commas?", columns, len(names))
		case ok:
			l.at, l.unit, named = at, unit, true
		default:
			l.messages = append(l.messages, Notef("heading-passed-over", "The heading %s names no columns x, y and z, so the first three were taken.", shown(line)))
		}
	}
	for _, remark := range h.remarks {
		if named {
			break
		}
		names := cells(remark, l.separator)
		if at, unit, ok := axes(names); ok && len(names) == columns {
			l.at, l.unit, named = at, unit, true
		}
	}
	return named, nil
}

// axes finds the columns named x, y and z, in either case, and the unit that all three have after their names,
// if they have: "X [m]", "x (m)", "x_m".
func axes(names [][]byte) (at [3]int, unit Unit, ok bool) {
	var units [3]Unit
	for i, axis := range []string{"x", "y", "z"} {
		at[i] = slices.IndexFunc(names, func(c []byte) bool {
			name, u, ok := axisName(string(c))
			if ok && name == axis {
				units[i] = u
			}
			return ok && name == axis
		})
		if at[i] < 0 {
			return at, UnitUnknown, false
		}
	}
	if units[0] != units[1] || units[1] != units[2] {
		return at, UnitUnknown, true
	}
	return at, units[0], true
}

// axisName splits "X [m]" into "x" and the unit. What is in brackets may be anything; after an underscore only
// a unit is: "x_normal" is no axis.
func axisName(column string) (name string, unit Unit, ok bool) {
	column = strings.ToLower(strings.TrimSpace(column))
	i := strings.IndexAny(column, "[(_")
	if i < 0 {
		return column, UnitUnknown, true
	}
	unit, err := ParseUnit(strings.Trim(column[i+1:], " ])"))
	return strings.TrimSpace(column[:i]), unit, err == nil || column[i] != '_'
}

// numbered tells whether the first column counts the lines: no coordinate goes up by one at every point.
func (l *layout) numbered(in *input) bool {
	lines, want, seen := newLines(in.data), int64(0), 0
	for seen < 50 {
		line, ok := lines.next()
		if !ok {
			break
		}
		if lines.no <= l.heading || isComment(line) {
			continue
		}
		c, _, _ := cell(line, l.separator)
		n, whole := wholeNumber(c)
		if !whole || seen > 0 && n != want {
			return false
		}
		want, seen = n+1, seen+1
	}
	return seen >= 10
}

package airfoil

import (
	"bytes"
	"fmt"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"tipwright/scan"
)

const (
	mendText   = "Save it as plain text with two columns, x and z, one point a line"
	mendPoint  = "Write each point as two numbers, x and z, on a line of its own"
	mostNumber = 1e7 // no chord in any unit is this long
)

// table is the text of a coordinate file taken apart.
type table struct {
	title      string
	counts     [2]int // of the two blocks, where the file states them
	countsLine int
	points     []sample
	paired     bool  // each line had a point of either surface
	titled     bool  // by a line of words
	groups     []int // where points begin anew after a line of words
	remark     int   // first line after the points that begins with a number and was taken for a remark, 0 for none
}

// row is one line of numbers, or one heading.
type row struct {
	line   int
	text   string
	values []float64
	words  bool // text follows the numbers
}

// parseTable reads a file's text. It settles which lines are the title, the counts and the points.
func parseTable(data []byte, name string) (*table, error) {
	if err := plainText(data, name); err != nil {
		return nil, err
	}
	t := &table{title: strings.TrimSuffix(name, path.Ext(name))}
	var rows []row
	var remark error // a line after the points that reads like a remark
	var begins []int // rows that come after a line of words
	for i, line := range textLines(data) {
		if t.titled && len(rows) == 0 && isCount(line) {
			continue
		}
		r, err := parseRow(line, i+1, len(rows) == 0 && !t.titled, name)
		switch {
		case err != nil && isRemark(line):
			if len(rows) > 0 && remark == nil {
				remark, t.remark = err, i+1
			}
		case err != nil:
			return nil, err
		case r == nil:
		case len(r.values) > 0 && remark != nil:
			return nil, remark // it stands between points, so it may have been one
		case len(r.values) > 0:
			rows = append(rows, *r)
		case len(rows) == 0 && !t.titled:
			t.title, t.titled = clip(r.text), true
		case len(rows) > 0:
			begins = append(begins, len(rows))
		}
		if len(rows) > mostRead {
			return nil, &scan.FormatError{File: name, Line: i + 1, Msg: "more than 20,000 points", Mend: "Thin the points out to a few hundred"}
		}
	}
	t.settle(rows)
	for _, i := range slices.Compact(begins) {
		if at := i - (len(rows) - len(t.points)); !t.paired && at > 0 && at < len(t.points) {
			t.groups = append(t.groups, at)
		}
	}
	return t, nil
}

// textLines returns the lines of a file, whatever ends them, in valid UTF-8 without a byte-order mark.
func textLines(data []byte) []string {
	text := strings.ToValidUTF8(string(bytes.TrimPrefix(data, []byte("\ufeff"))), "?")
	return strings.Split(strings.NewReplacer("\r\n", "\n", "\r", "\n", "−", "-").Replace(text), "\n")
}

// plainText refuses what is not plain text of a bounded size.
func plainText(data []byte, name string) error {
	e := &scan.FormatError{File: name, Mend: mendText}
	switch {
	case len(data) > mostSize:
		e.Msg = "larger than 1 MiB, which no coordinate file is"
	case bytes.HasPrefix(data, []byte("\xff\xfe")) || bytes.HasPrefix(data, []byte("\xfe\xff")):
		e.Msg = "written in UTF-16"
		e.Mend = "Save it again as plain text, encoding UTF-8"
	case bytes.IndexByte(data, 0) >= 0:
		e.Msg = "not a text file"
		e.Offset = int64(bytes.IndexByte(data, 0))
	default:
		return nil
	}
	return e
}

// parseRow reads one line; nil for an empty one and for one that says nothing of the section. At the head of a
// file a text that begins with a number may be its title.
func parseRow(text string, line int, head bool, name string) (*row, error) {
	fields := split(uncomment(text))
	if len(fields) == 0 {
		return nil, nil
	}
	r := &row{line: line, text: printable(text)}
	r.values, r.words = numbers(fields)
	bad := func(format string) (*row, error) {
		return nil, &scan.FormatError{File: name, Line: line, Msg: fmt.Sprintf(format, strconv.Quote(clip(r.text))), Mend: mendPoint}
	}
	switch n := len(r.values); {
	case n < 2 && slices.ContainsFunc(fields[:min(2, len(fields))], notFinite):
		return bad("%s holds a value that is not a number")
	case n == 0 && isColumnHead(fields):
		return nil, nil
	case n == 0 && !likeNumber(fields[0]):
		return r, nil
	case head && (n < 2 || n == 2 && r.words && !onChord(r)):
		r.values = nil
		return r, nil
	case n < 2:
		return bad("%s is not a point")
	case math.Abs(r.values[0]) > mostNumber || math.Abs(r.values[1]) > mostNumber:
		return bad("%s lies beyond any chord")
	}
	return r, nil
}

// isCount reports whether a line holds nothing but a count, "61" or "61.".
func isCount(line string) bool {
	n, err := strconv.Atoi(strings.TrimSuffix(strings.TrimSpace(line), "."))
	return err == nil && n >= fewest
}

// isRemark reports whether a line that is no point was meant to be read by people: it holds a word, or a mark that
// no number has, as "9% thick" and "28/12/2005" do.
func isRemark(line string) bool {
	if slices.ContainsFunc(split(line), notFinite) {
		return false
	}
	letters := 0
	for _, c := range line {
		if letters++; !unicode.IsLetter(c) {
			letters = 0
		}
		if letters == 3 || strings.ContainsRune("/=>:_%", c) {
			return true
		}
	}
	return false
}

// numbers returns the numbers that a line begins with, and whether other text follows them.
func numbers(fields []string) (values []float64, words bool) {
	for _, field := range fields {
		v, err := number(field)
		if err != nil {
			return values, true
		}
		values = append(values, v)
	}
	return values, false
}

// isColumnHead reports whether a line only names its columns, as in "x/c, y/c".
func isColumnHead(fields []string) bool {
	return !slices.ContainsFunc(fields, func(s string) bool {
		return !slices.Contains([]string{"x", "y", "z", "x/c", "y/c", "z/c"}, strings.ToLower(s))
	})
}

// printable returns a line without what cannot be printed.
func printable(s string) string {
	return strings.TrimSpace(strings.Map(func(c rune) rune {
		if unicode.IsPrint(c) {
			return c
		}
		return ' '
	}, s))
}

// uncomment cuts a comment off a line.
func uncomment(s string) string {
	for _, mark := range []string{"#", "!", "%", "//"} {
		s, _, _ = strings.Cut(s, mark)
	}
	return s
}

// split parts a line into its fields, at spaces, tabs, semicolons and commas. A comma is a decimal point where
// the fields would else be too many: "1,0000 0,0013".
func split(s string) []string {
	parted := strings.FieldsFunc(s, func(c rune) bool { return unicode.IsSpace(c) || strings.ContainsRune(";|()[]{}\"", c) })
	decimal := len(parted) >= 2
	for _, field := range parted {
		before, after, ok := strings.Cut(field, ",")
		decimal = decimal && ok && before != "" && after != "" && !strings.Contains(field, ".") && !strings.Contains(after, ",")
	}
	var out []string
	for _, field := range parted {
		if decimal {
			out = append(out, strings.Replace(field, ",", ".", 1))
			continue
		}
		for _, part := range strings.Split(field, ",") {
			if part != "" {
				out = append(out, part)
			}
		}
	}
	return out
}

// number reads a decimal number; a Fortran exponent (1.0D-03) is one too.
func number(s string) (float64, error) {
	if strings.Trim(s, "+-.0123456789eEdD") != "" || !strings.ContainsAny(s, "0123456789") {
		return 0, strconv.ErrSyntax
	}
	return strconv.ParseFloat(strings.NewReplacer("D", "E", "d", "e").Replace(s), 64)
}

// likeNumber reports whether a field that is no number was meant for one.
func likeNumber(s string) bool {
	s = strings.TrimLeft(s, "+-.")
	return s != "" && s[0] >= '0' && s[0] <= '9'
}

// notFinite reports whether a field spells a value that no point may have.
func notFinite(s string) bool {
	s = strings.ToLower(strings.TrimLeft(s, "+-"))
	return s == "nan" || s == "inf" || s == "infinity" || strings.HasPrefix(s, "1.#")
}

// clip shortens a text for a message.
func clip(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:40]) + "..."
	}
	return s
}

// settle tells a title of two numbers and the counts of two blocks from points.
func (t *table) settle(rows []row) {
	if len(rows) > 0 && !t.takeCounts(rows[0], rows[1:]) && isTitle(rows[0], rows[1:]) {
		if !t.titled {
			t.title = rows[0].text
		}
		rows = rows[1:]
		if len(rows) > 0 && t.takeCounts(rows[0], rows[1:]) {
			rows = rows[1:]
		}
	} else if t.countsLine > 0 {
		rows = rows[1:]
	}
	x, z := plane(rows)
	if t.countsLine == 0 && x == 0 && z == 1 && t.takePairs(rows) {
		return
	}
	for _, r := range rows {
		t.points = append(t.points, r.at(x, z))
	}
}

// isTitle reports whether a first line of two numbers, such as "0012 64", is a name: no pair within [-1, 2],
// nor a point at the end of a chord in another unit, nor next to the point that follows.
func isTitle(first row, rest []row) bool {
	if onChord(&first) {
		return false
	}
	chord := largest(rest)
	if len(rest) > 0 && math.Hypot(first.values[0]-rest[0].values[0], first.values[1]-rest[0].values[1]) < chord/4 {
		return false
	}
	return math.Abs(first.values[0]) > 1.2*chord || math.Abs(first.values[1]) > 0.5*chord
}

// onChord reports whether a line begins with a pair within [-1, 2], as every point on a chord of 1 does.
func onChord(r *row) bool {
	return !slices.ContainsFunc(r.values[:2], func(v float64) bool { return v < -1 || v > 2 })
}

// takeCounts reports whether a line holds the numbers of points of two blocks, and keeps them. They are whole
// numbers from 2 up that either add up to the points that follow, or are followed by a point at the nose.
func (t *table) takeCounts(r row, rest []row) bool {
	a, b := r.values[0], r.values[1]
	if len(r.values) != 2 || r.words || a < 2 || b < 2 || a > mostRead || b > mostRead || a != math.Trunc(a) || b != math.Trunc(b) || len(rest) == 0 {
		return false
	}
	if int(a)+int(b) != len(rest) && math.Abs(rest[0].values[0]) > 0.2*largest(rest) {
		return false
	}
	t.counts, t.countsLine = [2]int{int(a), int(b)}, r.line
	return true
}

// largest returns the greatest |x|.
func largest(rows []row) float64 {
	var m float64
	for _, r := range rows {
		m = math.Max(m, math.Abs(r.values[0]))
	}
	return m
}

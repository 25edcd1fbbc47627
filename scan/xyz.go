package scan

import "bytes"

// readXYZ reads a cloud from lines of numbers.
func readXYZ(in *input) (*Scan, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	lay, err := findLayout(in)
	if err != nil {
		return nil, err
	}
	if err := checkSteady(in, lay); err != nil {
		return nil, err
	}
	x := &xyzReader{in: in, layout: lay, build: &build{in: in}, lines: newLines(in.data)}
	x.build.messages = lay.messages
	x.build.wide = roomFor[[3]float64](int(max(likelyLines(in.data), lay.promised(in))))[:0]
	if err := x.points(); err != nil {
		return nil, err
	}
	if err := x.checkPromise(); err != nil {
		return nil, err
	}
	s, err := x.build.scan("xyz")
	if err != nil {
		return nil, err
	}
	s.Unit = lay.unit
	return s, nil
}

// likelyLines guesses how many lines a text has from those at its beginning. A point takes six bytes or more.
func likelyLines(data []byte) int64 {
	begin := data[:min(len(data), 1<<16)]
	ends := max(bytes.Count(begin, []byte{'\n'}), bytes.Count(begin, []byte{'\r'}), 1)
	guess := int64(len(data)) * int64(ends) / int64(max(len(begin), 1))
	return min(guess+guess/50, int64(len(data)/6)) + 1
}

// checkSteady refuses a text whose first lines have now this and now that many numbers: it lists nodes and what
// they are joined to, or tables of several kinds, and no cloud. One line in ten may differ, such as by a value
// that is missing at its end.
func checkSteady(in *input, lay layout) error {
	const most, few = 1000, 10
	l := newLines(in.data)
	var common [2]int
	seen, other, where := 0, 0, 0
	for seen < most {
		line, ok := l.next()
		if !ok {
			break
		}
		if l.no <= lay.heading || isComment(line) {
			continue
		}
		n := columnsOf(line, lay.separator)
		if n[0] < 3 {
			continue // a count between clouds, or a line that the reader refuses with its place
		}
		if seen++; seen == 1 {
			common = n
		} else if n[0] != common[0] && n[1] != common[1] {
			if other++; other == 1 {
				where = l.no
			}
		}
	}
	if few*other <= seen || other < 2 {
		return nil
	}
	return in.onLine(where, "Export the points alone, each line with the same columns",
		"its lines have now %d numbers and now more or fewer, so they are not all points", common[0])
}

// columnsOf counts the numbers and empty cells that a line begins with, and all its cells. Either may change from
// point to point: a label may be a number or have blanks in it.
func columnsOf(line []byte, separator byte) (n [2]int) {
	all := cells(line, separator)
	for n[0] < len(all) && numbersIn(all[n[0]:n[0]+1]) == 1 {
		n[0]++
	}
	n[1] = len(all)
	return n
}

type xyzReader struct {
	in     *input
	layout layout
	build  *build
	lines  *lines
}

// points reads every line after the heading.
func (x *xyzReader) points() error {
	for {
		line, ok := x.lines.next()
		if !ok {
			return nil
		}
		if x.lines.no <= x.layout.heading || isComment(line) {
			continue
		}
		if x.anotherCount(line) {
			continue
		}
		p, err := x.point(line)
		if err != nil {
			return err
		}
		x.build.wide = append(x.build.wide, p)
		if err := x.in.checkCounts(int64(len(x.build.wide)), 0); err != nil {
			return err
		}
	}
}

// anotherCount takes in the line between the clouds of a file that holds several, one after another: once as
// many points as promised are there, a number alone promises more.
func (x *xyzReader) anotherCount(line []byte) bool {
	if int64(len(x.build.wide)) != x.layout.count {
		return false
	}
	n, ok := wholeNumber(bytes.TrimSpace(line))
	if !ok || n < 0 {
		return false
	}
	x.layout.count += n
	return true
}

// point reads the cells of one line up to the last that is needed. An empty cell is a value that is not there.
func (x *xyzReader) point(line []byte) (p [3]float64, err error) {
	at, rest := x.layout.at, line
	last := max(at[0], at[1], at[2])
	for column := range last + 1 {
		c, after, ok := cell(rest, x.layout.separator)
		if !ok {
			return p, x.short(column, line)
		}
		rest = after
		for axis := range at {
			if at[axis] != column {
				continue
			}
			if p[axis], ok = x.layout.value(c); !ok {
				return p, x.notNumber(c)
			}
		}
	}
	return p, nil
}

func (x *xyzReader) short(cells int, line []byte) error {
	if x.lines.open {
		return x.in.onLine(x.lines.no, stillCopying, "the last line has only %d values: %s", cells, shown(line))
	}
	return x.in.onLine(x.lines.no, exportAgain, "the line has only %d values, too few for x, y and z: %s", cells, shown(line))
}

func (x *xyzReader) notNumber(c []byte) error {
	if bytes.IndexByte(c, ',') >= 0 || bytes.IndexByte(c, '.') >= 0 {
		return x.in.onLine(x.lines.no, "Export it with decimal points, without marks between thousands, and with blanks between the values",
			"%s is not a number, or its decimal mark is not that of the lines before", shown(c))
	}
	return x.in.onLine(x.lines.no, "Export it with x, y and z as the first columns, or with a first line that names them",
		"%s is not a number", shown(c))
}

// checkPromise compares the points with the count on the first line, if there is one.
func (x *xyzReader) checkPromise() error {
	have, want := int64(len(x.build.wide)), x.layout.count
	switch {
	case want < 0 || have == want:
	case have < want:
		return x.in.onLine(x.lines.no, stillCopying, "the file promises %d points, but only %d are there", want, have)
	default:
		x.build.messages = append(x.build.messages, Notef("count-differs", "The file promises %d points, and there are %d. All were read.", want, have))
	}
	return nil
}

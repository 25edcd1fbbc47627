package airfoil

import (
	"io"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

const (
	fewest   = 10      // points: fewer do not tell a section
	mostRead = 20_000  // points
	mostSize = 1 << 20 // bytes
	merge    = 1e-5    // chord: neighbours this close are one point
)

// sample is one point of a coordinate file and the line it stands on.
type sample struct {
	r2.Vec
	line int
}

// outlineFile is a coordinate file on its way from text to an outline of chord 1.
type outlineFile struct {
	name     string
	points   []sample
	messages []scan.Message
}

// Read makes an airfoil of a coordinate file: a name line, then points either once round from the trailing
// edge or in two blocks from the leading edge. Lower surface first, per cent or thousandths of the chord,
// a nose off the origin, doubled or missing nose points, an open or crossed tail, tabs, commas, any line
// ends, a byte-order mark, comments, remarks before and after the points and a third column are all put up with,
// as are tables that give both surfaces on each line, and [Airfoil.Messages] says what
// was changed. The frame of the file is kept where it is a chord's: x from 0 to 1. name is the file's name
// for messages and stands in for a missing name line. Anything else is refused with a *scan.FormatError.
func Read(r io.Reader, name string) (*Airfoil, error) {
	data, err := io.ReadAll(io.LimitReader(r, mostSize+1))
	if err != nil {
		return nil, &scan.FormatError{File: name, Msg: "cannot be read", Err: err}
	}
	t, err := parseTable(data, name)
	if err != nil {
		return nil, err
	}
	f := &outlineFile{name: name, points: t.points}
	if t.paired {
		f.note("airfoil-table", "%s gives both surfaces on each line; it was read as a table of stations with upper and lower ordinates.", name)
	}
	if t.remark > 0 {
		f.note("airfoil-remark", "%s, line %d: the line stands after the points, begins with a number and was taken for a remark.", name, t.remark)
	}
	for _, step := range []func() error{
		func() error { return f.order(t) }, f.tidy, f.even, f.frame, f.finite, f.forward, f.tail, f.plausible, f.smooth,
	} {
		if err := step(); err != nil {
			return nil, err
		}
	}
	c, err := newSpline(vectors(f.points))
	if err != nil {
		return nil, &scan.FormatError{File: name, Msg: "no smooth outline runs through these points", Err: err}
	}
	if err := f.taut(c); err != nil {
		return nil, err
	}
	a := newAirfoil(t.title, c, nil, f.messages)
	if err := f.apart(a); err != nil {
		return nil, err
	}
	return a, nil
}

// note adds a message for the builder.
func (f *outlineFile) note(code, format string, args ...any) {
	f.messages = append(f.messages, scan.Notef(code, format, args...))
}

// caution adds a message that the builder must read.
func (f *outlineFile) caution(code, format string, args ...any) {
	f.messages = append(f.messages, scan.Cautionf(code, format, args...))
}

// vectors returns the bare points.
func vectors(points []sample) []r2.Vec {
	out := make([]r2.Vec, len(points))
	for i, p := range points {
		out[i] = p.Vec
	}
	return out
}

// extent returns the least and greatest x.
func extent(points []sample) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for _, p := range points {
		lo, hi = math.Min(lo, p.X), math.Max(hi, p.X)
	}
	return lo, hi
}

// foremostPoint returns the index of the point with the least x.
func foremostPoint(points []sample) (foremost int) {
	for i := range points {
		if points[i].X < points[foremost].X {
			foremost = i
		}
	}
	return foremost
}

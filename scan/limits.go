package scan

import "math"

// Limits bounds what a reader takes on, so that a damaged or hostile file cannot eat the machine's memory.
// A field that is 0 stands for the one of [DefaultLimits].
type Limits struct {
	MaxBytes  int64 // size of the file
	MaxPoints int   // points of a cloud or corners of a mesh; a mesh may have four triangles for each
}

// Limit names a field of [Limits].
type Limit string

// The limits. That of the points bounds triangles too, four for each point.
const (
	OverBytes  Limit = "bytes"
	OverPoints Limit = "points"
)

// DefaultLimits suits a machine with a few gigabytes of memory and any scan of a wing panel: a phone writes
// some hundred thousand points, a tripod scanner some ten million (common practice, no source). It is never
// changed.
var DefaultLimits = Limits{MaxBytes: 2 << 30, MaxPoints: 50_000_000}

// filled puts the defaults in for what is not given, and keeps point numbers within 32 bits.
func (l Limits) filled() Limits {
	if l.MaxBytes <= 0 {
		l.MaxBytes = DefaultLimits.MaxBytes
	}
	if l.MaxPoints <= 0 {
		l.MaxPoints = DefaultLimits.MaxPoints
	}
	l.MaxPoints = min(l.MaxPoints, math.MaxInt32)
	return l
}

// maxTriangles is twice what a closed mesh of MaxPoints corners has by Euler's formula, V - E + F = 2.
func (l Limits) maxTriangles() int64 { return 4 * int64(l.MaxPoints) }

// over refuses a file that goes over a limit.
func (in *input) over(limit Limit, format string, args ...any) *FormatError {
	e := in.refuse(exportCoarser, format, args...)
	e.Over = limit
	return e
}

package section

import "math"

// The share of the points on which the rounds of the fine fit run: even over the skin, whatever the density of the
// scan, and enough to place the loft where the polish on the map of every point starts from.

const sharePoints = 25_000

// shareCells divides the skin into cells of one size, and lets one point of each through.
type shareCells struct {
	lo, scale     float64 // mm, of the first row; cells a mm
	across, chord float64 // chords of the whole outline; mm
	columns, rows int
	taken         []bool
}

func newShareCells(c *candidate, lo, hi float64) *shareCells {
	s := &shareCells{lo: lo, across: c.field.length(), chord: c.middleChord()}
	s.scale = math.Sqrt(sharePoints / (s.across * s.chord * math.Max(hi-lo, 1)))
	s.columns, s.rows = int(s.across*s.chord*s.scale)+1, int((hi-lo)*s.scale)+1
	s.taken = make([]bool, s.columns*s.rows)
	return s
}

// number returns the cell of an arc (chords) at a station (mm).
func (s *shareCells) number(arc, station float64) int32 {
	column := min(int(arc*s.chord*s.scale), s.columns-1)
	row := min(max(int((station-s.lo)*s.scale), 0), s.rows-1)
	return int32(row*s.columns + column)
}

// take reports whether a cell's point is the first, and takes it.
func (s *shareCells) take(cell int32) bool {
	first := !s.taken[cell]
	s.taken[cell] = true
	return first
}

package airfoil

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// plane returns the columns of the two coordinates: the first two, but of three those that are left after one that
// only numbers the points, or holds the same value all along, as the span of a rib does in a drawing's export.
func plane(rows []row) (x, z int) {
	if columns(rows) != 3 {
		return 0, 1
	}
	switch {
	case numbered(rows) || level(rows, 0):
		return 1, 2
	case level(rows, 1):
		return 0, 2
	}
	return 0, 1
}

// numbered reports whether the first column counts the lines.
func numbered(rows []row) bool {
	first := rows[0].values[0]
	for i, r := range rows {
		if r.values[0] != first+float64(i) {
			return false
		}
	}
	return first == 0 || first == 1
}

// at returns the point whose coordinates stand in two columns.
func (r *row) at(x, z int) sample { return sample{r2.Vec{X: r.values[x], Y: r.values[z]}, r.line} }

// takePairs takes in a table as printed in reports, which gives both surfaces on each line: station, upper and
// lower ordinate, or station and ordinate of the upper surface and then of the lower.
func (t *table) takePairs(rows []row) bool {
	width := columns(rows)
	if width < 3 || !rising(rows, 0) {
		return false
	}
	x, z := 0, 2
	if width > 3 && rising(rows, 2) {
		x, z = 2, 3
	}
	if level(rows, z) {
		return false // a third coordinate
	}
	for _, r := range rows {
		t.points = append(t.points, r.at(0, 1))
	}
	for _, r := range rows {
		t.points = append(t.points, r.at(x, z))
	}
	t.counts, t.countsLine, t.paired = [2]int{len(rows), len(rows)}, rows[0].line, true
	return true
}

// columns returns how many numbers all lines have, 0 if they differ or are too few to tell.
func columns(rows []row) int {
	if len(rows) < fewest/2 {
		return 0
	}
	n := len(rows[0].values)
	for _, r := range rows {
		if len(r.values) != n || r.words {
			return 0
		}
	}
	return n
}

// rising reports whether a column goes one way from line to line, but for trifles at the nose of a bent section.
func rising(rows []row, column int) bool {
	const trifle = 0.01
	var up, down float64
	for i := 1; i < len(rows); i++ {
		step := rows[i].values[column] - rows[i-1].values[column]
		up, down = up+math.Max(step, 0), down+math.Max(-step, 0)
	}
	return math.Min(up, down) <= trifle*math.Max(up, down) && up+down > 0
}

// level reports whether a column holds one value only.
func level(rows []row, column int) bool {
	return !slices.ContainsFunc(rows, func(r row) bool { return r.values[column] != rows[0].values[column] })
}

package section

import (
	"math"
	"slices"
	"testing"

	"tipwright/scan"
)

// TestLay lays the same points over many triangles as over one after another, whatever is remembered of the others.
func TestLay(t *testing.T) {
	const columns, rows = 90, 60
	s := &scan.Scan{}
	for j := range rows + 1 {
		for i := range columns + 1 {
			x, y := float64(i), float64(j)
			s.Points = append(s.Points, [3]float32{float32(x), float32(y), float32(3 * math.Sin(x/9) * math.Cos(y/7))})
		}
	}
	var all []uint32
	for j := range uint32(rows) {
		for i := range uint32(columns) {
			a := j*(columns+1) + i
			s.Triangles = append(s.Triangles, [3]uint32{a, a + 1, a + columns + 2}, [3]uint32{a, a + columns + 2, a + columns + 1})
			all = append(all, uint32(len(s.Triangles)-2), uint32(len(s.Triangles)-1))
		}
	}
	f := newFacets(s, all)
	var one bulk
	for _, i := range all {
		one = append(one, f.lay([]uint32{i}, 0.3)...)
	}
	if got := f.lay(all, 0.3); len(one) < len(all) || !slices.Equal(got, one) {
		t.Errorf("over %d triangles %d points are laid, one by one %d", len(all), len(got), len(one))
	}
}

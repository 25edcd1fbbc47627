package section

import (
	"math"

	"tipwright/scan"
)

// The blocks of cells about each cell, whose medians tell the map where the skin lies.

// blockMedians returns, for each cell, the median distance of an even share of the points in the block of cells about
// it; NaN where there are too few. Where a hollow body shows the inner side of its skin too, floor parts the two, and the
// median is that of the outer; it is -Inf elsewhere.
//
// The blocks of neighbouring cells share most of their points. So only every other row and column has medians of its own,
// and the cells between have the mean of those beside them, unless these part by more than mostSlack.
func (m *Map) blockMedians(whole, some rowsOf, hollow [][]bool) (middle, floor []float64) {
	middle, floor = make([]float64, len(m.Cells)), make([]float64, len(m.Cells))
	every := 2
	if hollow != nil {
		every = 1
	}
	own := func(i, j int, of *middling) {
		k := i*len(m.Arc) + j
		middle[k], floor[k] = math.NaN(), math.Inf(-1)
		of.block = m.block(some, i, j, of.block[:0])
		if len(of.block) < leastBlock {
			return
		}
		if hollowAbout(hollow, i, j) && looksHollow(of.block) && m.walls(whole, i, j) {
			skin, at := outerSkin(m.wholeBlock(whole, i, j))
			middle[k], floor[k] = median(skin), at
			return
		}
		middle[k] = of.median(of.block)
	}
	scan.OnAllProcessors((len(m.Station)+every-1)/every, func(row int) {
		var of middling
		for j := 0; j < len(m.Arc); j += every {
			own(row*every, j, &of)
		}
	})
	if every == 1 {
		return middle, floor
	}
	scan.OnAllProcessors(len(m.Station), func(i int) {
		var of middling
		for j := 1 - i%2; j < len(m.Arc); j += 2 - i%2 {
			if d, ok := m.between(middle, i, j); ok {
				middle[i*len(m.Arc)+j], floor[i*len(m.Arc)+j] = d, math.Inf(-1)
			} else {
				own(i, j, &of)
			}
		}
	})
	return middle, floor
}

// between returns the mean of the medians of even rows and columns beside a cell; ok is false where one is not known or
// they differ too much.
func (m *Map) between(middle []float64, i, j int) (mean float64, ok bool) {
	if i+i%2 >= len(m.Station) || j+j%2 >= len(m.Arc) {
		return 0, false
	}
	least, most, sum := math.Inf(1), math.Inf(-1), 0.0
	for _, a := range [2]int{i - i%2, i + i%2} {
		for _, b := range [2]int{j - j%2, j + j%2} {
			d := middle[a*len(m.Arc)+b]
			if math.IsNaN(d) {
				return 0, false
			}
			least, most, sum = min(least, d), max(most, d), sum+d
		}
	}
	return sum / 4, most-least <= mostSlack
}

// around returns the rows and columns of the block about row i and column j, the last included.
func (m *Map) around(i, j int) (top, bottom, left, right int) {
	return max(i-blockRows/2, 0), min(i+blockRows/2, len(m.Station)-1),
		max(j-blockArc/2, 0), min(j+blockArc/2, len(m.Arc)-1)
}

// block appends the distances of some of the points in the cells about row i and column j.
func (m *Map) block(some rowsOf, i, j int, v []float32) []float32 {
	top, bottom, left, right := m.around(i, j)
	for a := top; a <= bottom; a++ {
		v = append(v, some.columns(a, left, right)...)
	}
	return v
}

// wholeBlock returns the distances of all points in the cells about row i and column j.
func (m *Map) wholeBlock(whole rowsOf, i, j int) (v []float64) {
	top, bottom, left, right := m.around(i, j)
	for a := top; a <= bottom; a++ {
		for _, d := range whole.columns(a, left, right) {
			v = append(v, float64(d))
		}
	}
	return v
}

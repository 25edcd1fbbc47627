package section

import (
	"math"
	"slices"

	"tipwright/scan"
)

// Hollow bodies, such as prints, show the inner side of their skin too; only the outer one is measured.

const (
	hollowSample   = 200
	leastSkinShare = 0.15 // of a block's points that each of two skins must have ...
	leastSkinGap   = 0.4  // mm between them ...
	skinGapSpreads = 3.0  // ... and as many interquartile ranges of either
	exactSkin      = 0.06 // mm within which the outermost share of an exact mesh's points lies
)

// hollowBlocks asks a share of the blocks, enough to touch every cell, whether they show more than one skin. It
// returns the answers by rows and columns of such blocks, nil where no block does.
func (m *Map) hollowBlocks(some rowsOf) [][]bool {
	hollow := make([][]bool, (len(m.Station)+blockRows)/(blockRows+1))
	columns := (len(m.Arc) + blockArc) / (blockArc + 1)
	scan.OnAllProcessors(len(hollow), func(row int) {
		hollow[row] = make([]bool, columns)
		i := min(row*(blockRows+1)+blockRows/2, len(m.Station)-1)
		for column := range columns {
			v := m.block(some, i, min(column*(blockArc+1)+blockArc/2, len(m.Arc)-1), nil)
			hollow[row][column] = len(v) >= leastBlock && looksHollow(v)
		}
	})
	for _, row := range hollow {
		if slices.Contains(row, true) {
			return hollow
		}
	}
	return nil
}

// hollowAbout reports whether a block that holds cells of the block about row i and column j looks hollow.
func hollowAbout(hollow [][]bool, i, j int) bool {
	for a := max(i-blockRows/2, 0) / (blockRows + 1); a <= min((i+blockRows/2)/(blockRows+1), len(hollow)-1); a++ {
		for b := max(j-blockArc/2, 0) / (blockArc + 1); b <= min((j+blockArc/2)/(blockArc+1), len(hollow[a])-1); b++ {
			if hollow[a][b] {
				return true
			}
		}
	}
	return false
}

// looksHollow asks a few of a block's points whether the block shows more than one skin.
func looksHollow(v []float32) bool {
	var room [hollowSample]float64
	few := room[:min(len(v), hollowSample)]
	for i := range few {
		few[i] = float64(v[i*len(v)/len(few)])
	}
	if surelyOne(few) {
		return false
	}
	_, floor := outerSkin(few)
	return !math.IsInf(floor, -1)
}

// surelyOne reports whether outerSkin would find one skin, where that can be told without sorting: where no gap is as wide
// as one between skins, and few points lie close to the outermost.
func surelyOne(v []float64) bool {
	const bin, bins = leastSkinGap / 2.001, 64 // a gap between skins spans a whole bin, however it lies
	bottom, top := v[0], v[0]
	for _, d := range v {
		bottom, top = min(bottom, d), max(top, d)
	}
	switch apart := top - bottom; {
	case apart < bin:
		return true
	case !(apart < bin*(bins-1)):
		return false
	}
	var counts [bins]int
	outermost, edge := 0, top-exactSkin
	for _, d := range v {
		counts[int((d-bottom)*(1/bin))&(bins-1)]++
		if d >= edge {
			outermost++
		}
	}
	least, below := max(int(leastSkinShare*float64(len(v))), 1), 0
	for _, n := range counts {
		if below += n; n == 0 && below >= least && below < len(v)-least {
			return false
		}
	}
	return outermost < least
}

// outerSkin parts the distances of a block that shows more than the outer skin, such as a hollow print's inner one
// or its ribs, and returns those of the outer and what parts them from the rest; all of them and -Inf where there
// is one skin only. Two skins show as a gap that is wide against the scatter of either; ribs fill the gap, but in
// an exact mesh the outermost points still stand closely together.
func outerSkin(v []float64) (outer []float64, floor float64) {
	slices.Sort(v)
	least := max(int(leastSkinShare*float64(len(v))), 1)
	at, gap := 0, 0.0
	for i := least; i < len(v)-least; i++ {
		if g := v[i] - v[i-1]; g > gap {
			at, gap = i, g
		}
	}
	quartiles := func(s []float64) float64 { return s[len(s)*3/4] - s[len(s)/4] }
	if at > 0 && gap > leastSkinGap && gap > skinGapSpreads*math.Max(quartiles(v[:at]), quartiles(v[at:])) {
		return v[at:], v[at] - gap/2
	}
	top := v[len(v)-1]
	at, _ = slices.BinarySearch(v, top-exactSkin)
	if len(v)-at >= least && v[least] < top-leastSkinGap {
		return v[at:], top - exactSkin
	}
	return v, math.Inf(-1)
}

// walls reports whether single cells of the block about one show points at several depths, as where a hollow body has
// walls. On one skin, and be it the side of a low spot in an exact mesh, the points of a cell lie close together
// against what the skin falls over the block.
func (m *Map) walls(whole rowsOf, row, column int) bool {
	var deep, top []float64 // of each cell: how far its points lie apart, and its outermost
	first, last, left, right := m.around(row, column)
	for i := first; i <= last; i++ {
		for j := left; j <= right; j++ {
			if ds := whole.columns(i, j, j); len(ds) > 0 {
				deep = append(deep, float64(slices.Max(ds)-slices.Min(ds)))
				top = append(top, float64(slices.Max(ds)))
			}
		}
	}
	slices.Sort(top)
	least := math.Max(leastSkinGap, top[len(top)*3/4]-top[len(top)/4])
	n := 0
	for _, d := range deep {
		if d > least {
			n++
		}
	}
	return float64(n) >= leastSkinShare*float64(len(deep))
}

package fit

import (
	"math"
	"slices"
)

const (
	leastLeft     = 1.0 / 3 // of a column's cells that must stay in ...
	longestBridge = 0.22    // ... over runs longer than so many chords,
	endBridge     = 0.04    // or than so many at the tail, where the form would be carried on from one side
	leastBridge   = 0.3     // mm: a run of whole columns that stands out by less is not bridged
)

// state is what taken says of a cell: it bears on the form, it does not, or it was taken back in and pulls whatever
// its residual.
type state uint8

const (
	stays state = iota
	skipped
	spared
)

// taken marks the cells of all regions as skipped. Their rims, where a spot runs out, stay in with a pull that
// no residual makes larger: what little is left of the spot there does no harm, and a region that is none is
// held in check.
func (out *parted) taken(p *panel) []state {
	skip := make([]state, len(p.w))
	for _, r := range out.found.regions {
		for _, k := range r.cells {
			skip[k] = skipped
		}
		for _, k := range r.rim {
			skip[k] = spared
		}
	}
	out.spare(p, skip)
	return skip
}

// spare leaves some skin in where whole columns would be taken out over a run too long for the form to
// bridge, or too shallow to be surely a spot: the third of each column that stands out least. Where a form
// that is still wrong makes all the skin between spots look low, that skin pulls it back.
func (out *parted) spare(p *panel, skip []state) {
	nc := p.columns()
	thin := make([]bool, nc)
	for j := range nc {
		left, seen := 0, 0
		for k := j; k < len(skip); k += nc {
			if p.w[k] > 0 {
				seen++
				if skip[k] != skipped {
					left++
				}
			}
		}
		thin[j] = float64(left) < leastLeft*float64(seen)
	}
	if !slices.Contains(thin, true) {
		return
	}
	f := p.smoothInto(p.spare(), out.residual, p.w, kernel{20, 20})
	for from := 0; from < nc; {
		to := from
		for to < nc && thin[to] {
			to++
		}
		limit := longestBridge * p.chord
		if from == 0 || to == nc {
			limit = endBridge * p.chord
		}
		if float64(to-from)*p.dArc > limit || runDepth(p, f.mean, from, to) < leastBridge {
			for j := from; j < to; j++ {
				spareColumn(p, skip, f.mean, j)
			}
		}
		from = to + 1
	}
}

// runDepth returns the middling depth of a run of columns.
func runDepth(p *panel, mean []float64, from, to int) float64 {
	var all []float64
	for j := from; j < to; j++ {
		for k := j; k < len(mean); k += p.columns() {
			if p.w[k] > 0 {
				all = append(all, math.Abs(mean[k]))
			}
		}
	}
	return median(all)
}

func spareColumn(p *panel, skip []state, mean []float64, j int) {
	var all []float64
	for k := j; k < len(skip); k += p.columns() {
		if p.w[k] > 0 {
			all = append(all, math.Abs(mean[k]))
		}
	}
	if len(all) == 0 {
		return
	}
	slices.Sort(all)
	limit := all[int(leastLeft*float64(len(all)-1))]
	for k := j; k < len(skip); k += p.columns() {
		if p.w[k] > 0 && math.Abs(mean[k]) <= limit {
			skip[k] = spared
		}
	}
}

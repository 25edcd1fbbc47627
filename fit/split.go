package fit

import (
	"cmp"
	"math"
	"slices"
)

// Two spots that touch are one region. They are parted where a builder would see two: where the skin between
// their deepest points rises by more than half of the shallower one's depth and by more than noise.
const (
	saddleShare = 0.5 // of the shallower depth
	saddleSigma = 5.0 // standard errors of the fine window
)

// split parts the regions that hold several spots.
func (s *surveyor) split() {
	var all []region
	for i := range s.found.regions {
		all = append(all, s.parts(&s.found.regions[i])...)
	}
	s.found.regions = all
	for k := range all {
		for _, cells := range [][]int{all[k].cells, all[k].rim} {
			for _, c := range cells {
				s.found.owner[c] = k + 1
			}
		}
	}
}

// parts floods a region from its deepest points upward. Where two floods meet they become one unless the
// saddle between them parts them.
func (s *surveyor) parts(r *region) []region {
	depth := func(c int) float64 { return r.sign * s.fine.mean[c] }
	order := slices.Clone(r.cells)
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(depth(b), depth(a)), cmp.Compare(a, b)) })
	flood := make(map[int]int, len(order)) // cell to the number of its flood
	var peak []float64
	var into []int // the flood that one has become a part of
	root := func(k int) int {
		for into[k] != k {
			k = into[k]
		}
		return k
	}
	widen := s.found.widening(fineWidth)
	for _, c := range order {
		mine := -1
		s.p.neighbours(c, func(n int) {
			k, ok := flood[n]
			if !ok {
				return
			}
			switch k = root(k); {
			case mine < 0:
				mine = k
			case k != mine:
				a, b := min(k, mine), max(k, mine) // the first flood has the deeper peak
				rise := peak[b] - depth(c)
				if rise < math.Max(saddleShare*peak[b], saddleSigma*widen*s.fine.se[c]) {
					into[b] = a
				}
				mine = a
			}
		})
		if mine < 0 {
			mine = len(peak)
			peak, into = append(peak, depth(c)), append(into, mine)
		}
		flood[c] = mine
	}
	out := make([]region, 0, 1)
	place := map[int]int{}
	for _, c := range r.cells {
		k := root(flood[c])
		at, ok := place[k]
		if !ok {
			at = len(out)
			place[k] = at
			out = append(out, region{sign: r.sign, size: r.size, depth: peak[k]})
		}
		out[at].cells = append(out[at].cells, c)
	}
	if len(out) == 1 {
		return []region{*r}
	}
	s.shareRim(r.rim, out)
	return out
}

// shareRim gives each cell of a rim to the part that it is nearest to, from neighbour to neighbour.
func (s *surveyor) shareRim(rim []int, parts []region) {
	owner := map[int]int{}
	left := make(map[int]bool, len(rim))
	for _, c := range rim {
		left[c] = true
	}
	var queue []int
	for k := range parts {
		for _, c := range parts[k].cells {
			owner[c] = k
			queue = append(queue, c)
		}
	}
	for head := 0; head < len(queue); head++ {
		k := owner[queue[head]]
		s.p.neighbours(queue[head], func(n int) {
			if left[n] {
				left[n] = false
				owner[n] = k
				parts[k].rim = append(parts[k].rim, n)
				queue = append(queue, n)
			}
		})
	}
	for k := range parts {
		slices.Sort(parts[k].rim)
	}
}

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

// flood is a region filled from its deepest points upward.
type flood struct {
	s      *surveyor
	r      *region
	of     map[int]int // cell to the number of its flood
	groups union
	peak   []float64 // mm, depth where each flood began, falling
	widen  float64
}

func (f *flood) depth(c int) float64 { return f.r.sign * f.s.fine.mean[c] }

// reach lets the floods beside a cell, which is the highest so far, take it in. Where two meet they become
// one unless the saddle between them parts them.
func (f *flood) reach(c int) {
	mine := -1
	f.s.p.neighbours(c, func(n int) {
		k, ok := f.of[n]
		if !ok {
			return
		}
		if k = f.groups.find(k); mine < 0 || k == mine {
			mine = k
			return
		}
		shallower := max(k, mine)
		rise := f.peak[shallower] - f.depth(c)
		if rise < math.Max(saddleShare*f.peak[shallower], saddleSigma*f.widen*f.s.fine.se[c]) {
			f.groups.join(k, mine)
		}
		mine = min(k, mine)
	})
	if mine < 0 {
		mine = f.groups.add()
		f.peak = append(f.peak, f.depth(c))
	}
	f.of[c] = mine
}

// parts returns a region as the spots that it holds.
func (s *surveyor) parts(r *region) []region {
	f := &flood{s: s, r: r, of: make(map[int]int, len(r.cells)), widen: s.found.widening(fineWidth)}
	order := slices.Clone(r.cells)
	slices.SortFunc(order, func(a, b int) int { return cmp.Or(cmp.Compare(f.depth(b), f.depth(a)), cmp.Compare(a, b)) })
	for _, c := range order {
		f.reach(c)
	}
	var out []region
	place := map[int]int{}
	for _, c := range r.cells {
		k := f.groups.find(f.of[c])
		if _, ok := place[k]; !ok {
			place[k] = len(out)
			out = append(out, region{sign: r.sign, size: r.size, depth: math.Max(f.peak[k], seedFloor)})
		}
		out[place[k]].cells = append(out[place[k]].cells, c)
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

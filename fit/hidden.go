package fit

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// A narrow board or clamp hides the skin, and most of its own points lie too far out to pass for skin. What is
// left is a patch of cells with few points that lie high: the edges of the thing.
const (
	poorShare   = 0.45 // of the usual number of points: a place with fewer is poor
	hereReach   = 8.0  // mm, standard deviation of the window that tells what is here, wide enough to hold some points
	poorReach   = 40.0 // mm, standard deviation of the one that tells what is usual
	hiddenCells = 6    // poor cells together that may hide something
	hiddenSigma = 4.5  // standard errors by which they lie high
	hiddenLeast = 0.3  // mm by which they lie high
)

// hidden returns the patches of poor cells that lie high.
func (s *surveyor) hidden() []region {
	poor := s.poor()
	done := make([]bool, len(poor))
	var out []region
	for k := range poor {
		if !poor[k] || done[k] {
			continue
		}
		r := region{sign: 1, cells: []int{k}}
		done[k] = true
		for head := 0; head < len(r.cells); head++ {
			s.p.neighbours(r.cells[head], func(n int) {
				if poor[n] && !done[n] {
					done[n] = true
					r.cells = append(r.cells, n)
				}
			})
		}
		if len(r.cells) >= hiddenCells && s.liesHigh(&r) {
			r.rim = s.p.dilate(r.cells, rimLeast)
			out = append(out, r)
		}
	}
	return out
}

// poor marks the cells about which there are far fewer points than farther round.
func (s *surveyor) poor() []bool {
	if s.fewPoints == nil {
		room := s.parted.roomFor(s.p)
		here, usual := s.p.density(room.weights, hereReach), s.p.density(room.off, poorReach)
		s.fewPoints = make([]bool, len(here))
		for k := range here {
			s.fewPoints[k] = here[k] < poorShare*usual[k]
		}
	}
	return s.fewPoints
}

// density fills sum with the mean number of points a cell under a Gaussian window of the given width, mm.
func (p *panel) density(sum []float64, width float64) []float64 {
	one, all := p.spare(), make([]float64, len(sum))
	for k := range one {
		one[k] = 1
	}
	b, nc := p.bell(kernel{width, width}), p.columns()
	p.room.sized(p, b)
	p.bySwath(func(s *swath) {
		s.convolve(p, sum, values{v: p.points}, b, &p.room)
		s.convolve(p, all, values{v: one}, b, &p.room)
		for i := range p.rows() {
			from, to := i*nc+s.columns[0], i*nc+s.columns[1]
			floats.Div(sum[from:to], all[from:to])
		}
	})
	return sum
}

// liesHigh reports whether the poor cells' own mean stands off the form, which points of the skin alone
// would not make it do.
func (s *surveyor) liesHigh(r *region) bool {
	var sum, weight float64
	for _, c := range r.cells {
		sum += s.p.w[c] * s.residual[c]
		weight += s.p.w[c]
	}
	if weight == 0 {
		return false
	}
	se := s.found.widening(fineWidth) / math.Sqrt(weight)
	return sum/weight > math.Max(hiddenLeast, hiddenSigma*se)
}

package fit

import (
	"math"
	"slices"

	"tipwright/scan"
)

// The skin is the form and what stands out of it, smoothed. Where a spot was found, and round the nose,
// that is a local polynomial regression of order 2 with a Gaussian kernel (the weighting of ISO 16610-31
// with order 2, in two dimensions and with the cells' own certainty): narrow, so that the spot is not
// flattened, one-sided at the tip rib and never across the hinge line. Everywhere else nothing stands out
// by more than the detection limit, and there the kernel is wide. The two are blended over a rim.
const (
	narrowLeast = 8.0 // mm, standard deviation of the narrow kernel
	narrowMost  = 20.0
	wideKernel  = 45.0
	blendRim    = 22.0 // mm, over which narrow and wide are blended
	noseReach   = 3.0  // nose radii about the leading edge in which the narrow kernel always serves
	rimReach    = 25.0 // mm inboard of the tip rib that skin must be seen for the outline there to count as seen
	usualDepth  = 1.0  // mm and
	usualWidth  = 150  // mm of the spot that the narrow kernel is chosen for
	sizeBase    = 0.06 // mm, and
	sizeShare   = 0.2  // of a region's depth: standard deviation that a residual in it, and by the usual width its slopes, may have
)

// narrowWidth chooses the kernel that makes noise and flattening together least for the usual spot. For a
// Gaussian of width a and order 2 in two dimensions the noise variance is 0.2·V/a² for a noise of V per
// mm², and the top of a cosine dent of depth d and wave number k is flattened by d·(k·a)⁴/6, half of that
// as a mean over the dent.
func narrowWidth(p *panel) float64 {
	se := p.usualSE()
	noise := 0.2 * se * se * p.dArc * p.meanHeight()
	k := 2 * math.Pi / usualWidth
	flatten := usualDepth * k * k * k * k / 12
	a := math.Pow(noise/(4*flatten*flatten), 0.1)
	return math.Min(math.Max(a, narrowLeast), narrowMost)
}

// smoothSkin fills spread, se and seen of the nodes. Covered cells are no skin.
func (n *nodes) smoothSkin(out *parted, noseRadius float64, covered []bool) {
	p := n.p
	share, depth := n.narrowShare(out, noseReach*noseRadius)
	clean := slices.Clone(p.w)
	for k, o := range out.found.owner {
		if o > 0 {
			clean[k] = 0
		}
	}
	wide := p.smooth(out.residual, clean, kernel{wideKernel, wideKernel})
	a := narrowWidth(p)
	wider, narrower := out.found.widening(wideKernel), out.widening(a)
	nc := p.columns()
	scan.OnAllProcessors((nc+columnsAtOnce-1)/columnsAtOnce, func(chunk int) {
		for j := chunk * columnsAtOnce; j < min((chunk+1)*columnsAtOnce, nc); j++ {
			narrow := p.newLocals(out.residual, p.arc[j], kernel{a, a}, func(k int) bool { return covered[k] })
			for i, st := range n.station {
				row := n.rowOf(i)
				k, c := i*nc+j, row*nc+j
				n.seen[k] = p.seenNear(row, j) && !covered[c] && (st > 0 || n.rimSeen(j))
				m, se := wide.mean[c], wider*wide.se[c]
				if math.IsInf(se, 1) {
					se = 0 // nothing clean in reach: the form alone
				}
				if share[k] > 0 {
					q := narrow.at(st, sizeBase+sizeShare*depth[k])
					m = m*(1-share[k]) + q.c[0]*share[k]
					se = math.Hypot(se*(1-share[k]), narrower*q.se*share[k])
				}
				n.spread[k], n.se[k] = m, math.Hypot(se, out.uForm[c])
			}
		}
	})
}

// narrowShare returns the share of the narrow kernel at each node, 1 in regions and within reach of the
// leading edge (mm) and falling to 0 beside them, and how deep the region there is, mm.
func (n *nodes) narrowShare(out *parted, reach float64) (share, depth []float64) {
	p := n.p
	share, depth = make([]float64, len(n.spread)), make([]float64, len(n.spread))
	for i := range n.station {
		for j, arc := range p.arc {
			k, o := i*p.columns()+j, out.found.owner[n.rowOf(i)*p.columns()+j]-1
			if o >= 0 {
				depth[k] = out.found.regions[o].depth
			}
			if o >= 0 || math.Abs(arc-p.nose) < reach {
				share[k] = 1
			}
		}
	}
	return n.cover(share, blendRim), n.cover(depth, blendRim)
}

// seenNear reports whether a cell was seen, or enough of those round it that it is no more than a pinhole. Round it is
// the next cell, and farther where the scan is so sparse that many cells are empty by chance.
func (p *panel) seenNear(row, column int) bool {
	const enough = 3
	if p.w[row*p.columns()+column] > 0 {
		return true
	}
	seen := 0
	for i := max(row-p.round, 0); i <= min(row+p.round, p.rows()-1); i++ {
		for j := max(column-p.round, 0); j <= min(column+p.round, p.columns()-1); j++ {
			if p.w[i*p.columns()+j] > 0 {
				seen++
			}
		}
	}
	return seen >= enough
}

// lookRound returns how many cells round an empty one must be looked at to meet roundSeen where skin was scanned.
func (p *panel) lookRound() int {
	const roundSeen, roundMost = 8, 4
	nc, seen, all := p.columns(), 0, 0
	for j := range nc {
		n := 0
		for i := range p.rows() {
			if p.w[i*nc+j] > 0 {
				n++
			}
		}
		if n > 0 {
			seen, all = seen+n, all+p.rows()
		}
	}
	round := 1
	for round < roundMost && (2*round+1)*(2*round+1)*seen < roundSeen*all {
		round++
	}
	return round
}

// rimSeen reports whether the skin was seen near enough to the tip rib to be carried on to it.
func (n *nodes) rimSeen(j int) bool {
	p := n.p
	for i, st := range p.station {
		if i > 0 && st > rimReach*float64(p.round) {
			break
		}
		if p.seenNear(i, j) {
			return true
		}
	}
	return false
}

package section

import (
	"math"

	"tipwright/scan"
)

// What the map of departures works on: the distances of each cell's points, as they come in one pass over a scan
// whose points are too many for more than these four bytes of each.

const (
	pileBlockLen = 15   // distances in a block; with the number of the next it fills a line of the cache
	pileSlab     = 4096 // blocks that are got at a time
)

// piles holds the distances of each cell's points in the order in which they were added.
type piles struct {
	cells  []pile
	slabs  [][]pileBlock
	blocks int32 // in use
}

// pile is a chain of blocks, all full but the last.
type pile struct{ first, last, n int32 }

type pileBlock struct {
	distance [pileBlockLen]float32
	next     int32
}

func newPiles(cells int) *piles { return &piles{cells: make([]pile, cells)} }

func (p *piles) block(i int32) *pileBlock { return &p.slabs[i/pileSlab][i%pileSlab] }

// count returns how many distances cell k has.
func (p *piles) count(k int) int { return int(p.cells[k].n) }

// add puts a distance to those of cell k.
func (p *piles) add(k int, distance float32) {
	c := &p.cells[k]
	at := c.n % pileBlockLen
	if at == 0 {
		if p.blocks%pileSlab == 0 {
			p.slabs = append(p.slabs, make([]pileBlock, pileSlab))
		}
		if c.n == 0 {
			c.first = p.blocks
		} else {
			p.block(c.last).next = p.blocks
		}
		c.last = p.blocks
		p.blocks++
	}
	p.block(c.last).distance[at] = distance
	c.n++
}

// list appends the distances of cell k to out.
func (p *piles) list(k int, out []float32) []float32 {
	c := &p.cells[k]
	at := c.first
	for left := c.n; left > 0; left -= pileBlockLen {
		b := p.block(at)
		out = append(out, b.distance[:min(left, pileBlockLen)]...)
		at = b.next
	}
	return out
}

// view is list for those who only look: it makes no copy where the distances stand together, else one in room.
func (p *piles) view(k int, room *[]float32) []float32 {
	c := &p.cells[k]
	if c.n == 0 {
		return nil
	}
	if c.n <= pileBlockLen {
		return p.block(c.first).distance[:c.n]
	}
	*room = p.list(k, (*room)[:0])
	return *room
}

// at returns distance i of cell k.
func (p *piles) at(k, i int) float32 {
	b := p.block(p.cells[k].first)
	for ; i >= pileBlockLen; i -= pileBlockLen {
		b = p.block(b.next)
	}
	return b.distance[i]
}

// keepFrom drops those distances of cell k that are less than floor.
func (p *piles) keepFrom(k int, floor float64) {
	all := p.list(k, nil)
	c := &p.cells[k]
	at := c.first
	c.n = 0
	for _, d := range all {
		if float64(d) < floor {
			continue
		}
		c.last = at
		b := p.block(at)
		b.distance[c.n%pileBlockLen] = d
		if c.n++; c.n%pileBlockLen == 0 {
			at = b.next
		}
	}
}

// fewOf holds an even share of each cell's distances, those of a row of cells side by side.
type fewOf struct {
	row   [][]float32
	start [][]int32 // of each column in its row; one longer than the columns
}

// someOf takes cellSample of each cell's distances, or all where there are no more.
func (m *Map) someOf(cells *piles) *fewOf {
	s := &fewOf{make([][]float32, len(m.Station)), make([][]int32, len(m.Station))}
	scan.OnAllProcessors(len(m.Station), func(i int) {
		var room []float32
		row := make([]float32, 0, len(m.Arc)*cellSample)
		start := make([]int32, 1, len(m.Arc)+1)
		for j := range m.Arc {
			ds := cells.view(i*len(m.Arc)+j, &room)
			n := min(len(ds), cellSample)
			for k := range n {
				row = append(row, ds[k*len(ds)/n])
			}
			start = append(start, int32(len(row)))
		}
		s.row[i], s.start[i] = row, start
	})
	return s
}

// columns returns the distances of the columns from left to right, the last included, of row i.
func (s *fewOf) columns(i, left, right int) []float32 {
	return s.row[i][s.start[i][left]:s.start[i][right+1]]
}

// middling finds medians of blocks one after another. Since neighbouring blocks have nearly the same, one pass over a
// block mostly leaves the few values about the last median to choose from.
type middling struct {
	last, reach float64   // the median before this, and how far from it the next is looked for
	near        []float64 // values within reach
	block       []float32 // room for the caller
}

const leastReach = 1e-5 // mm

// median returns the middle value of v, exactly, whatever was asked before.
func (m *middling) median(v []float32) float64 {
	if len(m.near) < len(v) {
		m.near = make([]float64, 2*len(v))
	}
	low, high := float32(m.last-m.reach), float32(m.last+m.reach)
	below, n := 0, 0
	for _, d := range v {
		m.near[n] = float64(d)
		under, within := 0, 0
		if d < low {
			under = 1
		}
		if d <= high {
			within = 1
		}
		below, n = below+under, n+within-under
	}
	middle, before := len(v)/2, m.last
	if middle >= below && middle < below+n {
		m.last = Nth(m.near[:n], middle-below)
		switch {
		case 4*n > len(v):
			m.reach = math.Max(0.8*m.reach, leastReach)
		case 12*n < len(v):
			m.reach *= 1.25
		}
		return m.last
	}
	for i, d := range v {
		m.near[i] = float64(d)
	}
	m.last = median(m.near[:len(v)])
	m.reach = math.Max(2*m.reach, math.Max(math.Abs(m.last-before), leastReach))
	return m.last
}

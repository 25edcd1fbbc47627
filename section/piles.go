package section

import (
	"math"
	"slices"

	"tipwright/scan"
)

// What the map of departures works on: the distances of each cell's points, as they come in one pass over a scan
// whose points are too many for more than these four bytes of each.

const (
	pileBlockLen = 15   // distances in a block; with the number of its column it fills a line of the cache
	pileSegment  = 64   // blocks that a row of cells gets at a time
	pileSlab     = 4096 // blocks that are got at a time
)

// piles holds the distances of each cell's points in the order in which they were added. What belongs to a row of cells
// stands together, so that the row can be read from end to end.
type piles struct {
	rows []pileRow
	free []pileBlock // of the slab got last, what no row has yet
}

// pileRow is the piles of one row of cells: blocks in the order in which they were begun, all of a cell full but its last.
type pileRow struct {
	cells    []pile
	segments [][]pileBlock
	blocks   int32 // in use
}

// pile is how many distances a cell has, and the block that holds the last of them.
type pile struct{ n, last int32 }

type pileBlock struct {
	distance [pileBlockLen]float32
	column   int32
}

func newPiles(rows, columns int) *piles {
	p := &piles{rows: make([]pileRow, rows)}
	cells := make([]pile, rows*columns)
	for i := range p.rows {
		p.rows[i].cells = cells[i*columns : (i+1)*columns]
	}
	return p
}

func (r *pileRow) block(i int32) *pileBlock { return &r.segments[i/pileSegment][i%pileSegment] }

// add puts a distance to those of a cell.
func (p *piles) add(row, column int32, distance float32) {
	r := &p.rows[row]
	c := &r.cells[column]
	at := c.n % pileBlockLen
	if at == 0 {
		if r.blocks%pileSegment == 0 {
			r.segments = append(r.segments, p.segment())
		}
		c.last = r.blocks
		r.block(c.last).column = column
		r.blocks++
	}
	r.block(c.last).distance[at] = distance
	c.n++
}

// segment returns blocks for a row.
func (p *piles) segment() []pileBlock {
	if len(p.free) == 0 {
		p.free = make([]pileBlock, pileSlab)
	}
	s := p.free[:pileSegment]
	p.free = p.free[pileSegment:]
	return s
}

// count returns how many distances row i has.
func (p *piles) count(i int) (n int) {
	for k := range p.rows[i].cells {
		n += int(p.rows[i].cells[k].n)
	}
	return n
}

// row puts the distances of a row of cells side by side, in the room given.
func (p *piles) row(i int, room *rowOf) *rowOf {
	r := &p.rows[i]
	room.start = append(room.start[:0], 0)
	all := int32(0)
	for k := range r.cells {
		room.start = append(room.start, all)
		all += r.cells[k].n
	}
	room.all = slices.Grow(room.all[:0], int(all))[:all]
	next := room.start[1:] // where the next block of each column goes: in the end where the next column starts
	for b := range r.blocks {
		from := r.block(b)
		c, at := &r.cells[from.column], &next[from.column]
		if b == c.last {
			*at += int32(copy(room.all[*at:], from.distance[:(c.n-1)%pileBlockLen+1]))
			continue
		}
		*(*[pileBlockLen]float32)(room.all[*at:]) = from.distance
		*at += pileBlockLen
	}
	return room
}

// whole returns all distances.
func (p *piles) whole() rowsOf {
	out := make(rowsOf, len(p.rows))
	scan.OnAllProcessors(len(out), func(i int) { p.row(i, &out[i]) })
	return out
}

// rowOf is the distances of the points in a row of cells, side by side.
type rowOf struct {
	all   []float32
	start []int32 // of each column; one longer than the columns
}

// columns returns the distances of the columns from left to right, the last included.
func (r *rowOf) columns(left, right int) []float32 { return r.all[r.start[left]:r.start[right+1]] }

// end begins the next column.
func (r *rowOf) end() { r.start = append(r.start, int32(len(r.all))) }

// rowsOf is the distances of rows of cells.
type rowsOf []rowOf

func (s rowsOf) count(i int) int { return len(s[i].all) }

// row returns a row; the room is for those whose rows are not at hand.
func (s rowsOf) row(i int, _ *rowOf) *rowOf { return &s[i] }

// columns returns the distances of the columns from left to right, the last included, of row i.
func (s rowsOf) columns(i, left, right int) []float32 { return s[i].columns(left, right) }

// keepFrom drops those distances of each cell that are less than its floor.
func (s rowsOf) keepFrom(floor []float64) {
	for i := range s {
		r := &s[i]
		all, start := r.all, r.start
		columns := len(start) - 1
		r.all, r.start = r.all[:0], make([]int32, 1, len(start))
		for j := range columns {
			for _, d := range all[start[j]:start[j+1]] {
				if !(float64(d) < floor[i*columns+j]) {
					r.all = append(r.all, d)
				}
			}
			r.end()
		}
	}
}

// byRow is what has distances by rows of cells: piles, or what was taken of them.
type byRow interface {
	count(i int) int // of row i
	row(i int, room *rowOf) *rowOf
}

// someOf takes cellSample of each cell's distances, or all where there are no more.
func (m *Map) someOf(cells byRow) rowsOf {
	some := make(rowsOf, len(m.Station))
	m.eachRow(cells, func(i int, row *rowOf) {
		few := rowOf{make([]float32, 0, min(len(row.all), len(m.Arc)*cellSample)), make([]int32, 1, len(m.Arc)+1)}
		for j := range m.Arc {
			ds := row.columns(j, j)
			if n := len(ds); n <= cellSample {
				few.all = append(few.all, ds...)
			} else {
				for k := range cellSample {
					few.all = append(few.all, ds[k*n/cellSample])
				}
			}
			few.end()
		}
		some[i] = few
	})
	return some
}

// eachRow calls do for the rows of cells, on all processors at once.
func (m *Map) eachRow(cells byRow, do func(i int, row *rowOf)) {
	const few = 8 // rows that share room
	n := len(m.Station)
	scan.OnAllProcessors((n+few-1)/few, func(c int) {
		var room rowOf
		for i := c * few; i < min((c+1)*few, n); i++ {
			do(i, cells.row(i, &room))
		}
	})
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

package fit

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
	"tipwright/section"
)

const (
	leastCells = 200  // seen cells without which no form can be told
	leastSE    = 0.25 // of the median standard error: a single cell never weighs more than 16 usual ones
	exactSE    = 0.03 // mm: nor is a cell of an exact mesh closer to the form than a form is to a wing
	hingeGap   = 6.0  // mm on each side of the hinge line that are neither wing nor aileron
	tailGap    = 4.0  // mm before the tail, where points of its face are taken for skin
	farRows    = 1.0  // chords inboard up to which the rows of the map bear on the tip ...
	beyondBand = 0.3  // ... and at least so many chords more than the band
)

// panel is the part of the map that bears on the tip: the departures with their weights, and which piece
// of the wing each column belongs to. A cell's index is row·columns + column.
type panel struct {
	arc, station []float64 // mm, centres
	dArc         float64   // mm, width of a column at station 0
	height       []float64 // mm, of each row along the station
	y, se, w     []float64 // departure, its standard error, 1/se²; w is 0 where nothing was seen
	rowWeight    []float64 // sum of w by row
	points       []float64 // of the scan in each cell
	round        int       // cells round an empty one that tell whether the skin was seen there; see lookRound
	piece        []int     // of each column: upper aileron, wing, lower aileron
	runs         [][2]int  // the first column of each piece and the one after its last
	swaths       []swath
	length       float64 // mm, whole arc
	nose         float64 // mm
	hinge        [2]float64
	chord, taper float64
	contour      *contour
	axis         r2.Vec             // of the hinge, unit section
	turnOff      float64            // rad, how far off the loft's deflection usually is
	usual        float64            // median standard error; see usualSE
	spreads      map[kernel]*spread // see spreadOf
	room, room2  layer              // sums along the arc, for one window at a time
	scratch      []float64          // as many as cells, for means that are not kept
	laps         *laps              // steps of the skin that have been taken from y; the form gives them back
}

// The pieces of the outline that the hinge line parts. Nothing is smoothed across it.
const (
	upperAileron = iota
	mainPiece
	lowerAileron
)

func newPanel(s *section.Survey, band float64) (*panel, error) {
	m := &s.Map
	p := &panel{arc: m.Arc, length: m.Length, nose: m.NoseArc, hinge: m.HingeArc,
		chord: s.Loft.Chord, taper: s.Loft.Taper, contour: newContour(&s.Loft), axis: r2.Vec{X: s.Loft.Hinge, Y: s.Loft.HingeZ}, turnOff: usualTurn(s)}
	reach := math.Max(farRows*s.Loft.Chord, band+beyondBand*s.Loft.Chord)
	for _, st := range m.Station {
		if st >= 0 && (st <= reach || len(p.station) == 0) {
			p.station = append(p.station, st)
		}
	}
	if len(p.arc) < 8 || len(p.station) == 0 || len(m.Cells) < len(p.arc)*len(m.Station) {
		return nil, scan.Refusef("too-little-skin", "Scan the outboard wing again, from all round.",
			"The scan shows too little of the skin to make templates from.")
	}
	p.dArc = m.Length / float64(len(p.arc))
	p.rowHeights()
	p.pieces()
	first := slices.Index(m.Station, p.station[0])
	p.weigh(m.Cells[first*len(p.arc) : (first+len(p.station))*len(p.arc)])
	p.round = p.lookRound()
	p.usualSE()
	for i := range p.station {
		sum := 0.0
		for _, w := range p.w[i*len(p.arc) : (i+1)*len(p.arc)] {
			sum += w
		}
		p.rowWeight = append(p.rowWeight, sum)
	}
	seen := 0
	for _, w := range p.w {
		if w > 0 {
			seen++
		}
	}
	if seen < leastCells {
		return nil, scan.Refusef("too-little-skin", "Scan the outboard wing again, from all round.",
			"The scan shows too little of the skin (%d cells of %d) to make templates from.", seen, len(p.w))
	}
	return p, nil
}

// rowHeights makes each row reach halfway to its neighbours, the first to station 0.
func (p *panel) rowHeights() {
	n := len(p.station)
	p.height = make([]float64, n)
	edge := 0.0
	for i, st := range p.station {
		next := 2*st - edge
		if i+1 < n {
			next = (st + p.station[i+1]) / 2
		}
		p.height[i] = next - edge
		edge = next
	}
}

func (p *panel) pieces() {
	p.piece = make([]int, len(p.arc))
	for j, a := range p.arc {
		switch {
		case a < p.hinge[0]: // false for NaN
			p.piece[j] = upperAileron
		case a > p.hinge[1]:
			p.piece[j] = lowerAileron
		default:
			p.piece[j] = mainPiece
		}
	}
	for from := 0; from < len(p.piece); {
		to := from
		for to < len(p.piece) && p.piece[to] == p.piece[from] {
			to++
		}
		p.runs = append(p.runs, [2]int{from, to})
		from = to
	}
	p.swaths = swaths(p.runs)
}

// runAt returns the first column of the piece that a column belongs to and the one after its last.
func (p *panel) runAt(column int) [2]int {
	for _, run := range p.runs {
		if column < run[1] {
			return run
		}
	}
	return [2]int{}
}

func (p *panel) weigh(cells []section.Cell) {
	n := len(cells)
	p.y, p.se, p.w = make([]float64, n), make([]float64, n), make([]float64, n)
	p.points = make([]float64, n)
	for k, c := range cells {
		p.points[k] = math.Max(float64(c.N), 0)
	}
	all := make([]float64, 0, n)
	usable := func(c section.Cell) bool {
		return c.N > 0 && c.SE > 0 && !math.IsInf(c.SE, 0) && !math.IsNaN(c.Departure) && !math.IsInf(c.Departure, 0)
	}
	for _, c := range cells {
		if usable(c) {
			all = append(all, c.SE)
		}
	}
	if len(all) == 0 {
		return
	}
	floor := math.Max(leastSE*median(all), exactSE)
	p.scratch = all[:n]
	for k, c := range cells {
		arc := p.arc[k%len(p.arc)]
		if math.Abs(arc-p.hinge[0]) < hingeGap || math.Abs(arc-p.hinge[1]) < hingeGap || math.Min(arc, p.length-arc) < tailGap {
			continue
		}
		if usable(c) {
			p.y[k], p.se[k] = c.Departure, math.Max(c.SE, floor)
			p.w[k] = 1 / (p.se[k] * p.se[k])
		}
	}
}

func (p *panel) columns() int { return len(p.arc) }
func (p *panel) rows() int    { return len(p.station) }

// area returns the area of the cells of a row, mm²: arcs grow with the chord.
func (p *panel) area(row int) float64 {
	return p.dArc * (1 + p.taper*p.station[row]/p.chord) * p.height[row]
}

// span returns how far the rows reach, mm.
func (p *panel) span() float64 {
	n := len(p.station)
	return p.station[n-1] + p.height[n-1]/2
}

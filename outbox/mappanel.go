package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// skinPanel is one skin on the filler map.
type skinPanel struct {
	*mapSheet
	surface fit.Surface
	base    r2.Vec // the nose at the tip edge
	aft, in r2.Vec // unit vectors on the sheet
	depth   field  // over mm from the nose and station; 0 where nothing is told
	seen    field  // 1 seen, 0 not
	told    field  // the least depth that can be told here less the limit for acting; positive: cannot be told
}

// panel gathers the columns of one skin, with the nose, the tail and the band's edges added to the grid.
func (s *mapSheet) panel(surface fit.Surface) *skinPanel {
	m := &s.res.Map
	p := &skinPanel{mapSheet: s, surface: surface}
	p.lie()
	var columns []int
	var x []float64
	for j, arc := range m.Arc {
		if (arc <= m.NoseArc) == (surface == fit.Upper) {
			columns = append(columns, j)
			x = append(x, math.Abs(arc-m.NoseArc))
		}
	}
	if surface == fit.Upper { // from the nose aft
		for a, b := 0, len(x)-1; a < b; a, b = a+1, b-1 {
			columns[a], columns[b], x[a], x[b] = columns[b], columns[a], x[b], x[a]
		}
	}
	p.fill(columns, x)
	return p
}

// lie sets where the skin lies on the sheet: folded open along the tip edge.
func (p *skinPanel) lie() {
	lower := p.surface == fit.Lower
	p.base, p.aft, p.in = vec(mapNose, mapTop+p.band), vec(1, 0), vec(0, -1)
	if lower {
		p.base.Y, p.in.Y = p.base.Y+mapGap, 1
	}
	if p.right {
		p.base.X, p.aft.X = p.width-mapNose, -1
	}
	if p.upright { // turned so that aft points down
		p.aft, p.in = vec(0, 1), vec(-p.in.Y*p.aft.X, 0)
		p.base = vec(p.width/2+p.in.X*uprightGap*p.larger()/2, uprightTop*p.larger())
	}
}

// length returns how far it is from the nose to the tail round this skin at the tip rib.
func (p *skinPanel) length() float64 {
	if p.surface == fit.Upper {
		return p.res.Map.NoseArc
	}
	return p.res.Map.Length - p.res.Map.NoseArc
}

// fill copies the map into the panel's fields; the added edges repeat the nearest row and column.
func (p *skinPanel) fill(columns []int, x []float64) {
	m := &p.res.Map
	if len(columns) == 0 {
		return
	}
	columns = append(append([]int{columns[0]}, columns...), columns[len(columns)-1])
	x = append(append([]float64{0}, x...), p.length())
	y := append(append([]float64{0}, m.Station...), p.band)
	for _, f := range []*field{&p.depth, &p.seen, &p.told} {
		*f = field{x, y, make([]float64, 0, len(x)*len(y))}
	}
	for i := range y {
		row := min(max(i-1, 0), len(m.Station)-1)
		for _, j := range columns {
			k := row*len(m.Arc) + j
			d, seen, told := 0.0, 0.0, 0.0
			if m.Seen[k] {
				seen = 1
				told = m.U[k] - p.blind()
				d = p.shown(k, m.Arc[j], m.Station[row])
			}
			p.depth.values = append(p.depth.values, d)
			p.seen.values = append(p.seen.values, seen)
			p.told.values = append(p.told.values, told)
		}
	}
}

// shown returns the depth of cell k as far as it is told: within a spot of its kind what exceeds the cell's own
// uncertainty, elsewhere what exceeds the detection limit as well.
func (p *skinPanel) shown(k int, arc, station float64) float64 {
	d, least := p.res.Map.Depth[k], p.res.Map.U[k]
	list := p.res.LowSpots
	if d < 0 {
		list = p.res.HighSpots
	}
	if !p.inside(list, vec(arc, station)) {
		least = math.Max(least, p.res.DetectionLimit)
	}
	if math.Abs(d) <= least {
		return 0
	}
	return d
}

// inside reports whether a place, arc and station, lies within the outline of one of the spots.
func (p *skinPanel) inside(list []fit.Spot, q r2.Vec) bool {
	for _, s := range list {
		if s.Surface == p.surface && within(q, s.Outline) {
			return true
		}
	}
	return false
}

// within reports whether q lies inside a loop.
func within(q r2.Vec, loop []r2.Vec) bool {
	in := false
	for i, b := range loop {
		a := loop[(i+len(loop)-1)%len(loop)]
		if (a.Y <= q.Y) != (b.Y <= q.Y) && a.X+(b.X-a.X)*(q.Y-a.Y)/(b.Y-a.Y) < q.X {
			in = !in
		}
	}
	return in
}

// blind is the uncertainty above which a place is marked as one where the scan cannot tell: twice the
// detection limit, so that a depth that would show elsewhere is lost there.
func (p *skinPanel) blind() float64 { return 2 * math.Max(p.res.DetectionLimit, 0.05) }

// place takes mm from the nose and a station to the sheet.
func (p *skinPanel) place(fromNose, station float64) r2.Vec {
	d := fromNose * grown(&p.res.Survey.Loft, station)
	return r2.Add(p.base, r2.Add(r2.Scale(d, p.aft), r2.Scale(station, p.in)))
}

func (p *skinPanel) placed(loops [][]r2.Vec) [][]r2.Vec {
	return mapped(loops, func(q r2.Vec) r2.Vec { return p.place(q.X, q.Y) })
}

// edge returns the loop round the skin.
func (p *skinPanel) edge() []r2.Vec {
	n := p.length()
	return []r2.Vec{p.place(0, 0), p.place(n, 0), p.place(n, p.band), p.place(0, p.band)}
}

// draw fills the skin with what is known of it.
func (p *skinPanel) draw() {
	p.area(skin, p.edge())
	if len(p.depth.values) > 0 {
		p.highGround()
		p.bands(p.depth, p.lows, low)
		lowered := field{p.depth.x, p.depth.y, make([]float64, len(p.depth.values))}
		for k, d := range p.depth.values {
			lowered.values[k] = -d
		}
		p.bands(lowered, p.highs, highBand)
		if blind := p.placed(p.told.above(1e-9)); len(blind) > 0 {
			p.area(muted, dots(blind, 13, 1.7)...)
		}
		p.unseen()
	}
	p.hinge()
	p.add(mark{loops: [][]r2.Vec{p.edge()}, closed: true, stroke: ink, width: 1.6})
	nose := p.place(0, 0)
	tip := p.place(p.length(), 0)
	p.line(ink, 4, nose, tip)
}

// highGround tints the high spots: the finished surface is raised over them, so that they need not stand
// proud of it.
func (p *skinPanel) highGround() {
	for _, s := range p.res.HighSpots {
		if s.Surface == p.surface && len(s.Outline) > 2 {
			p.area(high(0), p.outline(s))
		}
	}
}

// outline returns the edge of a spot on the sheet.
func (p *skinPanel) outline(s fit.Spot) []r2.Vec {
	loop := make([]r2.Vec, len(s.Outline))
	for i, q := range s.Outline {
		loop[i] = p.place(math.Abs(q.X-p.res.Map.NoseArc), math.Min(math.Max(q.Y, 0), p.band))
	}
	return loop
}

// highBand returns the tone of a band above the finished surface: the palest is the high spots' own.
func highBand(k int) tone { return high(k + 1) }

// bands fills the regions above each level and labels their edges, the deepest first.
func (p *skinPanel) bands(f field, levels []float64, of func(int) tone) {
	edges := make([][][]r2.Vec, len(levels))
	for k, level := range levels {
		edges[k] = p.placed(f.above(level))
		if len(edges[k]) > 0 {
			p.area(levelTone(of, k, len(levels)), edges[k]...)
			p.add(mark{loops: edges[k], closed: true, stroke: ink, width: 0.5})
		}
	}
	for k := len(levels) - 1; k > 0; k-- { // at the first one the spot's own edge runs
		for _, l := range edges[k] {
			p.levelLabel(l, levels[k])
		}
	}
}

// levelLabel writes a level at the far end of its loop, if the loop is large enough and the place free.
func (p *skinPanel) levelLabel(loop []r2.Vec, level float64) {
	lo, hi := extentOf(loop)
	if hi.X-lo.X < 3.5*p.small() || hi.Y-lo.Y < 2*p.small() {
		return
	}
	size := 0.95 * p.small()
	at := vec((lo.X+hi.X)/2, lo.Y+0.35*size)
	if p.in.Y > 0 {
		at.Y = hi.Y + 0.35*size
	}
	text := levelText(level)
	w := textWidth(text, size)
	if place := [4]float64{at.X - w/2, at.Y - size, at.X + w/2, at.Y}; p.free(place) {
		p.taken = append(p.taken, place)
		p.words(ink, size, at, middleAt, text).halo = skin
	}
}

// extentOf returns the box of a loop.
func extentOf(loop []r2.Vec) (lo, hi r2.Vec) {
	lo, hi = loop[0], loop[0]
	for _, q := range loop {
		lo, hi = corners(lo, hi, q)
	}
	return lo, hi
}

func levelText(level float64) string {
	if math.Abs(level*10-math.Round(level*10)) < 1e-6 {
		return fmt.Sprintf("%.1f", level)
	}
	return fmt.Sprintf("%.2f", level)
}

// unseen hatches what no scan shows.
func (p *skinPanel) unseen() {
	not := field{p.seen.x, p.seen.y, make([]float64, len(p.seen.values))}
	for k, v := range p.seen.values {
		not.values[k] = 1 - v
	}
	if loops := p.placed(not.above(0.5)); len(loops) > 0 {
		p.area(ground, loops...)
		p.lines(muted, 1.2, hatch(loops, 10))
		p.add(mark{loops: loops, closed: true, stroke: muted, width: 1})
		for _, l := range loops {
			lo, hi := extentOf(l)
			p.taken = append(p.taken, [4]float64{lo.X, lo.Y, hi.X, hi.Y})
		}
	}
}

// hinge draws the hinge line.
func (p *skinPanel) hinge() {
	arc, ok := p.hingeArc()
	if !ok {
		return
	}
	d := math.Abs(arc - p.res.Map.NoseArc)
	p.line(ink, 1.2, p.place(d, 0), p.place(d, p.band)).dash = []float64{14, 5, 3, 5}
	at := p.place(d, p.band)
	if p.upright {
		w := p.words(muted, p.small(), vec(p.place(d, p.band/2).X, at.Y-8), middleAt, "hinge line")
		w.halo = skin
		return
	}
	y := at.Y - 6
	if p.in.Y > 0 {
		y = at.Y + 1.1*mapSmall
	}
	p.words(muted, mapSmall, vec(at.X, y), middleAt, "hinge line")
}

// stationRuler draws the ruler from the tip beside the nose, and the skin's name.
func (p *skinPanel) stationRuler() {
	side := endAt
	if p.right {
		side = startAt
	}
	for st := 0.0; st <= p.band+0.5; st += 50 {
		at := p.place(0, st)
		p.line(muted, 1, at, vec(p.beside(at.X, -8), at.Y))
		if math.Mod(st, 100) == 0 && st > 0 {
			p.words(muted, mapSmall, vec(p.beside(at.X, -12), at.Y+0.35*mapSmall), side, fmt.Sprintf("%.0f", st))
		}
	}
	name, at := "UPPER SKIN", p.place(10, p.band-24)
	if p.in.Y > 0 {
		name, at = "LOWER SKIN", p.place(10, p.band-10)
	}
	inside := startAt
	if p.right {
		inside = endAt
	}
	p.words(ink, mapSmall, at, inside, name+" · inboard "+arrow(p.in.Y)).halo = skin
	if p.in.Y < 0 {
		p.words(muted, mapSmall, vec(p.beside(p.place(0, 0).X, -12), p.base.Y+0.35*mapSmall), side, "0")
	}
}

func arrow(inboard float64) string {
	if inboard < 0 {
		return "↑"
	}
	return "↓"
}

package outbox

import (
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
)

// skinMesh is the scanned panel as a grid of points, coloured by departure: for the view in the report and
// for other viewers. Rows run by station from the tip rib, columns along the outline from the upper trailing
// edge round the nose to the lower one. Wing frame, mm; the aileron as it stood.
type skinMesh struct {
	rows, cols int
	station    []float64 // of the rows
	x          []float64 // of the columns, aft of the leading edge at the tip rib, aileron faired
	upper      []bool    // of the columns
	nodes      []skinNode
	span       float64 // mm: departures of this size have the strongest colour
	inboard    float64 // sign of Y inboard
}

// skinNode is one point of the mesh.
type skinNode struct {
	base      r3.Vec // on the nominal
	normal    r3.Vec // outward, unit
	departure float64
	u         float64 // k = 2
	seen      bool
}

// at returns the point of the skin itself.
func (n *skinNode) at() r3.Vec { return r3.Add(n.base, r3.Scale(n.departure, n.normal)) }

// The mesh is bounded, however large the panel: it has to travel in a page.
const (
	mostMeshColumns = 240
	mostMeshRows    = 120
)

// newSkinMesh gathers the survey's map, neighbouring cells together where there are many.
func newSkinMesh(s *section.Survey) *skinMesh {
	m := &s.Map
	step := max(1, (len(m.Arc)+mostMeshColumns-1)/mostMeshColumns)
	rowStep := max(1, (len(m.Station)+mostMeshRows-1)/mostMeshRows)
	g := &skinMesh{rows: len(m.Station) / rowStep, cols: len(m.Arc) / step, inboard: s.Side.Inboard()}
	skin := newNeutralSkin(s)
	standing := 0.0
	if s.Deflection != nil {
		standing = s.Loft.Deflection
	}
	for j := range g.cols {
		arc := m.Arc[j*step+step/2]
		g.x = append(g.x, math.Max(skin.at(arc, 0, 0).X, 0))
		g.upper = append(g.upper, arc <= m.NoseArc)
	}
	g.nodes = make([]skinNode, 0, g.rows*g.cols)
	for i := range g.rows {
		st := m.Station[i*rowStep+rowStep/2]
		g.station = append(g.station, st)
		for j := range g.cols {
			n := gathered(m, i*rowStep, rowStep, j*step, step)
			arc := m.Arc[j*step+step/2]
			n.base = g.wing(skin.lifted(arc, 0, standing, st), st)
			n.normal = r3.Unit(r3.Sub(g.wing(skin.lifted(arc, 1, standing, st), st), n.base))
			g.nodes = append(g.nodes, n)
		}
	}
	g.span = g.strongest()
	return g
}

// wing takes a point of the section frame at a station to the wing frame.
func (g *skinMesh) wing(p r2.Vec, station float64) r3.Vec {
	return r3.Vec{X: p.X, Y: g.inboard * station, Z: p.Y}
}

// gathered averages the seen cells of a block. Their errors hardly average out, since points that
// lie close err together: the mean of their uncertainties stays.
func gathered(m *section.Map, row, rows, col, cols int) skinNode {
	var n skinNode
	count := 0.0
	for i := row; i < row+rows; i++ {
		for j := col; j < col+cols; j++ {
			if c := m.At(i, j); c.N > 0 {
				n.departure, n.u = n.departure+c.Departure, n.u+2*c.SE
				count++
			}
		}
	}
	if count > 0 {
		n.departure, n.u, n.seen = n.departure/count, n.u/count, true
	}
	return n
}

// strongest returns a round size that 98 of 100 departures do not exceed.
func (g *skinMesh) strongest() float64 {
	var all []float64
	for _, n := range g.nodes {
		if n.seen {
			all = append(all, math.Abs(n.departure))
		}
	}
	if len(all) == 0 {
		return 1
	}
	slices.Sort(all)
	return math.Max(0.5, math.Ceil(all[len(all)*98/100]*2-1e-9)/2)
}

// departureColour returns the colour of a departure, -1 to 1 of the span: blue is low, orange is high.
func departureColour(share float64) color.RGBA {
	t := math.Min(math.Abs(share), 1)
	if share < 0 {
		return byDay(t, lowHue)
	}
	return byDay(t, highHue)
}

// faces returns the indices of the mesh's four-cornered faces all of whose corners are seen, run round so
// that their outer side is that of the right-hand rule.
func (g *skinMesh) faces() [][4]int {
	var out [][4]int
	for i := range g.rows - 1 {
		for j := range g.cols - 1 {
			k := i*g.cols + j
			f := [4]int{k, k + g.cols, k + g.cols + 1, k + 1}
			if g.inboard < 0 {
				f[1], f[3] = f[3], f[1]
			}
			if !slices.ContainsFunc(f[:], func(v int) bool { return !g.nodes[v].seen }) {
				out = append(out, f)
			}
		}
	}
	return out
}

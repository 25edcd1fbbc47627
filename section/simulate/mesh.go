package simulate

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/spatial/r3"
)

// column is one spanwise line of the mesh: a line of the skin, or of the aft face of the tail.
type column struct {
	arc    float64 // chords; of a skin's line
	room   float64 // chords to either side within which the line's vertices may stray
	tail   bool
	share  float64 // of a tail's line: from the lower skin (0) to the upper (1)
	joined bool    // to the next column; the last one's next is the first
}

// grid is the mesh of the panel while it is laid: the columns run once round the section.
type grid struct {
	columns []column
	nose    int        // index of the nose's column
	aft     int        // columns from the nose to either tail
	rows    int        // stations
	rib     int        // row at the tip rib's face, 0 without an overhang
	vertex  [][]uint32 // by column and row
}

// mesh lays a welded grid of triangles over the skins, the aft face of the tail and the closed ends.
func (b *builder) mesh() {
	r := b.stream(meshStream)
	g := b.newGrid()
	b.layVertices(g, r)
	b.layCells(g, r)
	if b.s.RibFace == Closed {
		b.layFace(g, g.rib)
	}
	if b.s.InboardClosed {
		b.layFace(g, g.rows-1)
	}
	b.dropUnused()
}

// newGrid chooses the columns: on both skins the same number, so that each has its partner opposite.
func (b *builder) newGrid() *grid {
	g := &grid{rows: max(int(b.w.Span/b.spacing()), 1) + 1}
	if b.w.Overhang > 0 {
		g.rib = max(int(b.w.Overhang/b.spacing()), 1)
		g.rows += g.rib
	}
	upper, lower := b.skinColumns(Upper), b.skinColumns(Lower)
	g.aft = len(upper) - 1
	g.nose = g.aft
	for i := range upper {
		c := upper[g.aft-i]
		if i < g.aft {
			c.joined = upper[g.aft-i-1].joined // columns now run forward
		}
		g.columns = append(g.columns, c)
	}
	g.columns[g.nose] = lower[0]
	g.columns = append(g.columns, lower[1:]...)
	if b.s.OneSurface == Both && b.s.TailMissed == 0 {
		b.addTail(g)
	}
	return g
}

// skinColumns returns the columns of one skin from the nose to the tail, with a break at the hinge.
func (b *builder) skinColumns(side Surface) []column {
	c, gap := b.skin.c, max(b.w.HingeGap/2/b.w.Chord, 1e-7)
	bounds := []float64{c.front, 1}
	if b.w.Hinge > 0 && (b.w.HingeGap > 0 || b.w.Deflection != 0) {
		bounds = []float64{c.front, b.w.Hinge - gap, b.w.Hinge + gap, 1}
	}
	var out []column
	for i := 0; i < len(bounds); i += 2 {
		from, to := c.arcOf(side, bounds[i]), c.arcOf(side, bounds[i+1])
		if i == 0 {
			from = c.nose
		}
		// Counted on the upper skin for both.
		length := math.Abs(c.arcOf(Upper, bounds[i+1]) - c.arcOf(Upper, bounds[i]))
		n := max(int(length*b.w.Chord/b.spacing()), 2)
		for j := range n + 1 {
			col := column{arc: from + (to-from)*float64(j)/float64(n), joined: j < n || i+2 < len(bounds) && b.s.Tape}
			if j > 0 && j < n {
				col.room = math.Abs(to-from) / float64(n) / 4
			}
			out = append(out, col)
		}
	}
	return out
}

// addTail closes the ring over the aft face, or at the sharp tail itself.
func (b *builder) addTail(g *grid) {
	last := len(g.columns) - 1
	g.columns[last].joined = true
	thick := b.tailThickness()
	if thick < 1e-6 {
		return
	}
	n := max(int(thick/b.spacing()), 1)
	for i := 1; i < n; i++ {
		g.columns = append(g.columns, column{tail: true, share: float64(i) / float64(n), joined: true})
	}
}

// sharp reports whether the last column falls together with the first.
func (b *builder) sharp(g *grid) bool {
	last := g.columns[len(g.columns)-1]
	return last.joined && !last.tail && b.tailThickness() < 1e-6
}

// layVertices makes the vertices, shaken within their cells but for those on edges.
func (b *builder) layVertices(g *grid, r *rand.Rand) {
	for _, c := range g.columns {
		line := make([]uint32, g.rows)
		for row := range line {
			shake, along := r.Float64()-0.5, 0.5*(r.Float64()-0.5)
			if row == 0 || row == g.rib || row == g.rows-1 {
				along = 0
			}
			arc := c.arc + 2*c.room*shake
			line[row] = uint32(len(b.vertices))
			b.vertices = append(b.vertices, b.gridPoint(c, arc, b.rowStation(g, float64(row)+along, arc)))
		}
		g.vertex = append(g.vertex, line)
	}
	if b.sharp(g) {
		g.vertex[len(g.vertex)-1] = g.vertex[0]
	}
}

// rowStation returns the station of a row at an arc: rows run from the skin's edge, with one at the tip rib.
func (b *builder) rowStation(g *grid, row, arc float64) float64 {
	edge, rib, last := b.edge(arc), float64(g.rib), float64(g.rows-1)
	switch {
	case b.s.RibFace == Ragged:
		return edge + (b.w.Span-edge)*row/last
	case row < rib:
		return edge * (1 - row/rib)
	}
	return b.w.Span * (row - rib) / (last - rib)
}

// gridPoint returns one vertex of the mesh.
func (b *builder) gridPoint(c column, arc, station float64) vertex {
	if c.tail {
		return b.tail(c.share, station)
	}
	p := b.skin.at(arc, station)
	if b.s.Tape && b.w.Hinge > 0 {
		p = b.taped(arc, station, p)
	}
	return p
}

// layCells joins neighbouring columns by triangles, and leaves out what is not seen.
func (b *builder) layCells(g *grid, r *rand.Rand) {
	n := len(g.columns)
	for j, c := range g.columns {
		k := (j + 1) % n
		if !c.joined || b.sharp(g) && j == n-1 {
			continue
		}
		for row := range g.rows - 1 {
			quad := [4]uint32{g.vertex[j][row], g.vertex[j][row+1], g.vertex[k][row+1], g.vertex[k][row]}
			turn := r.IntN(2)
			for _, t := range [2][3]int{{0, 1, 2}, {0, 2, 3}} {
				t := [3]uint32{quad[(t[0]+turn)%4], quad[(t[1]+turn)%4], quad[(t[2]+turn)%4]}
				if b.cellSeen(c, g.columns[k], t) {
					b.addTriangle(t, false)
				}
			}
		}
	}
}

// cellSeen reports whether the middle of a triangle between two columns is seen.
func (b *builder) cellSeen(c, next column, t [3]uint32) bool {
	var p r3.Vec
	for _, i := range t {
		p = r3.Add(p, r3.Scale(1.0/3, b.vertices[i].p))
	}
	if c.tail || next.tail || c.arc > next.arc {
		return !b.shadowed(p)
	}
	return b.seen((c.arc+next.arc)/2, p.Y*b.w.Side.Inboard(), p)
}

// addTriangle adds a triangle given as for a left wing, outside foremost.
func (b *builder) addTriangle(t [3]uint32, flip bool) {
	if flip != (b.w.Side.Inboard() < 0) {
		t[1], t[2] = t[2], t[1]
	}
	b.triangles = append(b.triangles, t)
}

// layFace closes an end: a chain of vertices from each column of the upper skin to its partner on the
// lower, and triangles between neighbouring chains.
func (b *builder) layFace(g *grid, row int) {
	var fore []uint32
	for i := range g.aft + 1 {
		chain := b.chain(g, i, row)
		if i > 0 && g.columns[g.nose-i].joined {
			b.zip(chain, fore, row > g.rib)
		}
		fore = chain
	}
}

// chain returns the vertices of an end face between the i-th columns aft of the nose, upper to lower.
func (b *builder) chain(g *grid, i, row int) []uint32 {
	top, bottom := g.vertex[g.nose-i][row], g.vertex[g.nose+i][row]
	if top == bottom {
		return []uint32{top}
	}
	out := []uint32{top}
	if i == g.aft && len(g.columns) > 2*g.aft+1 {
		for j := len(g.columns) - 1; j > 2*g.aft; j-- {
			out = append(out, g.vertex[j][row])
		}
		return append(out, bottom)
	}
	a, z := b.vertices[top].p, b.vertices[bottom].p
	n := int(r3.Norm(r3.Sub(z, a)) / b.spacing())
	for k := 1; k < n; k++ {
		p := r3.Add(a, r3.Scale(float64(k)/float64(n), r3.Sub(z, a)))
		out = append(out, uint32(len(b.vertices)))
		b.vertices = append(b.vertices, vertex{p: p, n: b.outboard(row > g.rib)})
	}
	return append(out, bottom)
}

// zip fills the strip between two chains, advancing on the one that lags.
func (b *builder) zip(aft, fore []uint32, flip bool) {
	for i, j := 0, 0; i < len(aft)-1 || j < len(fore)-1; {
		if j == len(fore)-1 || i < len(aft)-1 && (i+1)*(len(fore)-1) <= (j+1)*(len(aft)-1) {
			b.addTriangle([3]uint32{aft[i], fore[j], aft[i+1]}, flip)
			i++
		} else {
			b.addTriangle([3]uint32{aft[i], fore[j], fore[j+1]}, flip)
			j++
		}
	}
}

// dropUnused removes vertices that no triangle holds.
func (b *builder) dropUnused() {
	used := make([]bool, len(b.vertices))
	for _, t := range b.triangles {
		used[t[0]], used[t[1]], used[t[2]] = true, true, true
	}
	to := make([]uint32, len(b.vertices))
	kept := b.vertices[:0]
	for i, v := range b.vertices {
		to[i] = uint32(len(kept))
		if used[i] {
			kept = append(kept, v)
		}
	}
	b.vertices = kept
	for i, t := range b.triangles {
		b.triangles[i] = [3]uint32{to[t[0]], to[t[1]], to[t[2]]}
	}
}

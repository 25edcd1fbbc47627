package section

import (
	"math/bits"

	"gonum.org/v1/gonum/spatial/r3"
)

// voxels gathers points into the cells of a cubic grid, which are numbered as they come. Cells are kept in blocks, since
// a surface that passes through one cell passes through its neighbours too: the neighbourhoods of all cells of a block
// are read from one copy of the block and its surroundings.
type voxels struct {
	edge, perEdge float64
	keys          []voxelKey // of the blocks
	blocks        []voxelBlock
	slots         []int32             // blocks by a sum of their keys, plus one, in the first free place from there on; 0: free
	recent        [recentBlocks]int32 // blocks that were asked for last, by another sum
	sums          []mean              // of the cells' points
}

// mean is the middle of so many points, or while they are gathered their sum.
type mean struct {
	at    r3.Vec
	count int
}

// voxelKey is the place of a cell or of a block.
type voxelKey [3]int32

const (
	blockBits   = 2
	blockEdge   = 1 << blockBits
	voxelReach  = 2 // cells along each axis that a neighbourhood reaches
	surroundRow = blockEdge + 2*voxelReach
	mostNear    = (2*voxelReach + 1) * (2*voxelReach + 1) * (2*voxelReach + 1)

	recentBlocks = 512
	usualCells   = 8 // of a block
)

// voxelBlock holds the number of each of its cells that have one, and a bit for each of these.
type voxelBlock struct {
	number [blockEdge * blockEdge * blockEdge]int32
	held   uint64
}

// surroundings are the cells of a block and those within reach of it: their numbers, and a bit for each of those that
// have one, of which a word holds the cells at one x.
type surroundings struct {
	number [surroundRow * surroundRow * surroundRow]int32
	held   [surroundRow]uint64
}

// newVoxels makes a grid with room for so many cells and blocks, about.
func newVoxels(edge float64, cells, blocks int) *voxels {
	return &voxels{edge: edge, perEdge: 1 / edge, slots: make([]int32, 64),
		keys: make([]voxelKey, 0, blocks), blocks: make([]voxelBlock, 0, blocks), sums: make([]mean, 0, cells)}
}

func (g *voxels) keyOf(p r3.Vec) voxelKey {
	return voxelKey{cellOf(p.X * g.perEdge), cellOf(p.Y * g.perEdge), cellOf(p.Z * g.perEdge)}
}

// cellOf rounds down, to a four-thousandth.
func cellOf(v float64) int32 {
	const far = 1 << 40 // cutting off the fraction rounds positive numbers down
	return int32(int64(v+far) - far)
}

// place splits a cell's key into its block's key and its index there.
func (k voxelKey) place() (block voxelKey, index int) {
	const within = blockEdge - 1
	return voxelKey{k[0] >> blockBits, k[1] >> blockBits, k[2] >> blockBits},
		int((k[0]&within)<<(2*blockBits) | (k[1]&within)<<blockBits | k[2]&within)
}

// slot returns where in the slots a block's number stands, or would stand.
func (g *voxels) slot(at voxelKey) int {
	h := uint32(at[0])*0x9e3779b1 ^ uint32(at[1])*0x85ebca77 ^ uint32(at[2])*0xc2b2ae3d
	for i := int(h^h>>15) & (len(g.slots) - 1); ; i = (i + 1) & (len(g.slots) - 1) {
		if n := g.slots[i]; n == 0 || g.keys[n-1] == at {
			return i
		}
	}
}

// block returns the number of the block at a place, which gets one if it has none.
func (g *voxels) block(at voxelKey) int32 {
	recent := &g.recent[uint32(at[0]+3*at[1]+9*at[2])%recentBlocks]
	if len(g.keys) > 0 && g.keys[*recent] == at { // mostly a point lies beside one shortly before
		return *recent
	}
	i := g.slot(at)
	if g.slots[i] == 0 {
		g.keys, g.blocks = append(g.keys, at), append(g.blocks, voxelBlock{})
		g.slots[i] = int32(len(g.keys))
		if 2*len(g.keys) > len(g.slots) {
			g.slots = make([]int32, 2*len(g.slots))
			for n, key := range g.keys {
				g.slots[g.slot(key)] = int32(n + 1)
			}
			i = g.slot(at)
		}
	}
	*recent = g.slots[i] - 1
	return *recent
}

// cell returns the number of a cell of a block; one that has none yet gets the next.
func (g *voxels) cell(block int32, index int) int32 {
	b := &g.blocks[block]
	if bit := uint64(1) << index; b.held&bit == 0 {
		b.held |= bit
		b.number[index] = int32(len(g.sums))
		g.sums = append(g.sums, mean{})
	}
	return b.number[index]
}

// add puts a point into its cell and returns the cell's number.
func (g *voxels) add(p r3.Vec) int32 {
	at, index := g.keyOf(p).place()
	i := g.cell(g.block(at), index)
	g.sums[i].add(p)
	return i
}

func (m *mean) add(p r3.Vec) {
	m.at.X, m.at.Y, m.at.Z = m.at.X+p.X, m.at.Y+p.Y, m.at.Z+p.Z
	m.count++
}

// addAll puts points about an origin into their cells, one after another. Mostly a point lies in the block of the one
// before, in a cell that is there.
func (g *voxels) addAll(points [][3]float32, origin r3.Vec) {
	var at voxelKey
	var block int32
	var b *voxelBlock
	for k := range points {
		q := &points[k]
		p := r3.Vec{X: origin.X + float64(q[0]), Y: origin.Y + float64(q[1]), Z: origin.Z + float64(q[2])}
		next, index := g.keyOf(p).place()
		if b == nil || next != at {
			at, block = next, g.block(next)
			b = &g.blocks[block]
		}
		if b.held>>index&1 == 0 {
			g.cell(block, index)
		}
		g.sums[b.number[index&(len(b.number)-1)]].add(p)
	}
}

// join adds what another grid of the same edge has gathered.
func (g *voxels) join(other *voxels) {
	for i := range other.blocks {
		from, to := &other.blocks[i], g.block(other.keys[i])
		for held := from.held; held != 0; held &= held - 1 {
			index := bits.TrailingZeros64(held)
			part, m := &other.sums[from.number[index]], g.cell(to, index)
			g.sums[m] = mean{r3.Add(g.sums[m].at, part.at), g.sums[m].count + part.count}
		}
	}
}

// means returns the middle of each cell's points; nothing can be added afterwards.
func (g *voxels) means() []mean {
	for i := range g.sums {
		m := &g.sums[i]
		m.at = r3.Scale(1/float64(m.count), m.at)
	}
	return g.sums
}

// gather copies block i and what lies within reach of its cells.
func (g *voxels) gather(i int, out *surroundings) {
	clear(out.held[:])
	key, held := g.keys[i], g.blocks[i].held
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for dz := int32(-1); dz <= 1; dz++ {
				if held&reaching[dx+1][dy+1][dz+1] == 0 {
					continue
				}
				if n := g.slots[g.slot(voxelKey{key[0] + dx, key[1] + dy, key[2] + dz})]; n != 0 {
					out.take(&g.blocks[n-1], overlap(dx), overlap(dy), overlap(dz))
				}
			}
		}
	}
}

// reaching is the cells of a block, a bit for each, that have cells of a neighbouring block within reach.
var reaching = func() (of [3][3][3]uint64) {
	near := func(d, at int) bool {
		return d == 1 || d == 0 && at < voxelReach || d == 2 && at >= blockEdge-voxelReach
	}
	for index := range blockEdge * blockEdge * blockEdge {
		x, y, z := index>>(2*blockBits), index>>blockBits&(blockEdge-1), index&(blockEdge-1)
		for dx := range 3 {
			for dy := range 3 {
				for dz := range 3 {
					if near(dx, x) && near(dy, y) && near(dz, z) {
						of[dx][dy][dz] |= 1 << index
					}
				}
			}
		}
	}
	return of
}()

// take copies the stretches of a block that lie within reach.
func (s *surroundings) take(b *voxelBlock, xs, ys, zs stretch) {
	within := uint64(1)<<zs.to - uint64(1)<<zs.from
	for x := xs.from; x < xs.to; x++ {
		for y := ys.from; y < ys.to; y++ {
			first := (x<<blockBits | y) << blockBits
			held := b.held >> first & within
			if held == 0 {
				continue
			}
			row := (y + ys.shift) * surroundRow
			s.held[x+xs.shift] |= held << (zs.shift + blockEdge) >> blockEdge << row
			to := (x+xs.shift)*surroundRow*surroundRow + row + zs.shift
			for z := zs.from; z < zs.to; z++ {
				s.number[to+z] = b.number[first+z]
			}
		}
	}
}

// stretch is what of a neighbouring block's cells lies in the surroundings, and how far it is shifted there.
type stretch struct{ from, to, shift int }

// overlap returns the stretch of the block d blocks away along an axis.
func overlap(d int32) stretch {
	switch d {
	case -1:
		return stretch{blockEdge - voxelReach, blockEdge, voxelReach - blockEdge}
	case 1:
		return stretch{0, voxelReach, voxelReach + blockEdge}
	}
	return stretch{0, blockEdge, voxelReach}
}

// near lists the numbers of the cells within reach of the cell with the given index in its block, in the room given.
func (s *surroundings) near(index int, room *[mostNear]int32) []int32 {
	const rows = 1 | 1<<surroundRow | 1<<(2*surroundRow) | 1<<(3*surroundRow) | 1<<(4*surroundRow)
	x, y, z := index>>(2*blockBits), index>>blockBits&(blockEdge-1), index&(blockEdge-1)
	within := uint64(rows) * (1<<(2*voxelReach+1) - 1) << (y*surroundRow + z)
	n := 0
	for i := x; i <= x+2*voxelReach; i++ {
		numbers := s.number[i*surroundRow*surroundRow : (i+1)*surroundRow*surroundRow]
		for held := s.held[i] & within; held != 0; held &= held - 1 {
			room[n] = numbers[bits.TrailingZeros64(held)]
			n++
		}
	}
	return room[:n]
}

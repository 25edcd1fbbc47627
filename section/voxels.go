package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// voxels numbers the cells of a cubic grid that hold points. Cells are kept in blocks, since a surface that
// passes through one cell passes through its neighbours too: the neighbourhoods of all cells of a block are
// read from one copy of the block and its surroundings.
type voxels struct {
	edge   float64
	number map[voxelKey]int32 // of a block in blocks
	keys   []voxelKey
	blocks []voxelBlock
	recent [recentBlocks]int32 // blocks that were asked for last, by a sum of their keys
}

// voxelKey is the place of a cell or of a block.
type voxelKey [3]int32

const (
	blockBits   = 2
	blockEdge   = 1 << blockBits
	voxelReach  = 2 // cells along each axis that a neighbourhood reaches
	surroundRow = blockEdge + 2*voxelReach

	recentBlocks = 64
)

// voxelBlock holds the number of each of its cells plus one; 0: no point.
type voxelBlock [blockEdge * blockEdge * blockEdge]int32

// surroundings are the cells of a block and those within reach of it, as numbers plus one.
type surroundings [surroundRow * surroundRow * surroundRow]int32

func newVoxels(edge float64, points int) *voxels {
	return &voxels{edge: edge, number: make(map[voxelKey]int32, points/256+16)}
}

func (g *voxels) keyOf(p r3.Vec) voxelKey {
	return voxelKey{int32(math.Floor(p.X / g.edge)), int32(math.Floor(p.Y / g.edge)), int32(math.Floor(p.Z / g.edge))}
}

// place splits a cell's key into its block's key and its index there.
func (k voxelKey) place() (block voxelKey, index int) {
	const within = blockEdge - 1
	return voxelKey{k[0] >> blockBits, k[1] >> blockBits, k[2] >> blockBits},
		int((k[0]&within)<<(2*blockBits) | (k[1]&within)<<blockBits | k[2]&within)
}

// claim returns the number of the cell that holds p; a cell that has none yet gets the next one.
func (g *voxels) claim(p r3.Vec, next int32) int32 {
	at, index := g.keyOf(p).place()
	recent := &g.recent[uint32(at[0]+3*at[1]+9*at[2])%recentBlocks]
	if len(g.keys) == 0 || g.keys[*recent] != at { // mostly a point lies beside one shortly before
		i, ok := g.number[at]
		if !ok {
			i = int32(len(g.blocks))
			g.number[at] = i
			g.keys = append(g.keys, at)
			g.blocks = append(g.blocks, voxelBlock{})
		}
		*recent = i
	}
	b := &g.blocks[*recent]
	if b[index] == 0 {
		b[index] = next + 1
	}
	return b[index] - 1
}

// gather copies block i and what lies within reach of it.
func (g *voxels) gather(i int, out *surroundings) {
	clear(out[:])
	key := g.keys[i]
	for dx := int32(-1); dx <= 1; dx++ {
		for dy := int32(-1); dy <= 1; dy++ {
			for dz := int32(-1); dz <= 1; dz++ {
				j, ok := g.number[voxelKey{key[0] + dx, key[1] + dy, key[2] + dz}]
				if !ok {
					continue
				}
				xs, ys, zs := overlap(dx), overlap(dy), overlap(dz)
				for x := xs.from; x < xs.to; x++ {
					for y := ys.from; y < ys.to; y++ {
						row := g.blocks[j][(x<<blockBits|y)<<blockBits:]
						at := ((x+xs.shift)*surroundRow+y+ys.shift)*surroundRow + zs.shift
						copy(out[at+zs.from:at+zs.to], row[zs.from:zs.to])
					}
				}
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

// near appends the numbers of the cells within reach of the cell with the given index in its block.
func (s *surroundings) near(index int, out []int32) []int32 {
	x, y, z := index>>(2*blockBits), index>>blockBits&(blockEdge-1), index&(blockEdge-1)
	for i := range 2*voxelReach + 1 {
		for j := range 2*voxelReach + 1 {
			at := ((x+i)*surroundRow+y+j)*surroundRow + z
			for _, n := range s[at : at+2*voxelReach+1] {
				if n != 0 {
					out = append(out, n-1)
				}
			}
		}
	}
	return out
}

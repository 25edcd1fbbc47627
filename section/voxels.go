package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// voxels numbers the cells of a cubic grid that hold points. Cells are kept in blocks, since a surface that
// passes through one cell passes through its neighbours too: a neighbourhood costs one or two lookups, not a
// hundred.
type voxels struct {
	edge   float64
	blocks map[voxelKey]*voxelBlock
}

// voxelKey is the place of a cell or of a block.
type voxelKey [3]int32

const (
	blockBits = 2
	blockEdge = 1 << blockBits
)

// voxelBlock holds the number of each of its cells plus one; 0: no point.
type voxelBlock [blockEdge * blockEdge * blockEdge]int32

func newVoxels(edge float64, points int) *voxels {
	return &voxels{edge: edge, blocks: make(map[voxelKey]*voxelBlock, points/256+16)}
}

func (g *voxels) keyOf(p r3.Vec) voxelKey {
	return voxelKey{int32(math.Floor(p.X / g.edge)), int32(math.Floor(p.Y / g.edge)), int32(math.Floor(p.Z / g.edge))}
}

// place splits a cell's key into its block's key and its index there.
func (k voxelKey) place() (block voxelKey, index int) {
	for i, v := range k {
		block[i] = v >> blockBits
		index = index<<blockBits | int(v&(blockEdge-1))
	}
	return block, index
}

// claim returns the number of the cell that holds p; a cell that has none yet gets the next one.
func (g *voxels) claim(p r3.Vec, next int32) int32 {
	at, index := g.keyOf(p).place()
	b := g.blocks[at]
	if b == nil {
		b = new(voxelBlock)
		g.blocks[at] = b
	}
	if b[index] == 0 {
		b[index] = next + 1
	}
	return b[index] - 1
}

// near appends the numbers of the cells within two cells of the one that holds p, along every axis.
func (g *voxels) near(p r3.Vec, out []int32) []int32 {
	const reach = 2
	centre := g.keyOf(p)
	var have voxelKey
	var b *voxelBlock
	first := true
	for x := centre[0] - reach; x <= centre[0]+reach; x++ {
		for y := centre[1] - reach; y <= centre[1]+reach; y++ {
			for z := centre[2] - reach; z <= centre[2]+reach; z++ {
				at, index := voxelKey{x, y, z}.place()
				if first || at != have {
					b, have, first = g.blocks[at], at, false
				}
				if b != nil && b[index] != 0 {
					out = append(out, b[index]-1)
				}
			}
		}
	}
	return out
}

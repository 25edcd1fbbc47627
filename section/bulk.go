package section

import (
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// bulk is a long list of points, mm. It is kept in single precision, which at 4 m from the origin is a fourth of a
// micrometre; what is computed from it is computed in double.
type bulk [][3]float32

func (b bulk) at(i int) r3.Vec {
	p := &b[i]
	return r3.Vec{X: float64(p[0]), Y: float64(p[1]), Z: float64(p[2])}
}

// single rounds a point to what a bulk holds.
func single(p r3.Vec) [3]float32 { return [3]float32{float32(p.X), float32(p.Y), float32(p.Z)} }

// about returns about n of the points, or all where they are fewer than twice as many.
func (b bulk) about(n int) bulk {
	stride := len(b) / n
	if stride < 2 {
		return b
	}
	out := make(bulk, 0, len(b)/stride+1)
	for i := 0; i < len(b); i += stride {
		out = append(out, b[i])
	}
	return out
}

// cloud is points of a scan, and points laid over a coarse mesh's triangles, file units.
type cloud struct {
	scan *scan.Scan
	own  []uint32 // of the scan's points; nil: all
	laid []r3.Vec
}

// count returns how many of the scan's own points the cloud holds.
func (c *cloud) count() int {
	if c.own != nil {
		return len(c.own)
	}
	return len(c.scan.Points)
}

func (c *cloud) len() int { return c.count() + len(c.laid) }

func (c *cloud) at(i int) r3.Vec {
	switch own := c.count(); {
	case i >= own:
		return c.laid[i-own]
	case c.own != nil:
		i = int(c.own[i])
	}
	return vec(c.scan.At(i))
}

package scan

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// build gathers the points and triangles of one file as they stand in it and then settles them into a scan.
// Formats in single precision fill narrow, all others wide; never both.
type build struct {
	in        *input
	narrow    [][3]float32
	wide      [][3]float64
	triangles [][3]uint32
	faced     bool // the file means to be a mesh
	welded    bool // the corners are already joined
	checked   bool // triangles without area are already left out
	plain     bool // none of the points in narrow is to be left out
	flat      int  // how many those were
	lost      lost // what was left out on the way
	messages  []Message
}

// farthest is the largest coordinate that can be meant: 1e12 mm is a hundred times the Earth's size.
// Writers that have no value for a point put in 1e30 or the like.
const farthest = 1e12

// farthestBits is farthest in single precision, as bits. Numbers without their sign have the order of their bits, and
// what is without bounds or no number comes after all others: with aboveFarthest added, these alone have the highest bit.
const (
	farthestBits  = 0x5368d4a5
	aboveFarthest = 1<<31 - 1 - farthestBits
)

// magnitude takes the sign off a number in single precision, as bits.
func magnitude(bits uint32) uint32 { return bits &^ (1 << 31) }

// plain tells whether all points are usable and none lies at zero, as in nearly all files, so that none need be
// looked for. It asks once, of all: a highest bit stays of a number that is not usable, and of zero less one.
func plain(points [][3]float32) bool {
	var odd uint32
	for i := range points {
		p := &points[i]
		x, y, z := magnitude(math.Float32bits(p[0])), magnitude(math.Float32bits(p[1])), magnitude(math.Float32bits(p[2]))
		odd |= (x + aboveFarthest) | (y + aboveFarthest) | (z + aboveFarthest) | ((x | y | z) - 1)
	}
	return odd>>31 == 0
}

func usable[T float32 | float64](p [3]T) bool {
	return p[0] >= -farthest && p[0] <= farthest && // false for NaN
		p[1] >= -farthest && p[1] <= farthest &&
		p[2] >= -farthest && p[2] <= farthest
}

// scan settles what was gathered.
func (b *build) scan(format string) (*Scan, error) {
	s := &Scan{Format: format}
	total := max(len(b.narrow), len(b.wide))
	if total == 0 {
		return nil, b.in.refuse(exportAgain, "there is not one point in it")
	}
	if !b.plain {
		b.dropNoEcho()
	}
	if b.wide != nil {
		s.Origin = originOf(b.wide)
		b.narrow = narrowed(b.wide, s.Origin)
		b.wide = nil
	} else {
		b.warnCoarse()
	}
	s.Points, s.Triangles = b.narrow, b.triangles
	var lost lost
	if !b.plain {
		lost = s.dropUnusable()
	}
	lost.triangles += b.lost.triangles
	if len(s.Points) == 0 {
		return nil, b.in.refuse(exportAgain, "none of its %d points has usable coordinates: they are not numbers, or without bounds", total)
	}
	b.tellLost(total, lost)
	if !b.welded {
		s.weld()
	}
	if !b.checked {
		s.dropDegenerate()
	}
	if b.faced && len(s.Triangles) == 0 {
		s.Triangles = nil
		b.messages = append(b.messages, Cautionf("no-triangles",
			"Not one triangle of the mesh has an area, so only its corners are used, as a cloud of points."))
	}
	s.Messages = b.messages
	return s, nil
}

// fan makes triangles of a polygon, all from its first corner. The corners must be points that are there.
func (b *build) fan(corners []uint32) error {
	for i := 2; i < len(corners); i++ {
		b.triangles = append(b.triangles, [3]uint32{corners[0], corners[i-1], corners[i]})
	}
	return b.in.checkCounts(0, int64(len(b.triangles)))
}

// narrowed carries points to single precision about an origin; unusable ones become NaN.
func narrowed(wide [][3]float64, o [3]float64) [][3]float32 {
	narrow := roomFor[[3]float32](len(wide))
	for i, p := range wide {
		if !usable(p) {
			narrow[i][0] = float32(math.NaN())
			continue
		}
		narrow[i] = [3]float32{float32(p[0] - o[0]), float32(p[1] - o[1]), float32(p[2] - o[2])}
	}
	return narrow
}

// originOf returns zero for a scan that lies about its own origin, and else whole file units near its middle:
// map coordinates of 500 000 m and more leave single precision steps of 30 mm.
func originOf(points [][3]float64) [3]float64 {
	middle, spread := middleOf(points)
	far := 0.0
	for i := range middle {
		far = max(far, math.Abs(middle[i]))
	}
	if far <= 16*spread {
		return [3]float64{}
	}
	for i := range middle {
		middle[i] = math.Round(middle[i])
	}
	return middle
}

// middleOf returns the median of each axis and the largest distance along an axis that nine points in ten
// keep from it, both from at most some thousand points, so that a few wild ones have no say.
func middleOf[T float32 | float64](points [][3]T) (middle [3]float64, spread float64) {
	step := len(points)/4096 + 1
	var values []float64
	for axis := range 3 {
		values = values[:0]
		for i := 0; i < len(points); i += step {
			if usable(points[i]) {
				values = append(values, float64(points[i][axis]))
			}
		}
		if len(values) == 0 {
			return [3]float64{}, 0
		}
		slices.Sort(values)
		middle[axis] = values[len(values)/2]
		for i := range values {
			values[i] = math.Abs(values[i] - middle[axis])
		}
		slices.Sort(values)
		spread = max(spread, values[len(values)*9/10])
	}
	return middle, spread
}

// warnCoarse tells when single precision has already eaten detail: the steps between neighbouring numbers
// at the scan's distance from its origin, against its size.
func (b *build) warnCoarse() {
	middle, spread := middleOf(b.narrow)
	far := 0.0
	for _, c := range middle {
		far = max(far, math.Abs(c))
	}
	step := float64(math.Nextafter32(float32(far), math.MaxFloat32)) - float64(float32(far))
	if spread > 0 && step > 1e-5*spread {
		b.messages = append(b.messages, Cautionf("coarse-coordinates",
			"The scan lies about %.3g units from its origin but reaches only about %.3g units, and the file keeps coordinates in single precision, "+
				"in steps of %.2g units there. Detail is already lost. Export it with local coordinates, near zero.", far, 2*spread, step))
	}
}

// tellLost reports what was left out for want of usable coordinates. More than one in a hundred is a caution.
func (b *build) tellLost(points int, lost lost) {
	var what []string
	if lost.points > 0 {
		what = append(what, fmt.Sprintf("%d of %d points", lost.points, points))
	}
	if lost.triangles > 0 {
		what = append(what, fmt.Sprintf("%d triangles", lost.triangles))
	}
	if what == nil {
		return
	}
	tell := Notef
	if 100*lost.points > points || 100*lost.triangles > len(b.triangles)+b.flat+b.lost.triangles {
		tell = Cautionf
	}
	b.messages = append(b.messages, tell("points-dropped",
		"%s were left out, because their coordinates are not numbers or without bounds.", strings.Join(what, " and ")))
}

// dropNoEcho leaves out the points of a cloud that lie at zero exactly, if there is more than one: scanners
// write them for directions from which nothing came back.
func (b *build) dropNoEcho() {
	if b.faced {
		return
	}
	before := len(b.narrow) + len(b.wide)
	b.narrow, b.wide = withoutZeros(b.narrow), withoutZeros(b.wide)
	if n := before - len(b.narrow) - len(b.wide); n > 0 {
		b.messages = append(b.messages, Notef("no-echo",
			"%d of %d points lie at 0, 0, 0 exactly, as a scanner writes where it saw nothing. They were left out.", n, before))
	}
}

// withoutZeros leaves out the points at zero, but keeps them if it is only one or all.
func withoutZeros[T float32 | float64](points [][3]T) [][3]T {
	zeros := 0
	for _, p := range points {
		if p == ([3]T{}) {
			zeros++
		}
	}
	if zeros < 2 || zeros == len(points) {
		return points
	}
	return slices.DeleteFunc(points, func(p [3]T) bool { return p == [3]T{} })
}

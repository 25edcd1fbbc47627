package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// The table of feet. Nearly all points lie on the skin, and there the foot of a point changes smoothly: within a cell of
// the field it follows from the foot of the cell's middle and the outline's bend, as if the outline were an arc of a
// circle there. Where that is not true enough, round the nose, between the skins and at the tail, the field goes on to
// look for each foot by itself.

const (
	tableReach = 0.016 // chords from the outline up to which feet are kept: a little more than what the map takes in
	tableOff   = 1e-6  // chords by which a foot's distance from the table may be off (1.2 micrometres at 1200 mm) ...
	tableSlip  = 1e-4  // ... its arc, chords, and its normal's direction, rad
)

// kept is the foot of a cell's middle. Single precision holds a chord to a ten-millionth.
type kept struct {
	distance, nx, ny float32
	bend             float32 // of the line at this distance from the outline, 1/chord; positive where it is convex
	arc, perStep     float32 // arc on the outline for each step along that line
	least            float32 // distance from the outline that every point of the cell has, at least
	known            bool    // the table may be used
}

// at fills in the foot of a point that lies v from the cell's middle.
func (c *kept) at(vx, vy float64, ft *foot) {
	nx, ny, bend := float64(c.nx), float64(c.ny), float64(c.bend)
	out, along := nx*vx+ny*vy, nx*vy-ny*vx
	step := along * (1 - bend*out)
	turn := bend * step
	cos, sin := 1-turn*turn/2, turn*(1-turn*turn*(1./6))
	ft.distance = float64(c.distance) + out + along*turn/2
	ft.normal = r2.Vec{X: nx*cos - ny*sin, Y: ny*cos + nx*sin}
	ft.arc = float64(c.arc) + float64(c.perStep)*step
	ft.end = false
}

// tabulate fills the table.
func (f *field) tabulate() {
	f.table = make([]kept, f.nx*f.nz)
	within := f.inCell()
	scan.OnAllProcessors(f.nx, func(i int) {
		for k := range f.nz {
			middle := r2.Vec{X: f.origin.X + (float64(i)+0.5)*f.cell, Y: f.origin.Y + (float64(k)+0.5)*f.cell}
			n := k*f.nx + i
			if d := r2.Norm2(r2.Sub(middle, f.outline[f.near[n]])); d < tableReach*tableReach {
				f.table[n] = f.keep(middle, n)
			} else {
				f.table[n].least = float32(math.Sqrt(d) - within)
			}
		}
	})
}

// keep returns what the table holds for cell n.
func (f *field) keep(middle r2.Vec, n int) (c kept) {
	ft := f.search(middle, n)
	half := f.cell / 2
	aside := r2.Scale(half, r2.Vec{X: -ft.normal.Y, Y: ft.normal.X})
	before, after := f.search(r2.Sub(middle, aside), n), f.search(r2.Add(middle, aside), n)
	bend := math.Asin(before.normal.X*after.normal.Y-before.normal.Y*after.normal.X) / f.cell
	c = kept{distance: float32(ft.distance), nx: float32(ft.normal.X), ny: float32(ft.normal.Y), bend: float32(bend),
		arc: float32(ft.arc), perStep: float32(1 - bend*ft.distance)}
	for _, v := range [...]r2.Vec{{X: half, Y: half}, {X: half, Y: -half}, {X: -half, Y: half}, {X: -half, Y: -half}} {
		is, by := f.search(r2.Add(middle, v), n), foot{}
		c.at(v.X, v.Y, &by)
		if is.end || math.Abs(is.distance-by.distance) > tableOff || math.Abs(is.arc-by.arc) > tableSlip ||
			r2.Norm2(r2.Sub(is.normal, by.normal)) > tableSlip*tableSlip {
			return c
		}
	}
	c.known = !ft.end
	return c
}

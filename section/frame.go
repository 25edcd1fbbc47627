package section

import (
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// The three frames.
//
//	scan frame      whatever the file says, in the file's unit
//	wing frame      mm; X aft along the tip section's chord line, Y to starboard and square to the tip
//	                rib's face, Z up, right-handed; origin at the leading edge in the plane of the tip
//	                rib's outboard face. A left wing lies at Y >= 0, a right wing at Y <= 0.
//	section frame   mm; x aft along the chord line, z up, origin at the leading edge: the wing frame
//	                seen along Y. The station is |Y|.
//
//	            Z up
//	            |    Y starboard (a left wing stretches this way from its tip)
//	            |   /
//	            |  /   ____-------_______
//	            | /  /                    ------____
//	            |/  (_____________________________--=>      --> X aft
//	            O  leading edge at the tip rib, station 0

// Side is the side of the aircraft that a wing belongs to.
type Side int

// The sides. The zero value is no side, so that a forgotten side shows.
const (
	NoSide Side = iota
	Left
	Right
)

// String returns "left", "right" or "".
func (s Side) String() string { return [...]string{"", "left", "right"}[s] }

// Inboard returns the sign of Y along which stations grow: +1 for a left wing, -1 for a right one.
func (s Side) Inboard() float64 {
	if s == Right {
		return -1
	}
	return 1
}

// Transform maps points of one frame to another: p' = Scale·R·p + T. R is a rotation (determinant +1),
// so a Transform never mirrors. A variable of this type is named target-from-source: wingFromScan.
type Transform struct {
	R     [3][3]float64
	Scale float64 // target units per source unit
	T     r3.Vec  // target units
}

// Identity returns the transform that changes nothing.
func Identity() Transform {
	return Transform{R: [3][3]float64{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}, Scale: 1}
}

// Apply maps a point.
func (t Transform) Apply(p r3.Vec) r3.Vec { return t.apply(p) }

// apply is Apply without a copy of the transform, for long lists of points.
func (t *Transform) apply(p r3.Vec) r3.Vec {
	return r3.Vec{X: t.row(0, p) + t.T.X, Y: t.y(p), Z: t.row(2, p) + t.T.Z}
}

// y returns the second coordinate of the mapped point.
func (t *Transform) y(p r3.Vec) float64 { return t.row(1, p) + t.T.Y }

func (t *Transform) row(i int, p r3.Vec) float64 {
	r := &t.R[i]
	return t.Scale * (r[0]*p.X + r[1]*p.Y + r[2]*p.Z)
}

// Rotate maps a direction: it turns, but neither scales nor shifts.
func (t Transform) Rotate(v r3.Vec) r3.Vec {
	return r3.Vec{
		X: t.R[0][0]*v.X + t.R[0][1]*v.Y + t.R[0][2]*v.Z,
		Y: t.R[1][0]*v.X + t.R[1][1]*v.Y + t.R[1][2]*v.Z,
		Z: t.R[2][0]*v.X + t.R[2][1]*v.Y + t.R[2][2]*v.Z,
	}
}

// Inverse returns the transform the other way.
func (t Transform) Inverse() Transform {
	inv := Transform{Scale: 1 / t.Scale}
	for i := range 3 {
		for j := range 3 {
			inv.R[i][j] = t.R[j][i]
		}
	}
	inv.T = r3.Scale(-inv.Scale, inv.Rotate(t.T))
	return inv
}

// After returns the transform that applies first and then t.
func (t Transform) After(first Transform) Transform {
	out := Transform{Scale: t.Scale * first.Scale, T: t.Apply(first.T)}
	for i := range 3 {
		for j := range 3 {
			for k := range 3 {
				out.R[i][j] += t.R[i][k] * first.R[k][j]
			}
		}
	}
	return out
}

// Matrix returns the 4x4 matrix, rows first, that result.json calls wing_from_scan: scale and rotation
// in the upper left, translation in the last column.
func (t Transform) Matrix() [4][4]float64 {
	var m [4][4]float64
	for i := range 3 {
		for j := range 3 {
			m[i][j] = t.Scale * t.R[i][j]
		}
	}
	m[0][3], m[1][3], m[2][3], m[3][3] = t.T.X, t.T.Y, t.T.Z, 1
	return m
}

// rotation returns the matrix that turns by |v| radians about v, by Rodrigues' formula.
func rotation(v r3.Vec) [3][3]float64 {
	angle := r3.Norm(v)
	if angle < 1e-300 {
		return Identity().R
	}
	k := r3.Scale(1/angle, v)
	s, c := math.Sincos(angle)
	d := 1 - c
	return [3][3]float64{
		{c + k.X*k.X*d, k.X*k.Y*d - k.Z*s, k.X*k.Z*d + k.Y*s},
		{k.Y*k.X*d + k.Z*s, c + k.Y*k.Y*d, k.Y*k.Z*d - k.X*s},
		{k.Z*k.X*d - k.Y*s, k.Z*k.Y*d + k.X*s, c + k.Z*k.Z*d},
	}
}

// Package airfoil gives nominal sections: NACA 4-digit, modified 4-digit, 5-digit and reflexed 5-digit by
// the published formulas, and any other from a coordinate file. Ordinates are in the section frame with
// the chord as the unit.
package airfoil

import "gonum.org/v1/gonum/spatial/r2"

// Airfoil is one section of chord 1.
type Airfoil struct {
	Name    string
	outline []r2.Vec
}

// Outline returns n points.
func (a *Airfoil) Outline(n int) []r2.Vec { return a.outline }

package fit

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

const (
	mostPoints  = 2000
	leastPoints = 400
	thinTol     = 0.002 // mm by which a thinned outline may leave the full one
	gaugeCount  = 3     // check gauges inboard of the tip rib, evenly over the band
)

// templates makes the two form blocks. The trade saws them as an equal pair, so the tip carries on the tip
// rib's section unchanged and the outboard block, TipLength out, has the inboard block's outline. A block
// is smaller than the finished surface by the laminate and larger by what the wire takes off beside itself:
// the foam ends half a kerf from the wire's centre, which runs half its diameter outside the block.
func (w *work) templates() error {
	offset := (w.opt.Kerf-w.opt.Wire)/2 - w.opt.Laminate
	block, err := Offset(w.result.Target, offset)
	if err != nil {
		return scan.Refusef("no-block", "Check laminate, kerf and wire in the wing sheet.", "No form block can be made: %v.", err)
	}
	block = thin(block)
	for _, t := range []Template{{Name: "inboard-block"}, {Name: "outboard-block", Station: -w.opt.TipLength}} {
		t.Offset, t.Outline, t.U = offset, block, w.result.TargetU
		w.result.Templates = append(w.result.Templates, t)
	}
	w.gauges()
	return nil
}

// gauges adds the target's outlines at the tip rib and inboard of it, for check gauges.
func (w *work) gauges() {
	reach := math.Min(w.opt.Band, w.panel.span())
	w.result.Gauges = make([]Template, gaugeCount+1)
	scan.OnAllProcessors(gaugeCount+1, func(i int) {
		st := math.Round(reach * float64(i) / gaugeCount)
		w.result.Gauges[i] = Template{
			Name: fmt.Sprintf("gauge-%.0f", st), Station: st, U: w.result.TargetU,
			Outline: thin(w.target.outline(w.contour, &w.survey.Loft, w.strips, w.opt.Droop, st)),
		}
	})
}

// thin leaves at most mostPoints of an outline, and at least leastPoints, so that the line moves less than
// thinTol.
func thin(p []r2.Vec) []r2.Vec {
	for tol := thinTol; len(p) > mostPoints; tol *= 2 {
		p = simplify(p, tol)
	}
	for len(p) < leastPoints {
		p = halve(p)
	}
	return p
}

// simplify drops points by the rule of Douglas and Peucker (Cartographica 10 (1973) 112, from memory).
func simplify(p []r2.Vec, tol float64) []r2.Vec {
	keep := make([]bool, len(p))
	keep[0], keep[len(p)-1] = true, true
	half := len(p) / 2 // a closed outline has no chord between its ends
	keep[half] = true
	stack := [][2]int{{0, half}, {half, len(p) - 1}}
	for len(stack) > 0 {
		s := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		far, at := tol, -1
		for i := s[0] + 1; i < s[1]; i++ {
			if d := distanceTo([]r2.Vec{p[s[0]], p[s[1]]}, p[i]); d > far {
				far, at = d, i
			}
		}
		if at > 0 {
			keep[at] = true
			stack = append(stack, [2]int{s[0], at}, [2]int{at, s[1]})
		}
	}
	var out []r2.Vec
	for i, q := range p {
		if keep[i] {
			out = append(out, q)
		}
	}
	return out
}

// halve puts a point into the middle of every segment.
func halve(p []r2.Vec) []r2.Vec {
	out := []r2.Vec{p[0]}
	for i := 1; i < len(p); i++ {
		out = append(out, mix(p[i-1], p[i], 0.5), p[i])
	}
	return out
}

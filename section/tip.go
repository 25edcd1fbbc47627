package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// The plane of the tip rib fixes the wing frame's Y. Where the rib's face was scanned, its points give the
// plane; where the panel is open, the outboard edge of the skin does. A ragged edge says little, and then
// the expectation that ribs stand square to the spar carries the more weight.

const (
	edgeBinMM  = 10.0  // mm of arc in which the skin's edge is looked for
	capCover   = 0.5   // share of the section's inside that must show points for a closed end
	capCell    = 0.03  // chords, cells in which the inside is counted
	spanSpread = 0.1   // rad: how far ribs may stand off square to the spar, with sweep and dihedral (6 degrees; common practice, no source)
	ribsApart  = 0.004 // rad: how far the ribs of one panel may stand off parallel (common practice, no source)
	edgeMiddle = 0.45  // chords aft: about the middle of the edges, which stays put when the plane is turned
	// The outermost of a bin's points lies one spacing inboard of the edge on average. plane, which leans towards those
	// that lie farthest out, comes to edgeGiven spacings where the points scatter along the skin alone, and to edgeNoisy
	// more for each spacing of noise across its edge, up to edgeMost (computed, 220 bins of two skins, of which one shows
	// half or a third of the other's points). More or less leans the plane towards one of the two: 0.1 more by 0.08
	// degrees at spacings of 0.7 and 2 mm.
	edgeGiven   = 0.1
	edgeNoisy   = 0.35
	edgeMost    = 0.45
	edgeHeight  = 0.1  // chords: the edge's extent square to the chord, about
	roundStep   = 1.0  // mm, slices in which a rounded end is followed outboard ...
	leastRound  = 5    // ... points that each must show ...
	roundShare  = 0.25 // share of the way to the rib by which an end must go on beyond its edge to be called rounded
	roundGap    = 8    // ... and slices that may be missed
	raggedEdge  = 3.0  // mm, robust spread of the edge about its plane from which it is no edge of a rib
	edgeVoice   = 3    // neighbouring bins of an edge that err together: cut, torn or unseen, it errs in stretches
	sparChord   = 0.30 // chord fraction of the line that ribs are expected to be square to
	edgeLean    = 0.08 // weight of a skin's outermost point that lies inboard of the edge
	leastEdge   = 20   // bins that must show an edge
	edgeCut     = 0.05 // chords: a bin's edge that lies farther from the plane says nothing about it
	edgeSpreads = 8    // ... and so does one that lies as many spreads from it
	edgeMargin  = 30.0 // mm more in which points are asked how close together they stand
	facePoints  = 8000 // of a face, or up to twice as many, through which its plane is laid
	edgeEnough  = 60   // points of a bin that tell where about its edge is
	edgeKnown   = 0.2  // chords: an end that is looked for within more than that will be looked for again
)

// expected is the plane that the loft lets expect where the edge says nothing: square to the line at 30 %
// of the chord, through the outermost station.
func (f *fitter) expected(lo float64) end {
	// Along the station, the line moves aft by Sweep + 0.3·Taper; the plane square to it leans against that.
	return end{at: lo, slopeX: -(f.Sweep + sparChord*f.Taper), slopeZ: -f.Rise, uX: spanSpread, uZ: spanSpread}
}

// tipPlane returns the plane of the tip rib's face: as scanned where it was, and otherwise the plane of the
// skin's edge, weighed with what the loft and a scanned face at the other end let expect. tipRib is how far
// inboard of the end the rib lies, mm: the skin beyond it may be rounded. The ends are looked for within reach, mm.
func (f *fitter) tipPlane(lo, hi, tipRib, reach float64) (end, bool) {
	tip, ok := f.end(lo, hi, 1, reach)
	if !ok || tip.closed {
		return tip, ok
	}
	expected := f.expected(tip.at)
	if root, ok := f.end(lo, hi, -1, reach); ok && root.closed {
		root.uX, root.uZ = math.Hypot(root.uX, ribsApart), math.Hypot(root.uZ, ribsApart)
		expected = expected.blend(root, f.Chord)
	}
	if tipRib > 0 {
		return f.rounded(tip, expected, tipRib), true
	}
	return tip.blend(expected, f.Chord), true
}

// rounded returns the plane through the outermost part of an end that goes on beyond the tip rib. A rounded end
// has no edge that could lean a plane, so the more it is rounded the less its edge counts.
func (f *fitter) rounded(e, expected end, tipRib float64) end {
	out := e.blend(expected, f.Chord)
	beyond := f.beyond(out, tipRib)
	if beyond < roundShare*tipRib {
		return out // the skin ends square, as far out as it goes
	}
	e.uX, e.uZ = math.Hypot(e.uX, beyond/f.Chord), math.Hypot(e.uZ, beyond/(edgeHeight*f.Chord))
	out = e.blend(expected, f.Chord)
	out.at -= f.beyond(out, tipRib)
	return out
}

// beyond returns how far a rounded end reaches outboard of the plane where its skin leaves the loft, mm. The
// rounding lies within the section carried on; it is followed until nothing more is seen.
func (f *fitter) beyond(e end, tipRib float64) float64 {
	counts := make([]int, int(2*tipRib/roundStep)+1)
	p := f.gather(band{end{at: e.at}, -3 * tipRib, tipRib}, 1)
	for _, q := range slices.Concat(p.skin, p.inside) {
		if k := int(math.Floor(-e.height(q) / roundStep)); k >= 0 && k < len(counts) {
			counts[k]++
		}
	}
	last := -1
	for k, n := range counts {
		if n >= leastRound {
			last = k
		} else if k-last > roundGap {
			break
		}
	}
	return float64(last+1) * roundStep
}

// blend weighs the plane that was seen with the one that was expected, slope by slope, by their
// uncertainties, and turns the seen one about the middle of its edge.
func (e end) blend(expected end, chord float64) end {
	mix := func(a, ua, b, ub float64) (float64, float64) {
		wa, wb := 1/(ua*ua), 1/(ub*ub)
		return (a*wa + b*wb) / (wa + wb), 1 / math.Sqrt(wa+wb)
	}
	before := e.slopeX
	e.slopeX, e.uX = mix(e.slopeX, e.uX, expected.slopeX, expected.uX)
	e.slopeZ, e.uZ = mix(e.slopeZ, e.uZ, expected.slopeZ, expected.uZ)
	e.at += (before - e.slopeX) * edgeMiddle * chord
	return e
}

// square turns the frame so that Y is square to the plane and X along the chord there, and puts the origin
// at the leading edge, tipRib inboard of the plane. The loft's slopes take up what the turn changes.
func (f *fitter) square(e end, tipRib float64) {
	y := r3.Unit(r3.Vec{X: -e.slopeX * f.inboard, Y: 1, Z: -e.slopeZ * f.inboard})
	x := r3.Unit(r3.Sub(r3.Vec{X: 1}, r3.Scale(y.X, y)))
	z := r3.Cross(x, y)
	turn := Transform{R: [3][3]float64{{x.X, x.Y, x.Z}, {y.X, y.Y, y.Z}, {z.X, z.Y, z.Z}}, Scale: 1}
	edge := r3.Vec{X: f.Sweep, Y: f.inboard, Z: f.Rise} // of the leading edge, per old station
	run := turn.Rotate(edge).Y * f.inboard              // new stations per old one
	// The leading edge meets the plane at the old station s.
	s := e.at/(1-e.slopeX*f.Sweep-e.slopeZ*f.Rise) + tipRib/run
	f.Chord += f.Taper * s
	level := Transform{R: rotation(r3.Vec{Y: -f.Twist * s}), Scale: 1} // the incidence that has grown up to s
	turn = level.After(turn)
	lead := turn.Rotate(edge)
	f.Sweep, f.Rise = lead.X/run, lead.Z/run
	f.Taper, f.Twist = f.Taper/run, f.Twist/run
	turn.T = r3.Scale(-s, lead)
	f.wingFromPoints = turn.After(f.wingFromPoints)
}

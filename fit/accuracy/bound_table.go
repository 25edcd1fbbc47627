package accuracy

import (
	"fmt"
	"slices"
)

// bound shows how near the measurement comes to what the points allow.
func (r *Report) bound(p *page) {
	p.say("## How near to the Cramér-Rao bound\n")
	p.say("Wings built to their drawing, no defect, independent noise of %.1f mm, %d points on the skin, the scale known. The", boundNoise, boundPoints)
	p.say("first bound comes from the normals of all points of both skins, with turn, place, chord, taper, twist, sweep, rise,")
	p.say("aileron and the skin's offset unknown; wanted are 1.5 times that or less. But no measurement knows that a wing is")
	p.say("built to its drawing: the second bound has besides an unknown form of it, %d waves a skin of about %.1f mm each.\n", formWaves+1, formSize)
	p.head("quantity", "scans", "rms error", "over the bound as drawn", "", "over the bound with an unknown form")
	for _, b := range r.Bound {
		p.row(b.Name, fmt.Sprint(b.Scans), fmt.Sprintf("%.4f", b.RMS), fmt.Sprintf("%.2f", b.Drawn), words(b.Drawn > 1.5, "over"), fmt.Sprintf("%.2f", b.Formed))
	}
	p.say("")
}

// middle returns the median, 0 of nothing.
func middle(v []float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[len(s)/2]
}

// reasons say why what is not reached is not.
func reasons() []string {
	return []string{
		"Scale. The tape fixes nose to tail, so the scale is as good as the tail's edge in the scan. That is found where the density of points falls off, and too far forward where points are few, noisy or smoothed: mostly to that side.",
		"Chord. The outline is right to a few hundredths, but how much of the nose's place is chord and how much is form cannot be told better than the form is known: waves of 0.1 to 0.3 mm move it by as much. The row without a form shows what is left then, and the bound with an unknown form is several times the error.",
		"Aileron and incidence against the bound as drawn. The measurement leaves room for a form of the wing, since every hand-built wing has one; a wave of it along the skin bends the aileron's section as a turn does. Against the bound that leaves the same room it reaches what is wanted.",
		"Hinge on the lower skin. The wing sheet does not say how high the hinge's axis lies, and the middle of the depth is assumed. An aileron off neutral then stands a little too far forward or aft, with it the tail's edge, and by the tape the scale. Set the aileron to neutral before scanning.",
		"Noise that neighbours share, and skins that sag between ribs. Both look like shallow spots; the detection limit rises so that they are not reported, and shallow spots drown with them.",
		"Scale of smoothed meshes. Smoothing rounds the tail off, the edge is found 2 mm too far forward, and U does not know how often the scanner program smoothed: it holds the truth in none of six.",
		"U wide. The chord's and the scale's U hold the tape's own 1 mm, while the simulated tape is exact. Those of twist, aileron and outlines leave room for what the base does not have: forms that change along the span, a warp of the whole scan, noise that neighbours share. The rows that have them need it.",
	}
}

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

package accuracy

import (
	"fmt"
	"slices"
)

// bound shows how near the measurement comes to what the points allow.
func (r *Report) bound(p *page) {
	p.say("## How near to the Cramér-Rao bound\n")
	p.say("Wings built to their drawing, no defect, independent noise of %.1f mm, %d points, the scale known; the bound comes", boundNoise, boundPoints)
	p.say("from the normals of all points of both skins with turn, place, chord, taper, twist, sweep, rise, aileron and the")
	p.say("skin's offset unknown. Wanted are 1.5 or less.\n")
	p.head("quantity", "scans", "rms error", "rms of error over bound", "")
	for _, b := range r.Bound {
		p.row(b.Name, fmt.Sprint(b.Scans), fmt.Sprintf("%.4f", b.RMS), fmt.Sprintf("%.2f", b.Ratio), words(b.Ratio > 1.5, "over"))
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
func reasons() []string { return nil }

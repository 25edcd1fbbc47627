package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// The upright map is the same sheet turned by a quarter, for a phone: the nose is at the top, the tip edge in
// the middle. Turned, not mirrored: both skins are still seen from outside. Its words are larger, since the
// whole of it is shown as wide as a hand. The figures are for a band of 300 mm; all grow with it.
const (
	uprightText  = 29.0
	uprightSmall = 25.0
	uprightTop   = 108.0 // above the nose: names of the skins, the ruler from the tip
	uprightGap   = 120.0 // between the skins: the ruler from the nose
	uprightSide  = 22.0
)

// larger is how much larger the words of the upright map are than for a band of 300 mm.
func (s *mapSheet) larger() float64 { return math.Max(0.6, s.band/300) }

// newUprightMap draws the filler map of one side for a narrow screen.
func newUprightMap(res *fit.Result, side string) *picture {
	s := &mapSheet{res: res, right: side == "right", upright: true}
	if len(res.Map.Arc) < 2 || len(res.Map.Station) == 0 {
		return newFillerMap(res, side)
	}
	s.title = "Filler map of the " + side + " wing, nose at the top: where the skin lies below or above the finished surface, and what the scan cannot tell"
	s.measure()
	upper, lower := s.panel(fit.Upper), s.panel(fit.Lower)
	for _, p := range []*skinPanel{upper, lower} {
		p.draw()
	}
	s.uprightRulers(upper, lower)
	for _, p := range []*skinPanel{upper, lower} {
		p.spots()
	}
	s.legend()
	return &s.picture
}

// uprightRulers draws the ruler from the nose down the middle, those from the tip along the nose, and the
// names.
func (s *mapSheet) uprightRulers(upper, lower *skinPanel) {
	middle, k := s.width/2, s.larger()
	size := s.small()
	for _, p := range []*skinPanel{upper, lower} {
		for d := 0.0; d <= p.length()+0.5; d += 50 {
			at := p.place(d, 0)
			tick := 8 * k
			if math.Mod(d, 100) == 0 {
				tick = 16 * k
			}
			s.line(muted, 1.4*k, at, r2.Sub(at, r2.Scale(tick, p.in)))
		}
		for st := 0.0; st <= p.band+0.5; st += 50 {
			at := p.place(0, st)
			s.line(muted, 1.4*k, at, vec(at.X, at.Y-10*k))
			if math.Mod(st, s.stationStep()) == 0 && st < p.band {
				s.words(muted, size, vec(at.X, at.Y-16*k), middleAt, fmt.Sprintf("%.0f", st))
			}
		}
		name := "UPPER SKIN"
		if p.surface == fit.Lower {
			name = "LOWER SKIN"
		}
		s.words(ink, size, vec(p.place(0, p.band/2).X, 32*k), middleAt, name).bold = true
	}
	s.words(ink, size, vec(middle, 32*k), middleAt, "NOSE").bold = true
	step := s.stationStep()
	for d := step; d <= math.Min(upper.length(), lower.length())-60*k; d += step {
		s.words(muted, size, vec(middle, upper.place(d, 0).Y+0.35*size), middleAt, fmt.Sprintf("%.0f", d))
	}
	s.words(ink, size, vec(middle, upper.place(upper.length(), 0).Y+0.3*size), middleAt, "TAIL").bold = true
}

// stationStep is the distance of the figures on the upright map's rulers, mm.
func (s *mapSheet) stationStep() float64 {
	if s.band > 450 {
		return 200
	}
	return 100
}

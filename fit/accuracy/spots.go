package accuracy

import (
	"math"

	"tipwright/fit"
	"tipwright/section/simulate"
)

// SpotOutcome is what was made of one low spot that there is.
type SpotOutcome struct {
	True    float64 `json:"true"`  // mm, its depth
	Width   float64 `json:"width"` // mm, the smaller of its extents
	InBand  bool    `json:"in_band"`
	Found   bool    `json:"found"`
	Depth   Figure  `json:"depth"`   // mm
	Place   float64 `json:"place"`   // mm, distance of the deepest point found from the true one
	Volume  Figure  `json:"volume"`  // share of the true volume
	Stamped bool    `json:"stamped"` // the spot that every wing has: 150 mm across, 1 mm deep
}

const (
	spotSlack   = 20.0 // mm beyond a spot's edge within which a report still means it
	stampWidth  = 150.0
	stampHeight = -1.0
)

// matchSpots pairs the spots reported with those of one sign that there are, each with the deepest report that lies
// over it, and counts the reports that lie over none.
func matchSpots(got []fit.Spot, truth *simulate.Truth, sign, band float64) (out []SpotOutcome, none int) {
	taken := make([]bool, len(got))
	for i := range truth.Spots {
		t := &truth.Spots[i]
		if t.Height*sign <= 0 {
			continue
		}
		s := SpotOutcome{
			True: math.Abs(t.Height), Width: math.Min(t.Length, t.Width),
			InBand:  t.Station-t.Width/2 >= 0 && t.Station+t.Width/2 <= band,
			Stamped: t.Height == stampHeight && t.Length == stampWidth && t.Width == stampWidth,
		}
		for j := range got {
			if !over(&got[j], t, truth) {
				continue
			}
			taken[j] = true
			if !s.Found { // the reports come deepest first
				s.found(&got[j], t, truth)
			}
		}
		out = append(out, s)
	}
	for _, seen := range taken {
		if !seen {
			none++
		}
	}
	return out, none
}

// over reports whether a report lies over a spot.
func over(g *fit.Spot, t *simulate.SpotTruth, truth *simulate.Truth) bool {
	dx, ds := offSpot(g, t, truth)
	return string(g.Surface) == t.Surface.String() && math.Abs(dx) < t.Length/2+spotSlack && math.Abs(ds) < t.Width/2+spotSlack
}

// offSpot returns how far a report lies from a spot's middle, mm aft and inboard. The spot keeps its chord fraction.
func offSpot(g *fit.Spot, t *simulate.SpotTruth, truth *simulate.Truth) (dx, ds float64) {
	x := t.X / truth.Wing.Chord * truth.Wing.ChordAt(g.Station)
	return g.X - x, g.Station - t.Station
}

// found notes the errors of a report.
func (s *SpotOutcome) found(g *fit.Spot, t *simulate.SpotTruth, truth *simulate.Truth) {
	s.Found = true
	s.Depth = Figure{Error: g.Depth.Value - s.True, U: g.Depth.U}
	s.Place = math.Hypot(offSpot(g, t, truth))
	s.Volume = Figure{Error: g.Volume.Value/t.Volume - 1, U: g.Volume.U / t.Volume}
}

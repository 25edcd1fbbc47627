package accuracy

import (
	"math"
	"testing"

	"tipwright/fit"
	"tipwright/section"
	"tipwright/section/simulate"
)

// spotted is the truth of a wing with two low spots and a high one.
func spotted() *simulate.Truth {
	t := &simulate.Truth{Wing: simulate.Wing{Chord: 1000, Taper: 0.1}}
	for _, b := range []simulate.Bump{
		{Surface: simulate.Upper, X: 400, Station: 120, Length: 150, Width: 150, Height: -1},
		{Surface: simulate.Lower, X: 400, Station: 250, Length: 150, Width: 120, Height: -0.6},
		{Surface: simulate.Upper, X: 700, Station: 120, Length: 100, Width: 100, Height: 0.5},
	} {
		t.Spots = append(t.Spots, simulate.SpotTruth{Bump: b, Volume: 5000})
	}
	return t
}

func TestMatchSpots(t *testing.T) {
	measured := func(v, u float64) section.Measured { return section.Measured{Value: v, U: u} }
	got := []fit.Spot{
		{Surface: fit.Upper, X: 409, Station: 120, Depth: measured(1.1, 0.2), Volume: measured(5500, 900)},
		{Surface: fit.Upper, X: 460, Station: 150, Depth: measured(0.3, 0.2), Volume: measured(100, 90)}, // the same spot's rest
		{Surface: fit.Upper, X: 700, Station: 300, Depth: measured(0.2, 0.1)},                            // nothing is there
	}
	out, none := matchSpots(got, spotted(), -1, 300)
	if len(out) != 2 || none != 1 {
		t.Fatalf("%d spots, %d false: %+v", len(out), none, out)
	}
	s := out[0]
	// At station 120 the chord is 12 mm longer, and the spot keeps its share of it.
	if !s.Found || !s.Stamped || !s.InBand || math.Abs(s.Depth.Error-0.1) > 1e-12 || math.Abs(s.Place-math.Abs(409-404.8)) > 1e-9 || math.Abs(s.Volume.Error-0.1) > 1e-12 {
		t.Errorf("%+v", s)
	}
	if s := out[1]; s.Found || s.Stamped || s.InBand {
		t.Errorf("a spot that nobody reported and that reaches beyond the band: %+v", s)
	}
	if out, none := matchSpots(got[:1], spotted(), +1, 300); len(out) != 1 || out[0].Found || none != 1 {
		t.Errorf("a low spot passes for a high one: %+v, %d", out, none)
	}
}

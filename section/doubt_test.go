package section_test

import (
	"slices"
	"strings"
	"testing"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// TestAnotherAirfoil wants to be told when the sheet names a cambered section for a wing that has none, whose loft
// bends to fit but at the nose, and nothing to be said of the right one with a large form.
func TestAnotherAirfoil(t *testing.T) {
	foil := func(name string) *airfoil.Airfoil {
		a, err := airfoil.Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	form := []simulate.Wave{{Surface: simulate.Lower, Amplitude: 1, Length: 900, Phase: 5, SpanLength: 1500},
		{Surface: simulate.Upper, Amplitude: 1, Length: 700, Phase: 3, SpanLength: 1300}}
	for _, c := range []struct {
		wing, sheet string
		form        []simulate.Wave
		doubt       bool
	}{
		{"NACA 0012", "NACA 23012", nil, true},
		{"NACA 23012", "NACA 0012", form, true},
		{"NACA 23012", "NACA 23012", form, false},
		{"NACA 0012", "NACA 0012", nil, false},
	} {
		t.Run(c.wing+" as "+c.sheet, func(t *testing.T) {
			s, truth, err := simulate.Scan(simulate.Wing{Side: section.Left, Airfoil: foil(c.wing), Chord: 1000, Span: 500, Taper: 0.06, TailThickness: 2, Form: c.form},
				simulate.Scanner{Seed: 5, Points: 60000, Noise: 0.5, Unit: scan.Millimetre, RandomPose: true, RibFace: simulate.Closed})
			if err != nil {
				t.Fatal(err)
			}
			v, err := section.Measure(s, section.Options{Airfoil: foil(c.sheet), Chord: truth.Taped, Side: section.Left})
			if err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(v.Messages, func(m scan.Message) bool { return m.Code == "airfoil-doubtful" })
			if (i >= 0) != c.doubt {
				t.Fatalf("airfoil-doubtful told: %v, want %v (%v)", i >= 0, c.doubt, v.Messages)
			}
			if c.doubt && !strings.Contains(v.Messages[i].Text, "departs from "+c.sheet) {
				t.Errorf("%q does not name the sheet's section", v.Messages[i].Text)
			}
		})
	}
}

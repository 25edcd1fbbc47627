package section_test

import (
	"errors"
	"math"
	"regexp"
	"slices"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// TestSplitSurfaces puts upper and lower skin together wrongly and looks at what is said about it, with and
// without the callipers.
func TestSplitSurfaces(t *testing.T) {
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		t.Fatal(err)
	}
	const chord, apart = 1200.0, 5.0
	thick, _ := a.Thickness()
	wing := simulate.Wing{Airfoil: a, Side: section.Left, Chord: chord, Span: 350, Taper: 0.05}
	measure := func(shift r3.Vec, thickness float64, mend bool) *section.Survey {
		s, truth, err := simulate.Scan(wing, simulate.Scanner{Seed: 5, Points: 30000, Noise: 0.4, RandomPose: true,
			RibFace: simulate.Closed, Unit: scan.Millimetre, SplitUpper: simulate.Split{Shift: shift}})
		if err != nil {
			t.Fatal(err)
		}
		v, err := section.Measure(s, section.Options{Airfoil: a, Chord: truth.Taped, Side: section.Left,
			Unit: scan.Millimetre, Thickness: thickness, MendSplit: mend})
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for _, c := range []struct {
		name      string
		shift     r3.Vec
		thickness float64
		mend      bool
		code      string
	}{
		{"whole, not callipered", r3.Vec{}, 0, false, ""},
		{"whole, callipered", r3.Vec{}, thick * chord, false, "thickness-agrees"},
		{"apart, not callipered", r3.Vec{Z: apart}, 0, false, "skins-apart"},
		{"apart, callipered", r3.Vec{Z: apart}, thick * chord, false, "skins-apart"},
		{"apart, callipered, to be mended", r3.Vec{Z: apart}, thick * chord, true, "split-mended"},
		{"slid", r3.Vec{X: 6}, 0, false, "skins-slid"},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := measure(c.shift, c.thickness, c.mend)
			var codes []string
			for _, m := range v.Messages {
				switch m.Code {
				case "thickness-agrees", "skins-apart", "split-mended", "skins-slid":
					codes = append(codes, m.Code)
				}
			}
			if want := c.code; (want == "") != (len(codes) == 0) || want != "" && !slices.Equal(codes, []string{want}) {
				t.Errorf("said %v, want %q", codes, want)
			}
			if c.mend {
				if off := middleDeparture(v); math.Abs(off) > 0.05 {
					t.Errorf("after mending the skins still stand %.2f mm off", off)
				}
			}
		})
	}
}

// TestSlidSkins puts the upper skin on too far aft or ahead, or turned, and looks at what is said of it, by how much and
// with which certainty.
func TestSlidSkins(t *testing.T) {
	a, err := airfoil.Parse("NACA 2412")
	if err != nil {
		t.Fatal(err)
	}
	wing := simulate.Wing{Airfoil: a, Side: section.Right, Chord: 1000, Span: 400, Taper: 0.03, TailThickness: 1}
	for _, c := range []struct {
		name   string
		split  simulate.Split
		tip    float64 // mm aft at the tip rib; 0: nothing is said
		refuse bool
	}{
		{"a tenth", simulate.Split{Shift: r3.Vec{X: 0.3}}, 0, false},
		{"a little aft", simulate.Split{Shift: r3.Vec{X: 2}}, 2, false},
		{"ahead and down", simulate.Split{Shift: r3.Vec{X: -4, Y: 2, Z: -0.5}}, -4, false},
		{"turned", simulate.Split{Turn: r3.Vec{Z: 0.01}}, -2, false}, // about the middle of the panel, 200 mm inboard
		{"far ahead", simulate.Split{Shift: r3.Vec{X: -8}}, -8, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			s, truth, err := simulate.Scan(wing, simulate.Scanner{Seed: 7, Points: 20000, Noise: 0.3, RibFace: simulate.Closed,
				Unit: scan.Millimetre, SplitUpper: c.split})
			if err != nil {
				t.Fatal(err)
			}
			v, err := section.Measure(s, section.Options{Airfoil: a, Chord: truth.Taped, Side: section.Right, Unit: scan.Millimetre})
			refused, _ := errors.AsType[*scan.RefusalError](err)
			text := ""
			switch {
			case refused != nil && refused.Code == "skins-slid":
				text = refused.Text
			case err != nil:
				t.Fatal(err)
			default:
				for _, m := range v.Messages {
					if m.Code == "skins-slid" {
						text = m.Text
					}
				}
			}
			if (text != "") != (c.tip != 0) || (refused != nil) != c.refuse {
				t.Fatalf("said %q, refused: %v", text, refused != nil)
			}
			if text == "" {
				return
			}
			told := slidWords.FindStringSubmatch(text)
			if told == nil {
				t.Fatalf("said %q", text)
			}
			off, _ := strconv.ParseFloat(told[1], 64)
			u, _ := strconv.ParseFloat(told[2], 64)
			if told[3] == "ahead" {
				off = -off
			}
			if math.Abs(off-c.tip) > u+0.05 || u > 0.7 {
				t.Errorf("the upper skin lies %.1f ± %.1f mm aft, want %.1f", off, u, c.tip)
			}
		})
	}
}

var slidWords = regexp.MustCompile(`the upper lies ([0-9.]+) ± ([0-9.]+) mm too far (aft|ahead)`)

// middleDeparture returns the mean departure over the middle of the chord, both skins.
func middleDeparture(v *section.Survey) float64 {
	var sum float64
	n := 0
	for i := range v.Map.Station {
		for j, arc := range v.Map.Arc {
			if off := math.Abs(arc-v.Map.NoseArc) / v.Map.Length; off < 0.1 || off > 0.35 {
				continue
			}
			if c := v.Map.At(i, j); c.N > 0 {
				sum += c.Departure
				n++
			}
		}
	}
	return sum / float64(n)
}

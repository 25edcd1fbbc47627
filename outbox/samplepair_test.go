package outbox

import (
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/section"
)

// samplePair makes a comparison whose figures are known: the left wing lies lower by up to 1.4 mm on its
// upper skin.
func samplePair(t testing.TB) PairDelivery {
	left := sampleResult(t, section.Left)
	contrast := func(l, r, u float64) fit.Contrast {
		d := section.Measured{Value: l - r, U: u * math.Sqrt2}
		return fit.Contrast{Left: section.Measured{Value: l, U: u}, Right: section.Measured{Value: r, U: u}, Difference: d, Differ: math.Abs(d.Value) > d.U}
	}
	aileron := contrast(0.0351, 0.0052, 0.0031)
	p := &fit.PairResult{
		Tolerance: 1, Chord: contrast(1220.4, 1219.9, 0.8), Thickness: contrast(146.2, 147.9, 0.3), Twist: contrast(9.1e-6, 3.2e-6, 7e-6),
		Area: contrast(121300, 122900, 300), Sweep: contrast(-0.031, -0.029, 0.004),
		Aileron: &aileron, Shift: r2.Vec{X: 0.31, Y: -0.22}, Turn: section.Measured{Value: 0.0004, U: 0.0003},
		RawRMS: 0.61, RawWorst: -1.72, ShapeRMS: 0.44, ShapeWorst: -1.38, TargetWorst: 0.62, U: 0.21, OneTemplatePair: true,
		Needs: []fit.Need{{Side: section.Left, Surface: fit.Upper, From: 310, To: 560, Depth: 1.6, Volume: section.Measured{Value: 24100, U: 4000}}},
		Messages: []scan.Message{
			scan.Notef("one-template-pair", "One pair of templates may serve both wings."),
			scan.Cautionf("pair-differs", "The two tips do not agree within 1.0 mm and 0.1 degree."),
		},
		Verdict: scan.Caution,
	}
	for _, s := range left.Sections {
		shape := 0.25*math.Sin(s.Arc/190) + dent{arc: 820, length: 300, width: 1, depth: -1.4}.at(s.Arc, 0)
		p.Traces = append(p.Traces, fit.PairTrace{
			Arc: s.Arc, X: math.Max(s.X, 0), Surface: surfaceOf(&left.Survey.Map, s.Arc),
			Shape: shape, Raw: shape + 0.35*math.Cos(s.Arc/400), U: 0.21, Seen: s.Seen,
		})
	}
	l, r := sampleIdentity("left"), sampleIdentity("right")
	id := sampleIdentity("pair")
	id.Files = slices.Concat(l.Files, r.Files)
	return PairDelivery{Identity: id, Sheet: sampleSheet(), Result: p}
}

// sampleEntries is a shop in which everything is to be seen.
func sampleEntries() []Entry {
	refusal := scan.Refusef("no-wing", "Scan the outboard wing again, from above, from below and round the nose.", "No wing was found in this scan.").Message()
	return []Entry{
		{Messages: []scan.Message{scan.Cautionf("folder-odd", "The folder “old” holds no aircraft.")}},
		{Aircraft: "marsh-wren", Name: "Marsh Wren", Strange: []string{"notes.txt", "IMG_2041.heic"}, Advice: "A scan's name begins with left or right.", Earlier: []string{"marsh-wren/earlier/left-0a1b2c3d4e/"}},
		{Aircraft: "marsh-wren", Side: "left", Verdict: "caution", Link: "left/", Messages: []scan.Message{
			scan.Cautionf("aileron-off-neutral", "In the scan the aileron's trailing edge stood 2.0 ± 0.2 degrees down from neutral."),
			scan.Notef("spots", "2 low spots."),
		}},
		{Aircraft: "marsh-wren", Side: "right", Verdict: "good", Link: "right/", Stale: true},
		{Aircraft: "marsh-wren", Side: "pair", Verdict: "caution", Link: "pair/"},
		{Aircraft: "second-wing", Messages: []scan.Message{scan.Notef("no-scan", "There is no scan of the right wing yet.")}},
		{Aircraft: "second-wing", Side: "left", Verdict: "refused", Link: "refused/", Messages: []scan.Message{refusal}},
		{Aircraft: "second-wing", Side: "right", Problem: "the disk is full"},
	}
}

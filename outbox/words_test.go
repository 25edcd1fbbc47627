package outbox

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"tipwright/fit"
	"tipwright/section"
)

func TestNumbers(t *testing.T) {
	for got, want := range map[string]string{
		fixed(-0.004, 2): "0.00", fixed(-1.25, 1): "−1.3", fixed(1234.5, 0): "1235", signed(0.2, 1): "+0.2", signed(0, 1): "0.0", signed(-2, 0): "−2",
		upTo(0.121, 2): "0.13", upTo(0.12, 2): "0.12", upTo(0, 1): "0.0", grouping(7): "7", grouping(31000): "31\u202f000", grouping(1234567): "1\u202f234\u202f567",
		inches(1220.7875): "48 1/16 in", inches(25.4): "1 in", inches(6.35): "1/4 in", inches(3): "1/8 in", inches(0): "0 in", inches(25.3): "1 in",
		plusMinus(section.Measured{Value: 1.834, U: 0.1201}, 2): "1.83 ± 0.13",
		seenShare(1): "100\u00a0%", seenShare(0.9999): "99\u00a0%", lackingShare(0): "none", lackingShare(0.0001): "less than 1\u00a0%", lackingShare(0.021): "3\u00a0%",
		unitAfter("°"): "°", unitAfter("mm"): "\u00a0mm",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

// An uncertainty is never shown smaller than it is, and never a whole step larger.
func TestUncertaintyIsNotUnderstated(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u, n := rapid.Float64Range(0, 50).Draw(t, "u"), rapid.IntRange(0, 3).Draw(t, "n")
		shown, err := strconv.ParseFloat(upTo(u, n), 64)
		if step := math.Pow10(-n); err != nil || shown < u-2e-6 || shown > u+step+1e-9 {
			t.Fatalf("%v is shown as %v", u, shown)
		}
	})
}

func stepsOf(d *Delivery, files ...string) string {
	var b strings.Builder
	for _, s := range d.steps(newRecord(d, nil), files) {
		b.WriteString(s.Do + "\n" + strings.Join(s.Detail, "\n") + "\n")
	}
	return b.String()
}

// What to do follows the order of work: block, flange, mark, fill, sand, print, check, saw, cut.
func TestStepsAreInWorkingOrder(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	text := stepsOf(&d, "inboard-block.pdf", "outboard-block.pdf", "foam-block.pdf", "kerf-coupon.pdf", "flange-strip.pdf", "gauge-0.pdf", "gauge-100.pdf", "wrap-lower.pdf", "wrap-upper.pdf")
	at := 0
	for _, say := range []string{
		"Read the one caution", "Block the aileron at neutral", "it stood 2.0 ± 0.2° down", "faired with the wing",
		"Fit the flange", "Print wrap-lower.pdf and wrap-upper.pdf at 100 %, tape them on the skin",
		"Fill 2 low spots: about 27 ± 2 ml", "L1: 1.9 ± 0.1 mm deep, upper skin", "L2: 1.1", "Leave one high spot alone", "H1: 0.4",
		"gauge-0.pdf and gauge-100.pdf", "Scan again", "test cut", "Print inboard-block.pdf and outboard-block.pdf on letter paper at 100 %",
		"Measure the bars", "saw both blocks", "Stack and glue the foam to 260 mm", "2.1 mm of difference at the tail", "Cut with the hot wire", "Do the other wing",
	} {
		i := strings.Index(text[at:], say)
		if i < 0 {
			t.Fatalf("%q does not come after %q", say, text[max(at-40, 0):at])
		}
		at += i
	}
}

func TestStepsWithoutWork(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	d.Result.LowSpots, d.Result.HighSpots, d.Result.Filler, d.Result.Deflection = nil, nil, fit.Filler{}, nil
	d.Result.Messages = nil
	text := stepsOf(&d)
	if !strings.Contains(text, "There is nothing to fill.") || !strings.Contains(text, "shallower than 0.21 mm would not be found") {
		t.Errorf("%s", text)
	}
	for _, say := range []string{"aileron", "Print", "Cut with", "Scan again", "caution", "high spot", "Leave"} {
		if strings.Contains(text, say) {
			t.Errorf("%q is asked for, but there is none:\n%s", say, text)
		}
	}
}

func TestStepsForSmallSpots(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	for i := range d.Result.LowSpots {
		d.Result.LowSpots[i].Act = false
	}
	d.Result.HighSpots[0].Act = false
	d.Sheet.Droop = 2 * math.Pi / 180
	text := stepsOf(&d)
	for _, say := range []string{"There is nothing to fill.", "Sand one high spot flush", "2.0° down, the designer's neutral"} {
		if !strings.Contains(text, say) {
			t.Errorf("%q is missing from\n%s", say, text)
		}
	}
}

func TestStepsToTheNominal(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	d.Sheet.TargetNominal = true
	if text := stepsOf(&d); !strings.Contains(text, "Fill up to the nominal section by the filler map") {
		t.Errorf("%s", text)
	}
}

func TestVerdictSentence(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	r := newRecord(&d, nil)
	if got := sentence(&d, r); got != "The left wing's tip section is known to ± 0.17 mm, its templates to ± 0.17 mm; read the caution below before you cut." {
		t.Error(got)
	}
	d.Result.Messages = d.Result.Messages[:1]
	if got := sentence(&d, newRecord(&d, nil)); got != "The left wing's tip section is known to ± 0.17 mm, its templates to ± 0.17 mm. The templates are ready to use." {
		t.Error(got)
	}
	d.Sheet.Chord, d.Identity.Sheet.File = 0, ""
	if got := sentence(&d, r); got != "The shape of the left wing's tip section is known to ± 0.17 mm, but its chord only to ± 0.9 mm, since none was taped: do not cut from this." {
		t.Error(got)
	}
	if text := stepsOf(&d); !strings.Contains(text, "Tape the chord at the tip rib") || !strings.Contains(text, "at the end of this page") {
		t.Error(text)
	}
}

func TestStretchesWords(t *testing.T) {
	for want, list := range map[string][]StretchRecord{
		"":                      nil,
		"upper skin about 12":   {{Surface: "upper", From: 12, To: 12.3}},
		"both skins about 1216": {{Surface: "upper", From: 1216, To: 1216}, {Surface: "lower", From: 1216, To: 1216}},
		"upper skin from 1 to 2 and lower skin from 3 to 4": {{Surface: "upper", From: 1, To: 2}, {Surface: "lower", From: 3, To: 4}},
	} {
		if got := stretchesWords(list); got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}

func TestSeenWords(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	text := strings.Join(seenWords(&d), "\n")
	for _, say := range []string{"96\u00a0% of the outline", "612 mm inboard", "lower skin from 510 to 592 mm", "not seen, less than 1\u00a0%", "too few points to tell, 5\u00a0%", "must be 0.21 mm deep"} {
		if !strings.Contains(text, say) {
			t.Errorf("%q is missing from\n%s", say, text)
		}
	}
}

// What the aileron's angle does to the departures is no shape of the skin: charts show it taken off.
func TestChartsTakeTheAileronsTurnOff(t *testing.T) {
	res := sampleResult(t, section.Left)
	plain := string(departureChart(res, fit.Upper, wideChart).svgFile()) + string(sectionPicture(res, wideChart).svgFile())
	for i := range res.Sections {
		if s := &res.Sections[i]; s.X > 0.78*sampleChord {
			s.Turn = 0.02 * (s.X - 0.78*sampleChord)
			s.Departure.Value, s.Form = s.Departure.Value+s.Turn, s.Form+s.Turn
		}
	}
	if turned := string(departureChart(res, fit.Upper, wideChart).svgFile()) + string(sectionPicture(res, wideChart).svgFile()); turned != plain {
		t.Error("the turned aileron shows in the charts")
	}
}

// The charts are drawings that parse, whatever the result lacks.
func TestCharts(t *testing.T) {
	res := sampleResult(t, section.Left)
	for _, width := range []float64{wideChart, narrowChart} {
		for _, s := range []fit.Surface{fit.Upper, fit.Lower} {
			words, _, _ := parseSVG(t, departureChart(res, s, width).svgFile())
			if len(words) < 8 {
				t.Errorf("%s: %d words", s, len(words))
			}
			parseSVG(t, pairChart(samplePair(t).Result, s, width).svgFile())
		}
		words, _, _ := parseSVG(t, sectionPicture(res, width).svgFile())
		said := ""
		for _, w := range words {
			said += w.text + "\n"
		}
		if _, times, ok := strings.Cut(said, "mm of departure, drawn × "); !ok || !strings.Contains("10\n 20\n 50\n", times) {
			t.Errorf("the enlargement is not told: %q", said)
		}
	}
	bare := &fit.Result{Survey: &section.Survey{}}
	parseSVG(t, departureChart(bare, fit.Upper, wideChart).svgFile())
	parseSVG(t, sectionPicture(bare, wideChart).svgFile())
}

// The aileron's part of the report says how far its tail stood off, which way, and what stands for neutral.
func TestAileronWords(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	say := func() string { return strings.Join(aileronWords(&d, newRecord(&d, nil)), "\n") }
	// 0.0351 rad on a lever of 0.22 chords of 1220 mm is 9.42 mm, 0.0031 rad is 0.83 mm.
	if got := say(); !strings.Contains(got, "9.4 ± 0.9 mm lower") || !strings.Contains(got, "Hinge line: 952 mm aft") || !strings.Contains(got, "Neutral: faired with the wing") {
		t.Errorf("%s", got)
	}
	d.Result.Deflection = &section.Measured{Value: -0.0351, U: 0.0031}
	if got := say(); !strings.Contains(got, "mm higher than") {
		t.Errorf("%s", got)
	}
	d.Result.Deflection = &section.Measured{Value: 0.001, U: 0.0031}
	if got := say(); !strings.Contains(got, "stood faired") {
		t.Errorf("%s", got)
	}
	d.Result.Deflection, d.Result.Survey.Loft.Hinge = nil, 0
	if got := say(); !strings.Contains(got, "names no aileron") {
		t.Errorf("%s", got)
	}
}

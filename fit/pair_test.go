package fit

import (
	"math"
	"strings"
	"testing"

	"tipwright/scan"
	"tipwright/section"
)

// sides fits a left and a right wing with different noise.
func sides(t *testing.T, left, right wing, change func(l, r *section.Survey)) (l, r *Result) {
	t.Helper()
	a, b := left.survey(t, 11), right.survey(t, 12)
	b.Side = section.Right
	a.Chord.U, b.Chord.U, a.Twist.U, b.Twist.U = 0.5, 0.5, 5e-7, 5e-7
	if change != nil {
		change(a, b)
	}
	l, err := Fit(a, wishes())
	if err != nil {
		t.Fatal(err)
	}
	if r, err = Fit(b, wishes()); err != nil {
		t.Fatal(err)
	}
	return l, r
}

func told(p *PairResult, code string) string {
	for _, m := range p.Messages {
		if m.Code == code {
			return m.Text
		}
	}
	return ""
}

func TestEqualPair(t *testing.T) {
	t.Parallel()
	w := small()
	l, r := sides(t, w, w, nil)
	p := Compare(l, r, 1)
	if !p.Same || !p.OneTemplatePair || p.Verdict != scan.Note {
		t.Errorf("equal wings: same %v, one pair %v, %+v", p.Same, p.OneTemplatePair, p.Messages)
	}
	if p.ShapeRMS > 0.05 || math.Abs(p.Turn.Value) > 0.0002 || math.Abs(p.Turn.Value) > 2*p.Turn.U {
		t.Errorf("shape %.3f mm rms, turned by %+v", p.ShapeRMS, p.Turn)
	}
	if len(p.Needs) > 0 || told(p, "pair-differences") != "" {
		t.Errorf("differences between equal wings: %+v", p.Messages)
	}
	hits, n := 0.0, 0.0
	for _, tr := range p.Traces {
		if tr.Seen {
			n++
			if math.Abs(tr.Shape) <= tr.U {
				hits++
			}
		}
	}
	if hits < 0.92*n {
		t.Errorf("the difference of equal wings lies within U at %.0f of %.0f places", hits, n)
	}
	// The form adds or takes some tenths on either side.
	thickest, _ := l.Survey.Loft.Airfoil.Thickness()
	if math.Abs(p.Thickness.Left.Value-thickest*w.chord) > 4 || p.Thickness.Differ {
		t.Errorf("thickness %+v, nominal %.2f", p.Thickness, thickest*w.chord)
	}
}

// A right wing that is fuller on top by 2 mm over a stretch.
func TestFullerRightWing(t *testing.T) {
	t.Parallel()
	left, right := small(), small()
	form := right.form
	right.form = func(arc, station float64) float64 {
		return form(arc, station) + 2*math.Exp(-square((arc-600)/150))
	}
	l, r := sides(t, left, right, nil)
	p := Compare(l, r, 1)
	if p.Same || p.OneTemplatePair || p.Verdict != scan.Caution {
		t.Errorf("unequal wings pass for the same: %+v", p.Messages)
	}
	if math.Abs(p.RawWorst+2) > 0.2 {
		t.Errorf("the left lies %+.2f mm off at worst, want -2", p.RawWorst)
	}
	for _, tr := range p.Traces {
		if math.Abs(tr.Arc-600) < 5 && (math.Abs(tr.Raw+2) > 0.15 || tr.Surface != Upper) {
			t.Errorf("at arc %.0f, %s: difference %+.2f mm, want -2", tr.Arc, tr.Surface, tr.Raw)
		}
	}
	volume := 0.0
	for _, n := range p.Needs {
		if n.Side == section.Left && n.Surface == Upper {
			volume += n.Volume.Value
		}
	}
	// 2 mm times the root of pi times 150 mm times the band, less what alignment takes up and what lies
	// below half the tolerance.
	if whole := 2 * math.Sqrt(math.Pi) * 150 * 300; volume < 0.5*whole || volume > 1.1*whole {
		t.Errorf("the left needs %.0f mm3 on top, the difference is %.0f", volume, whole)
	}
	if told(p, "pair-filler") == "" || told(p, "two-template-pairs") == "" {
		t.Errorf("filler or templates are not told: %+v", p.Messages)
	}
}

// A right wing turned nose up by 0.3 degrees in its own frame: the shape agrees, the incidence does not.
func TestTurnedPair(t *testing.T) {
	t.Parallel()
	left, right := small(), small()
	const turn = 0.3 * math.Pi / 180
	s := right.survey(t, 1)
	c := newContour(&s.Loft)
	form := right.form
	right.form = func(arc, station float64) float64 {
		q, n := c.at(arc / s.Map.Length)
		return form(arc, station) + turn*right.chord*(n.X*(q.Y)-n.Y*(q.X-0.4))
	}
	l, r := sides(t, left, right, nil)
	p := Compare(l, r, 1)
	if math.Abs(p.Turn.Value-turn) > 0.0003 {
		t.Errorf("turned by %.4f ± %.4f rad, want %.4f", p.Turn.Value, p.Turn.U, turn)
	}
	if p.ShapeRMS > 0.06 || p.RawRMS < 0.5 {
		t.Errorf("raw %.3f mm rms, shape %.3f", p.RawRMS, p.ShapeRMS)
	}
	if p.Same || p.OneTemplatePair {
		t.Error("wings turned by 0.3 degrees pass for the same")
	}
	r.Survey.StandIn = true // no nominal, whose chord line would tell
	if p := Compare(l, r, 1); !p.OneTemplatePair || !math.IsInf(p.Turn.U, 1) {
		t.Errorf("a section of its own told how the wing is turned: %+v", p.Turn)
	}
}

// Only what exceeds its uncertainty is called a difference.
func TestPairDifferencesNamed(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge = 0.75
	l, r := sides(t, w, w, func(l, r *section.Survey) {
		l.Chord.Value += 3
		l.Twist, r.Twist = section.Measured{Value: 2e-6, U: 1e-5}, section.Measured{Value: -2e-6, U: 1e-5}
		l.Deflection, r.Deflection = &section.Measured{Value: 0.02, U: 0.002}, &section.Measured{Value: -0.01, U: 0.002}
	})
	p := Compare(l, r, 1)
	if !p.Chord.Differ || p.Twist.Differ || p.Aileron == nil || !p.Aileron.Differ {
		t.Errorf("chord %+v, twist %+v, aileron %+v", p.Chord, p.Twist, p.Aileron)
	}
	text := told(p, "pair-differences")
	if !strings.Contains(text, "chord") || !strings.Contains(text, "aileron") || strings.Contains(text, "incidence") {
		t.Errorf("told: %s", text)
	}
	if p.Same || !p.OneTemplatePair {
		t.Errorf("chords 3 mm apart: same %v, one pair of templates %v", p.Same, p.OneTemplatePair)
	}
	w.hinge = 0
	l2, _ := sides(t, w, w, nil)
	if Compare(l2, r, 1).Aileron != nil {
		t.Error("an aileron is compared that one side does not have")
	}
}

// How sections that stand in for the unknown nominal are turned against each other is not told, and a caution says so.
func TestPairOfStandIns(t *testing.T) {
	t.Parallel()
	w := small()
	l, r := sides(t, w, w, nil)
	l.Survey.StandIn, r.Survey.StandIn = true, true
	p := Compare(l, r, 1)
	if !p.Same || !p.OneTemplatePair || !math.IsInf(p.Turn.U, 1) || told(p, "pair-turn-unknown") == "" || p.Verdict != scan.Caution {
		t.Errorf("same %v, one pair of templates %v, turned %v, verdict %v: %v", p.Same, p.OneTemplatePair, p.Turn, p.Verdict, p.Messages)
	}
	p.Same, p.OneTemplatePair, p.Messages = false, false, nil
	p.tell(true)
	if text := told(p, "pair-differs") + told(p, "two-template-pairs"); text == "" || strings.Contains(text, "turned") || strings.Contains(text, "degree") {
		t.Errorf("told: %s", text)
	}
	p.Messages = nil
	p.tell(false)
	if !strings.Contains(told(p, "pair-differs"), "turned against each other by") || !strings.Contains(told(p, "two-template-pairs"), "0.1 degree may be") {
		t.Errorf("told: %v", p.Messages)
	}
}

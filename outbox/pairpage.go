package outbox

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"tipwright/fit"
	"tipwright/section"
)

// pairView is what the comparison's page shows.
type pairView struct {
	*PairRecord
	Title    string
	Sentence string
	Rows     []contrastRow
	Steps    []step
	Upper    drawn
	Lower    drawn
	Groups   []messageGroup
	Flying   []warning
}

// contrastRow is one line of the table of both sides.
type contrastRow struct {
	What, Unit, Key, Word string
	Decimals              int
	Limit                 float64 // what may differ, in the row's unit; 0: nothing is said about it
	ContrastRecord
}

// sameTurn is what two tips may be turned against each other, degrees, as the comparison judges it.
const sameTurn = 0.1

func pairPage(d *PairDelivery, r *PairRecord) ([]byte, error) {
	sentence, steps := pairSentence(r), pairSteps(r)
	if d.Sheet.Chord == 0 {
		sentence = "The tips cannot be compared: no chord was taped, and the scanner's own sizes may be wrong by 1 %."
		steps = []step{{"Tape the chord at the tip rib and write it into the wing sheet.", []string{"Both wings are then measured again, and compared."}}}
	}
	v := pairView{
		PairRecord: r, Title: aircraftName(d.Sheet, d.Identity), Sentence: sentence, Rows: contrastRows(d, r), Steps: steps,
		Upper:  bothWidths(func(w float64) *picture { return pairChart(d.Result, fit.Upper, w) }),
		Lower:  bothWidths(func(w float64) *picture { return pairChart(d.Result, fit.Lower, w) }),
		Groups: grouped(r.Record), Flying: flyingCautions(),
	}
	return render("pair.tmpl.html", v)
}

// pairSentence is the verdict in one sentence.
func pairSentence(r *PairRecord) string {
	worst := fmt.Sprintf("%s ± %s mm", fixed(math.Abs(r.LaidTogether.WorstMM), 2), upTo(r.DifferenceUMM, 2))
	switch {
	case r.Same && r.OneTemplatePair:
		return fmt.Sprintf("Both tips agree: they differ by %s at worst, and one pair of templates serves both wings.", worst)
	case r.Same:
		return "The skins agree, but each wing needs its own pair of templates."
	case r.OneTemplatePair:
		return fmt.Sprintf("The skins differ by %s at worst, yet one pair of templates serves both wings.", worst)
	}
	return fmt.Sprintf("The tips differ by %s at worst: each wing needs its own pair of templates.", worst)
}

func contrastRows(d *PairDelivery, r *PairRecord) []contrastRow {
	rows := []contrastRow{
		{"Reference chord", "mm", "chord_mm", "chord", 1, r.ToleranceMM, r.ChordMM},
		{"Greatest thickness", "mm", "thickness_mm", "as-built", 1, r.ToleranceMM, r.ThicknessMM},
		{"Area of the section", "cm²", "area_cm2", "as-built", 0, 0, r.AreaCM2},
		{"Sweep of the leading edge", "°", "sweep_deg", "sweep", 1, 0, r.SweepDeg},
		{"Twist along the span", "°/m", "twist_deg_per_m", "twist", 2, unlikeTwist(d), r.TwistDegPerM},
	}
	if r.AileronDeg != nil {
		rows = append(rows, contrastRow{"Aileron in the scan", "°", "aileron_deg", "neutral", 1, 0, *r.AileronDeg})
	}
	return rows
}

// unlikeTwist returns the difference in twist, degrees a metre, that comes to sameTurn over the span that both
// scans show; 0 if that is not known.
func unlikeTwist(d *PairDelivery) float64 {
	span := math.Inf(1)
	for _, s := range d.Scans {
		if s.Survey != nil && s.Survey.Stations > 0 {
			span = math.Min(span, s.Survey.Stations)
		}
	}
	if math.IsInf(span, 1) {
		return 0
	}
	return sameTurn * perMetre / span
}

// pairSteps says what to do, in working order.
func pairSteps(r *PairRecord) []step {
	var out []step
	if n := r.count("caution"); n > 0 {
		out = append(out, step{fmt.Sprintf("Read the %s below first.", counted(n, "caution")), nil})
	}
	if a := r.AileronDeg; a != nil && a.Differ {
		out = append(out, step{"Set both ailerons to the designer's neutral.", []string{fmt.Sprintf("In the scans they stood %s° apart.", plusMinus(absolute(a.Difference), 1))}})
	}
	if len(r.Needs) > 0 {
		var where []string
		needs := slices.Clone(r.Needs)
		slices.SortStableFunc(needs, func(a, b NeedRecord) int { return cmp.Compare(b.VolumeML.Value, a.VolumeML.Value) })
		for _, n := range needs {
			where = append(where, fmt.Sprintf("%s wing, %s skin, %s to %s mm aft of the leading edge: up to %s mm deep, roughly %s ml.",
				n.Side, n.Surface, fixed(n.FromMM, 0), fixed(n.ToMM, 0), fixed(n.DepthMM, 1), fixed(n.VolumeML.Value, 0)))
		}
		where = append(where, "Low spots that the wing's own report has you fill are part of this.")
		do := "To make the wings alike, fill the lower one:"
		if r.Same {
			do = "The tips match as they are. To bring the wings closer still, fill the lower one:"
		}
		out = append(out, step{do, where})
	}
	if r.OneTemplatePair {
		out = append(out, step{"Use one pair of templates for both wings.", []string{fmt.Sprintf("The finished outlines differ by %s mm at worst, within the %s mm that may differ. "+
			"Turn the boards over for the other wing; the face that looked outboard then looks inboard.", fixed(math.Abs(r.TargetWorstMM), 2), fixed(r.ToleranceMM, 1))}})
	} else {
		out = append(out, step{"Saw a pair of templates for each wing and mark them left and right at once.", []string{
			fmt.Sprintf("The finished outlines differ by up to %s mm; %s mm may differ.", fixed(math.Abs(r.TargetWorstMM), 2), fixed(r.ToleranceMM, 1))}})
	}
	return append(out, step{"Before you glass, hold both cores to their wings and sight along the tails.", []string{"It is the last chance to see a difference in twist."}})
}

// pairChart draws the difference of the two skins, left less right.
func pairChart(p *fit.PairResult, surface fit.Surface, width float64) *picture {
	least, most, chord := -1.1*p.Tolerance, 1.1*p.Tolerance, 1.0
	var shape, raw []sample
	var us []float64
	for _, t := range p.Traces {
		chord = math.Max(chord, t.X)
		if t.Seen {
			for _, v := range []float64{t.Raw, t.Shape, t.U, -t.U} {
				least, most = math.Min(least, v), math.Max(most, v)
			}
		}
		if t.Surface == surface {
			shape, raw = append(shape, sample{t.X, t.Shape, t.Seen}), append(raw, sample{t.X, t.Raw, t.Seen})
			us = append(us, t.U)
		}
	}
	if surface == fit.Upper { // from the nose aft
		slices.Reverse(shape)
		slices.Reverse(raw)
		slices.Reverse(us)
	}
	c := newChart(fmt.Sprintf("Difference of the %s skins, left less right, mm", surface), width, 250, chord, least, most)
	zero := make([]sample, len(shape))
	for i, s := range shape {
		zero[i] = sample{s.x, 0, s.show}
	}
	c.ribbon(shade, 0, zero, func(i int) float64 { return us[i] })
	c.grid(decimalsOf(c.y1 - c.y0))
	c.gaps(shape)
	for _, sign := range []float64{-1, 1} {
		a := c.at(0, sign*p.Tolerance)
		c.line(ink, 1, a, vec(c.right, a.Y)).dash = []float64{3, 4}
	}
	c.told(shape, us)
	c.curve(muted, 1.3, []float64{6, 3}, raw)
	c.curve(accent, 2.2, nil, shape)
	c.corner(map[fit.Surface]string{fit.Upper: "Upper skin", fit.Lower: "Lower skin"}[surface])
	return &c.picture
}

// told fills between zero and the curve where it exceeds its uncertainty.
func (c *chart) told(curve []sample, us []float64) {
	for _, side := range []struct {
		t    tone
		sign float64
	}{{low(3), -1}, {high(3), 1}} {
		part := make([]sample, len(curve))
		for i, s := range curve {
			part[i] = sample{s.x, s.y / 2, s.show && side.sign*s.y > us[i]}
		}
		c.ribbon(side.t, 0.55, part, func(i int) float64 { return math.Abs(part[i].y) })
	}
}

// differs says in a word whether a difference is one, and if so whether it may be.
func differs(m section.Measured, limit float64, unit string) string {
	d := math.Abs(m.Value)
	switch {
	case d <= m.U:
		return "not told apart"
	case limit == 0:
		return "differs"
	case d <= limit:
		return "differs, but by less than " + fixed(limit, 1) + unitAfter(unit)
	}
	return "differs by more than " + fixed(limit, 1) + unitAfter(unit)
}

package outbox

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/scan"
	"tipwright/section"
)

// sentence is the verdict in one sentence.
func sentence(d *Delivery, r *Record) string {
	if d.Sheet.Chord == 0 {
		return fmt.Sprintf("The shape of the %s wing's tip section is known to ± %s mm, but its chord only to ± %s mm, since none was taped: do not cut from this.",
			r.Side, upTo(d.Result.OutlineU, 2), upTo(r.Section.ChordMM.U, 1))
	}
	u := upTo(d.Result.OutlineU, 2) + " mm"
	if r.Target.UMM > 0 {
		u += ", its templates to ± " + upTo(r.Target.UMM, 2) + " mm"
	}
	if r.Verdict == "good" {
		return fmt.Sprintf("The %s wing's tip section is known to ± %s. The templates are ready to use.", r.Side, u)
	}
	n := r.count("caution")
	read := "read the caution below"
	if n > 1 {
		read = fmt.Sprintf("read the %d cautions below", n)
	}
	return fmt.Sprintf("The %s wing's tip section is known to ± %s; %s before you cut.", r.Side, u, read)
}

// messageGroup is the messages of one level.
type messageGroup struct {
	Level, Head string
	Messages    []MessageRecord
}

func grouped(r *Record) []messageGroup {
	var out []messageGroup
	for _, g := range []messageGroup{
		{Level: scan.Refusal.String(), Head: "Why it was refused"},
		{Level: scan.Caution.String(), Head: "Cautions"},
		{Level: scan.Note.String(), Head: "Notes"},
	} {
		for _, m := range r.Messages {
			if m.Level == g.Level {
				g.Messages = append(g.Messages, m)
			}
		}
		if len(g.Messages) > 0 {
			out = append(out, g)
		}
	}
	return out
}

// wrapWords says which files show the filler map at full size.
func wrapWords(files []string) string {
	text := "filler-map.svg is this drawing at full size."
	if w := named(files, "wrap-", ".pdf"); len(w) > 0 {
		text = "At full size, to tape on the skin and mark through: " + listed(w) + "; " + text
	}
	return text
}

// stretchWords says where a stretch lies; one of a single point is at one place.
func stretchWords(s StretchRecord) string {
	if from, to := fixed(s.From, 0), fixed(s.To, 0); from != to {
		return "from " + from + " to " + to
	}
	return "about " + fixed(s.From, 0)
}

// stretchesWords says where stretches lie, at one place on both skins in one go.
func stretchesWords(list []StretchRecord) string {
	var places []string
	skins := map[string]string{}
	for _, s := range list {
		where, skin := stretchWords(s), s.Surface+" skin"
		if before := skins[where]; before == "" {
			places = append(places, where)
		} else if before != skin {
			skin = "both skins"
		}
		skins[where] = skin
	}
	for i, where := range places {
		places[i] = skins[where] + " " + where
	}
	return listed(places)
}

// aileronWords says how the aileron stood and what the templates make of it.
func aileronWords(d *Delivery, r *Record) []string {
	l := &d.Result.Survey.Loft
	switch {
	case r.Aileron == nil && l.Hinge > 0:
		return []string{"How the aileron stood could not be told from this scan. Check by hand that it was at neutral."}
	case r.Aileron == nil:
		return []string{"The wing sheet names no aileron that reaches the tip. If one does, give its hinge line there: else its angle passes for the shape of the wing."}
	}
	a := absolute(r.Aileron.DeflectionDeg)
	lever := (1 - l.Hinge) * l.Chord / degreesPerRadian // mm at the tail per degree
	stood := "The aileron stood faired with the wing, as far as the scan can tell."
	if a.Value > a.U {
		way := "lower"
		if r.Aileron.DeflectionDeg.Value < 0 {
			way = "higher"
		}
		stood = fmt.Sprintf("Its trailing edge stood %s ± %s mm %s than with the aileron faired.", fixed(lever*a.Value, 1), upTo(lever*a.U, 1), way)
	}
	return []string{
		stood,
		fmt.Sprintf("Hinge line: %s mm aft of the leading edge, as the wing sheet says. Neutral: %s, also from the wing sheet.",
			fixed(l.Hinge*l.Chord, 0), neutralWords(r.Aileron.NeutralDeg)),
		"Templates and gauges show the aileron at neutral, whatever it did in the scan; low spots on it are found with its angle taken off. " +
			"Never fill or thicken an aileron without balancing it again.",
	}
}

// hingeSlot is how far from the hinge line a slot may reach that passes for the hinge's own, mm (common
// practice, no source).
const hingeSlot = 25.0

func hingeApart(sv *section.Survey) string {
	if sv.Loft.Hinge > 0 {
		return ", the slot at the hinge line apart"
	}
	return ""
}

// seenWords says what the scan shows of the wing and what not.
func seenWords(d *Delivery) []string {
	res, sv := d.Result, d.Result.Survey
	var slots, holes []StretchRecord
	for _, s := range unseenStretches(res) {
		if hinge := sv.Loft.Hinge * sv.Loft.Chord; hinge > 0 && s.From > hinge-hingeSlot && s.To < hinge+hingeSlot {
			slots = append(slots, s)
		} else {
			holes = append(holes, s)
		}
	}
	share := seenShare(sv.Coverage)
	if len(holes) > 0 && sv.Coverage >= 1 { // of so few points that they do not count
		share = "nearly " + share
	}
	out := []string{fmt.Sprintf("At the tip rib %s of the outline was seen%s, and the wing as far as %s mm inboard.",
		share, hingeApart(sv), fixed(sv.Stations, 0))}
	if len(holes) > 0 {
		out = append(out, fmt.Sprintf("Not seen at the tip rib: %s mm aft of the leading edge. The template carries on the form of the skin beside it there.", stretchesWords(holes)))
	}
	if len(slots) > 0 {
		out = append(out, fmt.Sprintf("The slot at the hinge line, %s mm aft of the leading edge, was left out: it is no skin.", stretchesWords(slots)))
	}
	unseen, blind := 0, 0
	limit := 2 * math.Max(res.DetectionLimit, 0.05)
	for k, seen := range res.Map.Seen {
		if !seen {
			unseen++
		} else if res.Map.U[k] > limit {
			blind++
		}
	}
	if n := float64(len(res.Map.Seen)); n > 0 {
		out = append(out, fmt.Sprintf("Of the filler band, the outboard %s mm: not seen, %s (hatched on the map); too few points to tell, %s (dotted).",
			fixed(d.Sheet.Band.MM(), 0), lackingShare(float64(unseen)/n), lackingShare(float64(blind)/n)))
	}
	return append(out, fmt.Sprintf("A low spot 100 mm wide must be %s mm deep to be told from the scanner's noise. Where the map shows nothing, the skin is good to that, and no better is known.",
		upTo(res.DetectionLimit, 2)))
}

// seenShare writes a share as per cent, rounded down: all is said only of all.
func seenShare(v float64) string { return fixed(math.Floor(100*v+1e-9), 0) + "\u00a0%" }

// lackingShare writes a share as per cent, rounded up; what is lacking is never nothing unless it is.
func lackingShare(v float64) string {
	switch {
	case v <= 0:
		return "none"
	case v < 0.01:
		return "less than 1\u00a0%"
	}
	return upTo(100*v, 0) + "\u00a0%"
}

// budgetRow is one contribution to the uncertainty.
type budgetRow struct{ What, Figure, From string }

// budget lists what stands behind the figures.
func budget(d *Delivery, r *Record) []budgetRow {
	sv := d.Result.Survey
	points := 0
	for _, s := range d.Scans {
		points += s.Points
	}
	scale := "from the taped chord"
	if d.Sheet.Chord == 0 || d.Sheet.TrustScale {
		scale = "the scanner's own scale, which no tape has checked"
	}
	rows := []budgetRow{
		{"Scanner", "± " + upTo(2*sv.Noise, 2) + " mm a point", fmt.Sprintf("spread of the points about the skin (k = 2), from %s points", grouping(points))},
		{"Outline as built", "± " + upTo(r.Section.OutlineUMM, 2) + " mm", "nine tenths of the section at least that well: noise averaged over neighbouring points that err together, and the scale"},
		{"Scale", "± " + upTo(r.Section.LengthU*r.Section.ChordMM.Value/perMetre, 2) + " mm on the chord", scale},
	}
	if len(r.Templates) > 0 {
		rows = append(rows, budgetRow{"Template", "± " + upTo(r.Templates[0].UMM, 2) + " mm", "the finished surface, square to the outline, aileron and scale included; print, saw and sand come on top"})
	}
	return append(rows, budgetRow{"Detection limit", upTo(*r.DetectionLimitMM, 2) + " mm", "least depth of a low spot 100 mm wide that is told from noise"})
}

// grouping writes a count with thin spaces between thousands.
func grouping(n int) string {
	s := fmt.Sprint(n)
	for i := len(s) - 3; i > 0; i -= 3 {
		s = s[:i] + "\u202f" + s[i:]
	}
	return s
}

// fileRow is one drawing or file of a delivery, in all its formats.
type fileRow struct {
	What, Stem string
	Files      []fileLink
}

// fileLink is one format of it.
type fileLink struct{ Name, Format string }

// fileKinds tells what the files are by how their names begin, in the order of use.
func fileKinds() [][2]string {
	return [][2]string{
		{"inboard-block", "Form block at the tip rib, full size"},
		{"outboard-block", "Form block at the tip's outer end, full size"},
		{"gauge-", "Check gauge, full size; the number is its station, mm inboard of the tip rib"},
		{"foam-block", "The foam: sheets, size, and where the blocks sit"},
		{"flange-strip", "Flange under the skin, developed, full size"},
		{"kerf-coupon", "Test cut that measures the kerf, full size"},
		{"wrap-", "Wrap sheet: the filler map of one skin at full size, to tape on the wing and mark through"},
		{"filler-map", "Filler map; the SVG is at full size"},
		{"section", "The section at the tip rib as a table: nominal, as built, target"},
		{"departures", "All departures: as a table, and as a surface with colours for other viewers"},
		{"blank-wing", "A wing sheet to fill in and save as wing.toml beside the scans"},
		{"result", "All of it for machines"},
	}
}

// fileRows lists the files by what they are.
func fileRows(names []string) []fileRow {
	var rows []fileRow
	for _, kind := range fileKinds() {
		stem := ""
		for _, n := range names {
			if !strings.HasPrefix(n, kind[0]) {
				continue
			}
			s := strings.TrimSuffix(n, filepath.Ext(n))
			if s != stem {
				rows = append(rows, fileRow{What: kind[1], Stem: s})
				stem = s
			}
			last := &rows[len(rows)-1]
			last.Files = append(last.Files, fileLink{n, strings.ToUpper(strings.TrimPrefix(filepath.Ext(n), "."))})
		}
	}
	for _, r := range rows {
		slices.SortStableFunc(r.Files, func(a, b fileLink) int { return useOf(a) - useOf(b) })
	}
	return rows
}

// useOf puts what is printed before what is drawn on.
func useOf(f fileLink) int { return strings.Index("PDF PNG SVG DXF CSV PLY GLB", f.Format) }

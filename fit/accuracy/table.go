package accuracy

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// Report is all that fit/ACCURACY.md shows.
type Report struct {
	Rounds    int    // of Rounds
	Rows      []*Row // the base first
	Detection []Detection
	Bound     []BoundRatio
}

// page writes Markdown.
type page struct{ strings.Builder }

func (p *page) say(format string, args ...any) { fmt.Fprintf(p, format+"\n", args...) }

// row writes one line of a table.
func (p *page) row(cells ...string) { p.say("| %s |", strings.Join(cells, " | ")) }

// head writes the first lines of a table.
func (p *page) head(cells ...string) {
	p.row(cells...)
	rule := make([]string, len(cells))
	for i := range rule {
		rule[i] = "---"
	}
	p.row(rule...)
}

// Write writes the report in Markdown. The same report gives the same bytes.
func (r *Report) Write(w io.Writer) error {
	p := &page{}
	r.intro(p)
	r.base(p)
	r.errors(p)
	r.spots(p)
	r.coverage(p)
	r.told(p)
	r.detection(p)
	r.bound(p)
	r.missed(p)
	_, err := io.WriteString(w, p.String())
	return err
}

func (r *Report) intro(p *page) {
	n := 0
	for _, row := range r.Rows {
		n += row.Scans
	}
	for _, d := range r.Detection {
		n += d.Scans
	}
	if len(r.Bound) > 0 {
		n += r.Bound[0].Scans
	}
	p.say("# How accurate the measurement is\n")
	p.say("Made by `go test ./fit/accuracy -run TestTable -table -rounds %d -timeout 0` from %d seeded simulated scans of wings whose", r.Rounds, n)
	p.say("surface is known exactly (`section/simulate`, which shares no curve, loft or departure with the code that")
	p.say("measures). The wings are drawn from the seeds: NACA sections of every family, chords of 900 to 1450 mm, spans of")
	p.say("550 to 850 mm, with taper, twist, sweep, dihedral, a tail 1 to 4 mm thick, an offset of the skin, waves of form, a")
	p.say("hinge gap and an aileron off neutral by up to 2 degrees, low spots and a high one. Scan k of row j (both from 0)")
	p.say("has the seed 1000 j + k + 1, so any of them can be made again.\n")
	p.say("An error is the measured value less the true one; a cell shows **rms / worst**. Outlines are compared as a")
	p.say("template is laid on, shifted and turned to fit best, every 2 mm round; the as-built one leaves out 15 mm either")
	p.say("side of the hinge. Depth, place and volume are those of a low spot 150 mm wide and 1 mm deep that every wing has.")
	p.say("Rows but the base have a quarter of its points unless they say otherwise, since it is their difference that counts.")
	p.say("The scale's error is told as what it makes of the chord; the tape is exact but where a row says otherwise,")
	p.say("and but where it is asked how often the truth lies within U (see there).")
	p.say("What is wanted holds for 400,000 points and 0.5 mm of noise and grows with the noise, with the root of the points")
	p.say("that are fewer, and with the warp; a cell that does not reach it says **over**. Of the few scans of a row but the")
	p.say("base the rms may exceed it by what is chance at the 95 %% level.\n")
}

// base shows the first row against what is wanted.
func (r *Report) base(p *page) {
	b := r.Rows[0]
	p.say("## The base against what is wanted\n\n%s; %d scans.\n", b.Condition.Note, b.Scans)
	p.head("quantity", "wanted rms", "reached", "wanted worst", "reached", "worst at seed", "truth within U (wanted 92 to 99 %)", "")
	for _, w := range wants() {
		t := b.quantities[w.name]
		wantedRMS, wantedWorst := "-", "-"
		if w.rms > 0 {
			wantedRMS, wantedWorst = number(w.rms, w), number(w.worst, w)
		}
		p.row(w.name+", "+w.unit, wantedRMS, number(t.rms(), w), wantedWorst, number(t.worst, w),
			fmt.Sprint(b.worstSeed[w.name]), covered(t, w), b.verdict(w))
	}
	p.row("pose right", "100 %", share(b.PoseRight, b.Scans-b.refusals()), "", "", "", "", words(b.PoseRight < b.Scans-b.refusals(), "not reached"))
	p.row("scans delivered", "100 %", share(b.Scans-b.refusals(), b.Scans), "", "", "", "", words(b.refusals() > 0, "not reached"))
	p.row("low spots of twice the stated detection limit found", "100 %", share(b.Found, b.Due), "", "", "", "", words(b.Found < b.Due, "not reached"))
	p.row("false spots", "fewer than 1 in 50 scans", fmt.Sprintf("%d low, %d high in %d scans", b.FalseLow, b.FalseHigh, b.Scans), "", "", "", "",
		words(50*(b.FalseLow+b.FalseHigh) >= b.Scans, "not reached"))
	p.say("")
}

// enoughForShare is how many errors tell 99 % from all of them: of so many that lie within U with 99 % each, all do in
// half of the samples.
const enoughForShare = 69

// verdict says in words what of a quantity is not reached.
func (r *Row) verdict(w want) string {
	t := r.quantities[w.name]
	var out []string
	rms, worst := r.over(w)
	if rms {
		out = append(out, "rms over")
	}
	if worst {
		out = append(out, "worst over")
	}
	if t.asked >= enoughForShare {
		switch c := t.coverage(); {
		case c < coverageWanted[0]:
			out = append(out, "U too small")
		case c > coverageWanted[1]:
			out = append(out, "U wide")
		}
	}
	if len(out) == 0 {
		return "reached"
	}
	return strings.Join(out, ", ")
}

// errors shows every condition.
func (r *Report) errors(p *page) {
	p.say("## Every condition\n")
	names := wants()[:9]
	cells := []string{"condition", "scans", "refused", "pose right"}
	for _, w := range names {
		cells = append(cells, w.name+", "+w.unit)
	}
	p.head(cells...)
	for _, row := range r.Rows {
		cells := []string{row.Condition.Name, fmt.Sprint(row.Scans), fmt.Sprint(row.refusals()), share(row.PoseRight, row.Delivered)}
		for _, w := range names {
			cells = append(cells, row.cell(w))
		}
		p.row(cells...)
	}
	p.say("")
	for _, row := range r.Rows[1:] {
		if row.Condition.Note != "" {
			p.say("* %s: %s.", row.Condition.Name, row.Condition.Note)
		}
	}
	p.say("")
}

// cell shows rms and worst.
func (r *Row) cell(w want) string {
	t := r.quantities[w.name]
	if t.n == 0 {
		return "-"
	}
	over := ""
	if rms, worst := r.over(w); rms || worst {
		over = " over"
	}
	return number(t.rms(), w) + " / " + number(t.worst, w) + over
}

// spots shows what became of the low spots.
func (r *Report) spots(p *page) {
	p.say("## Low spots\n")
	p.head("condition", "depth, mm", "place, mm", "volume, %", "found of those of twice the limit", "false low", "false high", "stated detection limit (100 mm wide), mm")
	for _, row := range r.Rows {
		cells := []string{row.Condition.Name}
		for _, w := range wants()[9:] {
			cells = append(cells, row.cell(w))
		}
		low := fmt.Sprint(row.FalseLow)
		if row.Condition.Sagging {
			low = "not counted"
		}
		limit := "-"
		if row.Delivered > 0 {
			limit = fmt.Sprintf("%.2f", middle(row.limits))
		}
		p.row(append(cells, fmt.Sprintf("%d of %d", row.Found, row.Due), low, fmt.Sprint(row.FalseHigh), limit)...)
	}
	p.say("")
}

// missed lists in words what is not reached.
func (r *Report) missed(p *page) {
	p.say("## Not reached\n")
	for _, row := range r.Rows {
		for _, w := range wants() {
			t := row.quantities[w.name]
			if overRMS, overWorst := row.over(w); overRMS || overWorst {
				rms, worst := row.wanted(w)
				p.say("* %s, %s: rms %s, worst %s %s at seed %d; wanted at this noise and number of points %s and %s.", row.Condition.Name, w.name,
					number(t.rms(), w), number(t.worst, w), w.unit, row.worstSeed[w.name], number(rms, w), number(worst, w))
			}
		}
		if untold := row.Scans - row.Told; len(row.Condition.Must) > 0 && untold > 0 {
			p.say("* %s: %d of %d scans passed without the word that has to be said.", row.Condition.Name, untold, row.Scans)
		}
		if row.Found < row.Due {
			p.say("* %s: %d of %d low spots of twice the stated detection limit were found.", row.Condition.Name, row.Found, row.Due)
		}
	}
	p.say("")
	p.say("## Why\n")
	for _, line := range r.reasons() {
		p.say("* %s", line)
	}
}

func (r *Row) refusals() (n int) {
	for _, c := range r.Refused {
		n += c
	}
	return n
}

func number(v float64, w want) string { return fmt.Sprintf("%.*f", w.digits, v) }

func share(a, b int) string { return fmt.Sprintf("%d of %d", a, b) }

func words(yes bool, text string) string {
	if yes {
		return text
	}
	return "reached"
}

// counts lists codes and how often they were said.
func counts(m map[string]int) string {
	var out []string
	for _, code := range slices.Sorted(maps.Keys(m)) {
		out = append(out, fmt.Sprintf("%s %d", code, m[code]))
	}
	if len(out) == 0 {
		return "-"
	}
	return strings.Join(out, ", ")
}

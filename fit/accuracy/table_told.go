package accuracy

import (
	"cmp"
	"fmt"
	"math"
	"strings"
)

// coverage shows how often the truth lies within U.
func (r *Report) coverage(p *page) {
	p.say("## Truth within the stated uncertainty (k = 2), per cent\n")
	p.say("Wanted are 92 to 99 %%. Of an outline it is the share of its length. U of chord, scale and outlines holds the tape's 1 mm,")
	p.say("so here, and only here, each tape errs: by a drawn amount with a standard deviation of %.1f mm, half of that U, which makes", tapeSigma)
	p.say("every measured length longer by its share of the chord (a test shows that a chord taped wrong does so). A row with an")
	p.say("error of the tape of its own has no other. A row of few scans says little: where all of six lie within U, the share of all such scans that do may still be as low as %.0f %%", 100*leastShare(6))
	p.say("(at the 95 %% level, by the binomial distribution), of nine %.0f %%, of a hundred %.0f %%. So the rows show what breaks U, and", 100*leastShare(9), 100*leastShare(100))
	p.say("only the pooled lines at the end tell how often it holds.\n")
	cells := []string{"condition"}
	for _, w := range wants() {
		if w.stated {
			cells = append(cells, w.name)
		}
	}
	p.head(cells...)
	for _, row := range r.Rows {
		p.row(stated(row.Condition.Name, func(w want) string { return covered(row.quantities[w.name], w) })...)
	}
	for _, line := range r.pools() {
		p.row(stated("**"+line.name+"**", func(w want) string {
			t := line.of(w.name)
			return fmt.Sprintf("%.1f of %.0f", t.coverage(), t.asked)
		})...)
		p.row(stated(line.name+": rms of error over standard uncertainty", func(w want) string {
			t := line.of(w.name)
			return fmt.Sprintf("%.2f", math.Sqrt(t.overU/math.Max(t.asked, 1)))
		})...)
	}
	p.say("")
	p.say("The pooled lines give the share and of how many errors. An error over its standard uncertainty, half of U, would be 1 in")
	p.say("the rms if U were neither too small nor too wide; outlines count with their rms. Named as limits, and left out of the last")
	p.say("two lines: %s.\n", cmp.Or(strings.Join(r.limits(), ", "), "none"))
}

// stated makes a row of a table of those quantities that have an uncertainty.
func stated(name string, cell func(w want) string) []string {
	cells := []string{name}
	for _, w := range wants() {
		if w.stated {
			cells = append(cells, cell(w))
		}
	}
	return cells
}

// pooled is several rows taken together.
type pooled struct {
	name string
	rows []*Row
}

// pools are the rows all together, and without those that are named as limits.
func (r *Report) pools() []pooled {
	all, usual := pooled{name: "all rows"}, pooled{name: "all but the limits"}
	for _, row := range r.Rows {
		all.rows = append(all.rows, row)
		if !row.Condition.Limit {
			usual.rows = append(usual.rows, row)
		}
	}
	return []pooled{all, usual}
}

func (l *pooled) of(quantity string) *tally {
	sum := &tally{}
	for _, row := range l.rows {
		sum.pool(row.quantities[quantity])
	}
	return sum
}

// limits names the conditions that are limits.
func (r *Report) limits() (out []string) {
	for _, row := range r.Rows {
		if row.Condition.Limit {
			out = append(out, row.Condition.Name)
		}
	}
	return out
}

// leastShare is the least share of all that the trials still allow at the 95 % level where all of n succeed: n of n have
// then the chance of 5 % (Clopper and Pearson 1934, one-sided; from memory).
func leastShare(n int) float64 { return math.Pow(0.05, 1/float64(n)) }

// covered shows the coverage.
func covered(t *tally, w want) string {
	if !w.stated || t.asked == 0 {
		return "-"
	}
	return fmt.Sprintf("%.0f", t.coverage())
}

// told shows what was refused and cautioned.
func (r *Report) told(p *page) {
	p.say("## What was refused and cautioned\n")
	p.say("Where something has to be said, the third column counts the scans that were refused or cautioned for it. The amount is")
	p.say("by how much the skins were said to lie apart, less what is true; where the thickness is not callipered it holds twice the")
	p.say("skin's offset and the form besides.\n")
	p.head("condition", "refused", "cautions", "said what it must", "amount of the split, mm")
	for _, row := range r.Rows {
		must, amount := "", ""
		if len(row.Condition.Must) > 0 {
			must = share(row.Told, row.Scans)
		}
		if row.split.n > 0 {
			amount = fmt.Sprintf("%.2f / %.2f", row.split.rms(), row.split.worst)
		}
		p.row(row.Condition.Name, counts(row.Refused), counts(row.Cautioned), must, amount)
	}
	p.say("")
}

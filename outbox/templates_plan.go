package outbox

import (
	"fmt"
	"strings"

	"tipwright/outbox/draw"
)

// workStep is one step of making a tip and the drawings that it takes, by the beginnings of their names.
type workStep struct {
	names []string
	words string
}

// workSteps are in the order of the work, which is that of printing too: what is measured on the test cut
// changes all that follows.
func workSteps() []workStep {
	return []workStep{
		{[]string{"kerf-coupon"}, "first: its kerf goes into the wing sheet and the rest is made again."},
		{[]string{"flange-strip"}, "before filling."},
		{[]string{"wrap"}, "before filling, to mark the spots on the skin."},
		{[]string{"gauge"}, "while you fill and sand."},
		{[]string{"inboard-block", "outboard-block"}, "when the wing is finished."},
		{[]string{"foam-block"}, "while you glue and set up."},
	}
}

// printPlan is what there is to print: which drawings, and how many sheets each takes.
type printPlan struct {
	names  []string
	sheets []int
}

func newPrintPlan(drawings []NamedDrawing, page draw.Page) (printPlan, error) {
	var p printPlan
	for _, n := range drawings {
		sheets, err := page.Sheets(n.Drawing)
		if err != nil {
			return p, fmt.Errorf("%s: %w", n.Name, err)
		}
		p.names, p.sheets = append(p.names, n.Name), append(p.sheets, sheets)
	}
	return p, nil
}

// note says in what order the drawings are printed, and which of them this one is.
func (p printPlan) note(this string) draw.Note {
	out := draw.Note{Heading: "What to print, in this order (sheets)"}
	for _, s := range workSteps() {
		var files []string
		for i, name := range p.names {
			if !s.of(name) {
				continue
			}
			file := fmt.Sprintf("%s.pdf (%d)", name, p.sheets[i])
			if name == this {
				file += " THIS FILE"
			}
			files = append(files, file)
		}
		if len(files) > 0 {
			out.Lines = append(out.Lines, fmt.Sprintf("%d. %s: %s", len(out.Lines)+1, strings.Join(files, ", "), s.words))
		}
	}
	return out
}

func (s workStep) of(name string) bool {
	for _, n := range s.names {
		if strings.HasPrefix(name, n) {
			return true
		}
	}
	return false
}

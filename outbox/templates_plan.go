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
		{[]string{"gauge"}, "while you fill and sand, with the wrap sheets if there are any."},
		{[]string{"inboard-block", "outboard-block"}, "when the wing is finished."},
		{[]string{"foam-block"}, "while you glue and set up."},
	}
}

// planOf says which drawings there are, in what order they are printed and how many sheets each takes.
func planOf(drawings []NamedDrawing, this string, page draw.Page) (draw.Note, error) {
	out := draw.Note{Heading: "What to print, in this order (sheets)"}
	for _, s := range workSteps() {
		var files []string
		for _, n := range drawings {
			if !s.of(n.Name) {
				continue
			}
			sheets, err := page.Sheets(n.Drawing)
			if err != nil {
				return out, fmt.Errorf("%s: %w", n.Name, err)
			}
			file := fmt.Sprintf("%s.pdf (%d)", n.Name, sheets)
			if n.Name == this {
				file += " THIS FILE"
			}
			files = append(files, file)
		}
		if len(files) > 0 {
			out.Lines = append(out.Lines, fmt.Sprintf("%d. %s: %s", len(out.Lines)+1, strings.Join(files, ", "), s.words))
		}
	}
	return out, nil
}

func (s workStep) of(name string) bool {
	for _, n := range s.names {
		if strings.HasPrefix(name, n) {
			return true
		}
	}
	return false
}

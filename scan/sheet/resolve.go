package sheet

import (
	"fmt"
	"strings"
)

// resolve sets the defaults that hang on other keys and refuses what does not go together.
func (p *parser) resolve() {
	s := p.sheet
	if !s.given["wire.kerf"] {
		s.Kerf = s.WireDiameter + kerfBeyondWire
	}
	if s.Kerf < s.WireDiameter {
		p.fail(p.lines["wire.kerf"], "wire.kerf", mendf("measure the slot of a test cut, or give the wire's diameter",
			"a slot of %s is narrower than the wire of %s", s.Kerf, s.WireDiameter))
	}
	p.exclude("tip.laminate", "tip.plies", "take one out: the laminate is measured, or it is computed from the plies")
	p.exclude("print.paper", "print.roll", "take one out: the templates are printed on sheets, or on a roll")
	if line, ok := p.lines["aileron"]; ok && s.Hinge == 0 && !p.bad["aileron.hinge"] {
		p.fail(line, "aileron", mendf("write hinge = 0.78, or where yours lies; leave the table out if no aileron reaches the tip",
			"the hinge line is missing"))
	}
	p.thickness()
}

func (p *parser) exclude(a, b, mend string) {
	if p.sheet.given[a] && p.sheet.given[b] {
		p.fail(max(p.lines[a], p.lines[b]), b, mendf(mend, "it stands beside %s", a))
	}
}

// Thickness of a wing's section, in chords: 3 % is a flat plate, 40 % no wing (invented bounds).
const (
	leastThickness = 0.03
	mostThickness  = 0.40
)

func (p *parser) thickness() {
	t, c := p.sheet.Thickness, p.sheet.Chord
	if t == 0 || c == 0 || (t >= leastThickness*c && t <= mostThickness*c) {
		return
	}
	p.fail(p.lines["thickness"], "thickness", mendf("check both: a section is 3 to 40 % of its chord thick",
		"%s on a chord of %s cannot be", t, c))
}

// unknown is the error for a key that the sheet does not have; it names the nearest that it has.
func unknown(known []key, name string, data any) error {
	if _, ok := data.(map[string]any); ok {
		if near := nearest(name, tableNames(known)); near != "" {
			return mendf("did you mean ["+near+"]?", "the table [%s] is not known here", name)
		}
		return mendf("the tables are ["+strings.Join(tableNames(known), "], [")+"]", "the table [%s] is not known here", name)
	}
	_, leaf := split(name)
	for _, k := range known {
		if table, l := split(k.name); strings.EqualFold(l, leaf) && k.name != name && l == strings.ToLower(leaf) {
			return mendf("did you mean "+k.name+"? "+place(table, l), "the key %s is not known here", name)
		}
	}
	names := make([]string, len(known))
	for i, k := range known {
		names[i] = k.name
	}
	if near := nearest(name, names); near != "" {
		return mendf("did you mean "+near+"?", "the key %s is not known here", name)
	}
	return mendf("take it out, or put a # before it", "the key %s is not known here", name)
}

// place says where a key belongs, for a builder who wrote it under the wrong table.
func place(table, leaf string) string {
	if table == "" {
		return fmt.Sprintf("%s stands at the top of the sheet, above the first [table]", leaf)
	}
	return fmt.Sprintf("%s stands under [%s]", leaf, table)
}

func split(name string) (table, leaf string) {
	if table, leaf, ok := strings.Cut(name, "."); ok {
		return table, leaf
	}
	return "", name
}

func tableNames(known []key) []string {
	var out []string
	for _, k := range known {
		if t, _ := split(k.name); t != "" && (len(out) == 0 || out[len(out)-1] != t) {
			out = append(out, t)
		}
	}
	return out
}

// nearest returns the name that is fewest edits from word, or nothing if all are too far to be meant.
func nearest(word string, names []string) string {
	best, least := "", len(word)/3+2
	for _, n := range names {
		if d := edits(strings.ToLower(word), n); d < least {
			best, least = n, d
		}
	}
	return best
}

// edits counts the insertions, deletions and replacements that turn a into b (Levenshtein's distance, by
// Wagner and Fischer's table, one row at a time).
func edits(a, b string) int {
	if len(a) > 4*mostName {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		corner := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := corner
			if a[i] != b[j] {
				change++
			}
			corner = row[j+1]
			row[j+1] = min(change, row[j]+1, corner+1)
		}
	}
	return row[len(b)]
}

package sheet

import (
	"fmt"
	"strings"
)

// Blank returns a wing sheet to fill in: the airfoil and the chord stand empty, everything else is
// commented out with its default. Filled in, it reads as the same values as [Default] but for those.
func Blank() string {
	var b strings.Builder
	b.WriteString("# Wing sheet: fill in airfoil and chord, and save this as wing.toml beside the scans.\n" +
		"# Write each length with its unit: \"1220 mm\", \"122 cm\", \"48 1/16 in\" or \"4 ft 1/2 in\".\n" +
		"# Everything else has a default, shown behind a #: take the # away to change it.\n\n")
	table := ""
	for _, k := range keys() {
		t, leaf := split(k.name)
		if t != table {
			fmt.Fprintf(&b, "\n%s\n", tableLine(t))
			table = t
		}
		fmt.Fprintf(&b, "%-30s # %s\n", blankLine(k, leaf), k.comment)
	}
	return b.String()
}

// blankLine shows one key, live if it is to be filled in and commented out if it has a default.
func blankLine(k key, leaf string) string {
	sample := k.sample
	if sample == "" {
		sample = literal(k.standard)
	}
	line := fmt.Sprintf("%-11s = %s", leaf, sample)
	if sample == `""` {
		return line
	}
	return "# " + line
}

// tableLine opens a table. That of the aileron is commented out with its keys, since the table itself says
// that there is one; the others stand, so that a key beneath that is made live lies in the right table.
func tableLine(name string) string {
	if name == "aileron" {
		return "# [aileron]  # take this # away too if an aileron reaches the tip"
	}
	return "[" + name + "]"
}

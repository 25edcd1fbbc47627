package main

import (
	"cmp"
	"fmt"
	"io"
	"text/tabwriter"

	"tipwright/scan/sheet"
)

type checkCommand struct {
	Sheet string `arg:"" name:"wing.toml" help:"The wing sheet to read."`
}

// Run reads a wing sheet and its airfoil and tells what is wrong, or what will be assumed.
func (c checkCommand) Run(s setting) error {
	if err := readable(c.Sheet, "a wing sheet", "Name the sheet itself, as in wing.toml"); err != nil {
		fmt.Fprintln(s.stderr, err)
		return errRefused
	}
	sh, a, err := readSheet(c.Sheet)
	if err != nil {
		fmt.Fprintln(s.stderr, err)
		return errRefused
	}
	if a != nil {
		thick, at := a.Thickness()
		fmt.Fprintf(s.stdout, "%s: %s, %.1f %% thick at %.0f %% of the chord.\n", sh.Source.File, a.Name, 100*thick, 100*at)
	}
	if sh.Chord > 0 {
		fmt.Fprintf(s.stdout, "%s: taped chord %.1f mm%s.\n", sh.Source.File, sh.Chord.MM(), hingeWords(sh))
	}
	fmt.Fprintln(s.stdout, "The sheet is in order.")
	printAssumed(s.stdout, "Not known:", "", sh.Missing())
	printAssumed(s.stdout, "Assumed, since the sheet does not say:", "-", sh.Assumptions())
	return nil
}

// hingeWords says where the hinge line lies, so that a fraction of another chord is noticed; nothing without one.
func hingeWords(sh *sheet.Sheet) string {
	if sh.Hinge == 0 {
		return ""
	}
	return fmt.Sprintf(", hinge line %.0f mm aft of the nose", sh.Hinge*sh.Chord.MM())
}

// printAssumed lists keys; blank stands where one has no value.
func printAssumed(w io.Writer, title, blank string, list []sheet.Assumption) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, a := range list {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", a.Key, cmp.Or(a.Value, blank), a.Why)
	}
	t.Flush()
}

package main

import (
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
	fmt.Fprintln(s.stdout, "The sheet is in order.")
	printAssumed(s.stdout, "Not known:", sh.Missing())
	printAssumed(s.stdout, "Assumed, since the sheet does not say:", sh.Assumptions())
	return nil
}

func printAssumed(w io.Writer, title string, list []sheet.Assumption) {
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s\n", title)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, a := range list {
		fmt.Fprintf(t, "  %s\t%s\t%s\n", a.Key, a.Value, a.Why)
	}
	t.Flush()
}

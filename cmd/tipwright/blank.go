package main

import (
	"fmt"

	"tipwright/scan/sheet"
)

type sheetCommand struct{}

// Run prints a wing sheet to fill in.
func (sheetCommand) Run(s setting) error {
	_, err := fmt.Fprint(s.stdout, sheet.Blank())
	return err
}

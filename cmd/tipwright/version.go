package main

import "fmt"

// versionLine is what is printed of the version.
const versionLine = "tipwright " + version

type versionCommand struct{}

// Run prints the version.
func (versionCommand) Run(s setting) error {
	_, err := fmt.Fprintln(s.stdout, versionLine)
	return err
}

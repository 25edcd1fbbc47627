package main

import "fmt"

type versionCommand struct{}

// Run prints the version.
func (versionCommand) Run(s setting) error {
	_, err := fmt.Fprintln(s.stdout, "tipwright", version)
	return err
}

package main

import (
	"fmt"
	"path/filepath"
	"strings"

	"tipwright/section/airfoil"
)

type ordinatesCommand struct {
	Airfoil []string `arg:"" help:"A designation such as NACA 23012, or a coordinate file."`
}

// Run prints the ordinates of a section in per cent of the chord.
func (c ordinatesCommand) Run(s setting) error {
	name, dir := strings.Join(c.Airfoil, " "), "."
	if !airfoil.IsDesignation(name) {
		dir, name = filepath.Split(name)
	}
	a, _, err := airfoil.Load(name, dir)
	if err != nil {
		fmt.Fprintln(s.stderr, err)
		return errRefused
	}
	return airfoil.Ordinates(s.stdout, a)
}

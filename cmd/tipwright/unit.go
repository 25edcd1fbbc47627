package main

import (
	_ "embed" // for the units
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strings"

	"tipwright/outbox/shop"
)

// The units for systemd. Words in capitals are filled in.
var (
	//go:embed units/watch.service
	watchService string
	//go:embed units/once.service
	onceService string
	//go:embed units/once.timer
	onceTimer string
	//go:embed units/hardening.conf
	hardening string
)

type unitCommand struct {
	Kind string `arg:"" enum:"watch,once,timer" help:"watch: a service that goes on; once and timer: a service that ends, and what begins it every ten minutes."`
	Shop string `arg:"" help:"The shop's folder."`
	User string `help:"Who the service is to run as: whose the shop is (you)."`
}

// Run prints a unit for systemd.
func (c unitCommand) Run(s setting) error {
	text, err := c.unit()
	if err == nil {
		_, err = fmt.Fprint(s.stdout, text)
	}
	return err
}

func (c unitCommand) unit() (string, error) {
	self, err := os.Executable()
	if err != nil {
		return "", err
	}
	root, err := filepath.Abs(c.Shop)
	if err != nil {
		return "", err
	}
	if strings.ContainsAny(root+self, "\n\r") {
		return "", fmt.Errorf("%q: a unit cannot name a folder with a line's end in its name", root)
	}
	if c.User == "" {
		u, err := user.Current()
		if err != nil {
			return "", fmt.Errorf("whose shop is it? Say so with --user (%w)", err)
		}
		c.User = u.Username
	}
	fill := strings.NewReplacer("PROGRAM", unitQuote(self, true), "SHOP_NAME", unitQuote(root, false), "SHOP", unitQuote(root, true),
		"USER", c.User, "OUTBOX", unitQuote(shop.Dir(root), false))
	template := map[string]string{"watch": watchService, "once": onceService, "timer": onceTimer}[c.Kind]
	return fill.Replace(strings.Replace(template, "HARDENING\n", hardening, 1)), nil
}

// unitQuote writes a path as a unit wants it: quoted, and with signs of the unit's own doubled. Only in a
// command is a dollar such a sign.
func unitQuote(path string, command bool) string {
	path = strings.NewReplacer(`\`, `\\`, `"`, `\"`, `%`, `%%`).Replace(path)
	if command {
		path = strings.ReplaceAll(path, "$", "$$")
	}
	return `"` + path + `"`
}

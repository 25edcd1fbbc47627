// Command tipwright measures finished wings from phone scans and writes full-size templates for wingtips,
// a filler map and a left/right comparison.
//
//	tipwright demo [DIR]              make a demo shop with simulated scans and run it: the first thing to try
//	tipwright run [--out DIR] SCAN... process scans now; wing.toml lies beside the scan or is named with --sheet
//	tipwright watch SHOP              serve a shop until stopped
//	tipwright once SHOP               bring a shop up to date and exit
//	tipwright status SHOP             tell whether a shop is watched, and what is being made or was refused
//	tipwright sheet                   print a wing sheet to fill in, every key explained
//	tipwright check WING.TOML         read a wing sheet, say what is wrong in it, show what will be assumed
//	tipwright ordinates AIRFOIL       print a nominal section
//	tipwright unit KIND SHOP          print a unit for systemd that serves a shop: watch, once or timer
//	tipwright version
//
// Exit status: 0 every scan was delivered, 1 a scan was refused, a sheet is wrong or the program was stopped
// before all was done, 2 wrong use or a failure of the machine.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"

	"tipwright/outbox/draw"
)

// version is recorded in every delivery; a delivery of another version is made again.
const version = "0.1.0"

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := program{ctx, os.Stdin, os.Stdout, os.Stderr, true}.run(os.Args[1:])
	stop()
	os.Exit(status)
}

// The exit statuses.
const (
	delivered = 0
	refused   = 1
	wrongUse  = 2
)

// errRefused says that everything was served, but a scan or sheet was refused.
var errRefused = errors.New("refused")

// commands is the command line.
type commands struct {
	JSON        bool             `name:"json" help:"Write the log as JSON, one object a line."`
	VersionFlag kong.VersionFlag `name:"version" help:"Print the program's version."`

	Demo      demoCommand      `cmd:"" help:"Make a demo shop with simulated scans of the Marsh Wren, an invented aircraft, and measure them: the first thing to try."`
	Run       runCommand       `cmd:"" help:"Measure scans now, without a shop. The wing sheet wing.toml lies beside the scans, the same beside each, or is named with --sheet."`
	Watch     watchCommand     `cmd:"" help:"Watch a shop's inbox and make what is due, until stopped."`
	Once      onceCommand      `cmd:"" help:"Make what is due in a shop and exit: by hand, or from a scheduler."`
	Status    statusCommand    `cmd:"" help:"Tell whether a shop is watched, and what is being made or was refused."`
	Sheet     sheetCommand     `cmd:"" help:"Print a wing sheet to fill in, every key explained: tipwright sheet > wing.toml."`
	Check     checkCommand     `cmd:"" help:"Read a wing sheet, say what is wrong in it, and show what will be assumed."`
	Ordinates ordinatesCommand `cmd:"" help:"Print a nominal section, such as NACA 23012 or a coordinate file."`
	Unit      unitCommand      `cmd:"" help:"Print a unit for systemd that serves a shop: tipwright unit watch SHOP."`
	Version   versionCommand   `cmd:"" help:"Print the program's version."`
	Worker    workerCommand    `cmd:"" hidden:""`
}

// program is the whole program but for the process around it.
type program struct {
	ctx            context.Context
	stdin          io.Reader
	stdout, stderr io.Writer
	apart          bool // this process is the program, so that it can be run again as its own worker
}

// setting is what every command gets.
type setting struct {
	program
	json bool
}

// run runs one command line and returns the exit status.
func (p program) run(args []string) int {
	var cli commands
	exited, status := false, delivered
	parser, err := kong.New(&cli,
		kong.Name("tipwright"),
		kong.Description("Measures finished wings from phone scans and writes full-size wingtip templates, a filler map and a left/right comparison. Exit status: 0 every scan delivered, 1 a scan or wing sheet was refused or the work was stopped, 2 wrong use or the machine failed."),
		kong.Writers(p.stdout, p.stderr),
		kong.Exit(func(code int) { exited, status = true, code }),
		kong.Vars{"version": versionLine},
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
	)
	if err != nil {
		fmt.Fprintln(p.stderr, "tipwright:", err)
		return wrongUse
	}
	switch {
	case len(args) == 0:
		args = []string{"--help"}
	case args[0] == "help": // as in: tipwright help run
		args = append(args[1:len(args):len(args)], "--help")
	}
	parsed, err := parser.Parse(args)
	if exited {
		return status
	}
	if err != nil {
		fmt.Fprintf(p.stderr, "tipwright: %v\nTry: tipwright --help\n", err)
		return wrongUse
	}
	return statusOf(parsed.Run(setting{p, cli.JSON}), p.stderr)
}

// statusOf maps a command's error to the exit status and prints what was not said yet.
func statusOf(err error, stderr io.Writer) int {
	switch {
	case err == nil:
		return delivered
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "tipwright: stopped before all was done; what was delivered until then stands. Run it again for the rest.")
		return refused
	case errors.Is(err, errRefused):
		return refused
	}
	fmt.Fprintln(stderr, "tipwright:", draw.Legible(err.Error()))
	return wrongUse
}

package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"golang.org/x/sync/errgroup"

	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/simulate"
)

type demoCommand struct {
	Dir string `arg:"" optional:"" default:"demo-shop" help:"Where to make the shop (demo-shop)."`
}

// demoAircraft is the folder of the invented aircraft.
const demoAircraft = "marsh-wren"

// Run makes the demo shop, serves it and says what to open.
func (c demoCommand) Run(s setting) error {
	if err := folder(c.Dir, "the demo shop"); err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "Making a shop in %s with simulated scans of both wings of the Marsh Wren, an invented aircraft.\n", c.Dir)
	if err := fillInbox(filepath.Join(c.Dir, "inbox", demoAircraft)); err != nil {
		return err
	}
	done, err := s.bringUpToDate(c.Dir)
	if err != nil {
		return err
	}
	out := shop.Dir(c.Dir)
	fmt.Fprintf(s.stdout, `
Open first:    %s
Each wing:     %s
               %s
Left to right: %s
The templates lie beside each report as PDF, SVG and DXF; the scans and the wing sheet are in %s.

`, filepath.Join(out, "index.html"),
		filepath.Join(out, demoAircraft, shop.Left, "report.html"),
		filepath.Join(out, demoAircraft, shop.Right, "report.html"),
		filepath.Join(out, demoAircraft, shop.Pair, "report.html"),
		filepath.Join(c.Dir, "inbox", demoAircraft))
	return done.report(s)
}

// fillInbox writes the wing sheet and both scans, one a cloud and one a mesh. A file that is there already stays if it is the same, and
// is an error if it is not: nothing of the user's is overwritten.
func fillInbox(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	var g errgroup.Group
	g.Go(func() error { return place(filepath.Join(dir, "wing.toml"), []byte(simulate.MarshWrenSheet())) })
	for side, name := range map[section.Side]string{section.Left: "left.ply", section.Right: "right.stl"} {
		g.Go(func() error {
			w, sc := simulate.MarshWren(side)
			write := scan.WritePLY
			if filepath.Ext(name) == ".stl" {
				sc.Mesh, write = true, scan.WriteSTL
			}
			scanned, _, err := simulate.Scan(w, sc)
			if err != nil {
				return err
			}
			return placeScan(filepath.Join(dir, name), scanned, write)
		})
	}
	return g.Wait()
}

func placeScan(path string, s *scan.Scan, write func(io.Writer, *scan.Scan) error) error {
	var b bytes.Buffer
	if err := write(&b, s); err != nil {
		return err
	}
	return place(path, b.Bytes())
}

// place writes a file that is not there yet, whole or not at all.
func place(path string, data []byte) error {
	old, err := os.ReadFile(path)
	switch {
	case err == nil && bytes.Equal(old, data):
		return nil
	case err == nil:
		return fmt.Errorf("%s is there already and is not the demo's; name another folder for the demo", path)
	case !errors.Is(err, fs.ErrNotExist):
		return err
	}
	part := path + ".part"
	if err := os.WriteFile(part, data, 0o644); err != nil {
		return err
	}
	return os.Rename(part, path)
}

// Package inbox reads a shop's inbox: which aircraft lie there, with which scans and wing sheet, and when
// the builder, or the program that copies for him, has come to rest. It only ever reads.
package inbox

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"tipwright/scan"
	"tipwright/scan/sheet"
)

// Aircraft is one folder of the inbox. The paths begin with the shop's as it was given.
type Aircraft struct {
	Name        string   // of the folder
	Dir         string   // its path
	SheetPath   string   // of wing.toml; empty if there is none
	AirfoilPath string   // of the coordinate file beside the sheet that the sheet names; empty if it names none that is there
	Left, Right []string // paths of the scans, left.ply before left-2.ply before left-10.ply
	Strange     []string // names of files that are neither, for the builder to see; some with a reason: "left.ply: a link ..."
}

// Dir returns the inbox of a shop.
func Dir(shop string) string { return filepath.Join(shop, "inbox") }

// Readable returns an error if a shop's inbox cannot be read, without looking at what lies in it.
func Readable(shop string) error {
	_, _, err := open(shop)
	return err
}

// open begins to list a shop.
func open(shop string) (*lister, []fs.DirEntry, error) {
	l, err := newLister(shop)
	if err != nil {
		return nil, nil, err
	}
	entries, err := os.ReadDir(l.inbox)
	if err != nil {
		return nil, nil, unreadable(l.inbox, err)
	}
	return l, entries, nil
}

// List lists the inbox of a shop by name. The messages tell what was left out as a whole: files that lie
// in the inbox itself, links, folders that cannot be read. It returns an error if the inbox itself cannot
// be read: an inbox that is away is not an empty one.
func List(shop string) ([]Aircraft, []scan.Message, error) {
	l, entries, err := open(shop)
	if err != nil {
		return nil, nil, err
	}
	var out []Aircraft
	for _, e := range entries {
		if passedOver(e.Name()) {
			continue
		}
		if m := outside(e); m != nil {
			l.messages = append(l.messages, *m)
		} else if a, ok := l.aircraft(e.Name()); ok {
			out = append(out, a)
		}
	}
	slices.SortFunc(out, func(a, b Aircraft) int { return Compare(a.Name, b.Name) })
	return l.apart(out), l.messages, nil
}

// apart leaves out aircraft whose names differ from that of one before only by case, or by how an accent is
// written: many disks take the two for one, so that their deliveries would overwrite each other.
func (l *lister) apart(list []Aircraft) []Aircraft {
	taken := map[string]string{}
	return slices.DeleteFunc(list, func(a Aircraft) bool {
		folded := folded(a.Name)
		first, double := taken[folded]
		if double {
			l.messages = append(l.messages, scan.Cautionf("name-taken",
				"The folder %s was left out: its name is the same as that of %s but for capitals or the way in which an accent is written. Give one of them another name.", a.Name, first))
			return true
		}
		taken[folded] = a.Name
		return false
	})
}

func unreadable(dir string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is not there: a shop is a folder with a folder inbox in it, and in that a folder for each aircraft: %w", dir, err)
	}
	return fmt.Errorf("the inbox cannot be read: %w", err)
}

// outside returns the message for an entry of the inbox that can be no aircraft, nil for a folder that can.
func outside(e fs.DirEntry) *scan.Message {
	var m scan.Message
	switch {
	case e.Type()&fs.ModeSymlink != 0:
		m = scan.Cautionf("link-left-out", "%s in the inbox is a link and was left out. Put the folder itself into the inbox.", e.Name())
	case !e.IsDir():
		m = scan.Cautionf("stray-file", "%s lies in the inbox itself and was left out. Put it into a folder named after its aircraft.", e.Name())
	case strings.EqualFold(e.Name(), "index.html"), strings.EqualFold(e.Name(), "status.json"):
		m = scan.Cautionf("name-taken", "The folder %s was left out: a file of the shop's own has this name. Name the folder after the aircraft.", e.Name())
	default:
		return nil
	}
	return &m
}

// lister lists one shop.
type lister struct {
	inbox    string   // as given
	bounds   []string // the shop and the inbox without links; links must stay in one of them
	messages []scan.Message
}

func newLister(shop string) (*lister, error) {
	l := &lister{inbox: Dir(shop)}
	for _, dir := range []string{shop, l.inbox} {
		real, err := filepath.EvalSymlinks(dir)
		if err != nil {
			return nil, unreadable(dir, err)
		}
		l.bounds = append(l.bounds, real)
	}
	return l, nil
}

// aircraft lists one folder; ok is false if it cannot be read.
func (l *lister) aircraft(name string) (a Aircraft, ok bool) {
	a = Aircraft{Name: name, Dir: filepath.Join(l.inbox, name)}
	entries, err := os.ReadDir(a.Dir)
	if err != nil {
		l.messages = append(l.messages, scan.Cautionf("folder-unreadable",
			"The folder %s cannot be read and was left out (%v). Allow the program to read it.", name, errors.Unwrap(err)))
		return a, false
	}
	var others, companions []string
	for _, e := range entries {
		if passedOver(e.Name()) {
			continue
		}
		if why := l.barred(a.Dir, e); why != "" {
			a.Strange = append(a.Strange, e.Name()+why)
			continue
		}
		path := filepath.Join(a.Dir, e.Name())
		switch side := sideOf(e.Name()); {
		case side == "left":
			a.Left = append(a.Left, path)
		case side == "right":
			a.Right = append(a.Right, path)
		case isCompanion(e.Name()):
			companions = append(companions, e.Name())
		default:
			others = append(others, e.Name())
		}
	}
	a.takeSheet(others)
	if !slices.ContainsFunc(slices.Concat(a.Left, a.Right), isColouredMesh) {
		a.Strange = append(a.Strange, companions...)
	}
	for _, names := range [][]string{a.Left, a.Right, a.Strange} {
		slices.SortFunc(names, Compare)
	}
	return a, true
}

// barred returns why an entry of an aircraft's folder is not opened, empty if it may be.
func (l *lister) barred(dir string, e fs.DirEntry) string {
	switch {
	case e.Type().IsRegular():
		return ""
	case e.IsDir():
		return ": a folder in an aircraft's folder"
	case e.Type()&fs.ModeSymlink == 0:
		return ": not a file that can be read to its end"
	}
	target, err := filepath.EvalSymlinks(filepath.Join(dir, e.Name()))
	if err != nil {
		return ": a link that leads nowhere"
	}
	if !slices.ContainsFunc(l.bounds, func(root string) bool { return within(root, target) }) {
		return ": a link that leads out of the shop"
	}
	if info, err := os.Stat(target); err != nil || !info.Mode().IsRegular() {
		return ": a link that leads to no file"
	}
	return ""
}

func within(root, path string) bool {
	rel, err := filepath.Rel(root, path)
	return err == nil && filepath.IsLocal(rel)
}

// takeSheet finds the wing sheet and the coordinate file that it names among the names that are no scan;
// what is left is strange.
func (a *Aircraft) takeSheet(names []string) {
	if i := slices.Index(names, sheetName); i >= 0 {
		a.SheetPath = filepath.Join(a.Dir, names[i])
		names = slices.Delete(names, i, i+1)
	} else if i := slices.IndexFunc(names, func(n string) bool { return strings.EqualFold(n, sheetName) }); i >= 0 {
		a.SheetPath = filepath.Join(a.Dir, names[i])
		names = slices.Delete(names, i, i+1)
	}
	if a.SheetPath != "" {
		// A sheet that cannot be read has its errors told with the aircraft's deliveries.
		if s, err := sheet.Read(a.SheetPath); err == nil {
			if i := slices.Index(names, s.Airfoil); i >= 0 {
				a.AirfoilPath = filepath.Join(a.Dir, names[i])
				names = slices.Delete(names, i, i+1)
			}
		}
	}
	a.Strange = append(a.Strange, names...)
}

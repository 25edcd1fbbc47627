package main

import (
	"cmp"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"tipwright/outbox/shop"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section/airfoil"
)

// known returns what the builder knows of the wing: the sheet, as far as it can be read, and the airfoil, nil
// if none is given.
func known(job shop.Job) (*sheet.Sheet, *airfoil.Airfoil, error) {
	if job.Sheet.Path == "" {
		return sheet.Default(), nil, nil // everything stands at its default
	}
	return readSheet(job.Sheet.Path)
}

// readSheet reads a wing sheet and the airfoil that it names. All that is wrong with either is told at once, as
// [sheet.Errors] by the sheet's lines: who mends one mistake would not like to meet the next.
func readSheet(path string) (*sheet.Sheet, *airfoil.Airfoil, error) {
	sh, err := sheet.Read(path)
	var wrong sheet.Errors
	if err != nil && !errors.As(err, &wrong) {
		return nil, nil, err
	}
	name, line := airfoilOf(path)
	if sh != nil {
		name = sh.Airfoil
	}
	told := slices.ContainsFunc(wrong, func(e *scan.FormatError) bool { return line > 0 && e.Line == line })
	if name == "" || told {
		return sh, nil, err
	}
	a, _, bad := airfoil.Load(name, filepath.Dir(path))
	if bad == nil {
		return sh, a, err
	}
	wrong = append(wrong, &scan.FormatError{File: filepath.Base(path), Line: line, Msg: strings.TrimSuffix(bad.Error(), ".") + "."})
	slices.SortStableFunc(wrong, func(a, b *scan.FormatError) int { return cmp.Compare(a.Line, b.Line) })
	return sh, nil, wrong
}

// airfoilOf finds the airfoil in a sheet that may be wrong elsewhere: its name, empty if there is none to be
// found, and its line, 0 if that cannot be told.
func airfoilOf(path string) (name string, line int) {
	data, err := os.ReadFile(path)
	if err != nil {
		return "", 0
	}
	for text := range strings.Lines(string(sheet.InUTF8(data))) {
		line++
		key, value, is := strings.Cut(text, "=")
		key, value = strings.TrimSpace(key), strings.TrimSpace(value)
		var s struct{ Airfoil string }
		switch {
		case strings.HasPrefix(key, "["): // a table, behind which it cannot stand
			return "", 0
		case !is || strings.Trim(key, `"'`) != "airfoil":
		case !strings.HasPrefix(value, `"`) && !strings.HasPrefix(value, "'") || toml.Unmarshal([]byte("airfoil = "+value), &s) != nil:
			return "", line
		default:
			return strings.TrimSpace(s.Airfoil), line
		}
	}
	return "", 0
}

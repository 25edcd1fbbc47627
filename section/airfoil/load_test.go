package airfoil

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"tipwright/scan"
)

func TestLoadByFormula(t *testing.T) {
	a, sum, err := Load("naca 23012", "testdata")
	if err != nil || sum != "" || a.Name != "NACA 23012" {
		t.Errorf("got %v, %q, %v", a, sum, err)
	}
	if _, _, err := Load("NACA 63-215", "testdata"); err == nil || !strings.Contains(err.Error(), "Accepted are") {
		t.Errorf("got %v", err)
	}
}

func TestLoadFile(t *testing.T) {
	dir := t.TempDir()
	text := fixtures(t)["once-round.dat"]
	for _, name := range []string{"tip.dat", "sub/tip.dat"} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
		a, sum, err := Load(name, dir)
		if err != nil || a.Name != "Marsh Wren tip" {
			t.Fatalf("%s: %v, %v", name, a, err)
		}
		// sha256sum (GNU coreutils) of testdata/once-round.dat.
		if want := "ec75847feb3ced0231c98cd9f12ad47599579b5a63e52a75d2638d869912a041"; sum != want {
			t.Errorf("%s: SHA-256 %s, want %s", name, sum, want)
		}
	}
}

func TestLoadRefuses(t *testing.T) {
	outer := t.TempDir()
	dir := filepath.Join(outer, "marsh-wren")
	text := []byte(fixtures(t)["once-round.dat"])
	for _, err := range []error{
		os.Mkdir(dir, 0o755), os.Mkdir(filepath.Join(dir, "folder.dat"), 0o755),
		os.WriteFile(filepath.Join(outer, "outside.dat"), text, 0o644),
		os.WriteFile(filepath.Join(dir, "MySection.DAT"), text, 0o644),
		os.WriteFile(filepath.Join(dir, "large.dat"), bytes.Repeat([]byte("1 0\n"), mostSize/4+1), 0o644),
		os.WriteFile(filepath.Join(dir, "bad.dat"), []byte("tip\n1 0\n0.9x\n"), 0o644),
		os.Symlink(filepath.Join(outer, "outside.dat"), filepath.Join(dir, "link.dat")),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, part := range map[string]string{
		"":                                  "no airfoil is named",
		"../outside.dat":                    "outside the folder",
		filepath.Join(outer, "outside.dat"): "outside the folder",
		"link.dat":                          "cannot be opened",
		"missing.dat":                       "no such file beside the wing sheet, nor is it a NACA name",
		"mysection.dat":                     `is called "MySection.DAT"`,
		"folder.dat":                        "is not a file",
		"large.dat":                         "1 MiB",
		"bad.dat":                           "bad.dat, line 3",
	} {
		a, sum, err := Load(name, dir)
		var format *scan.FormatError
		if a != nil || sum != "" || !errors.As(err, &format) || !strings.Contains(err.Error(), part) {
			t.Errorf("Load(%q): %v, %q, %v; want %q", name, a, sum, err, part)
		}
	}
	if _, _, err := Load("missing.dat", dir); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing file: %v", err)
	}
	if _, _, err := Load("tip.dat", filepath.Join(outer, "nowhere")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing folder: %v", err)
	}
}

func TestOrdinatesTableAgreesWithTheSection(t *testing.T) {
	for _, a := range []*Airfoil{must(t, "NACA 23012"), must(t, "NACA 0012-64"), read(t, fixtures(t)["messy.csv"])} {
		var b bytes.Buffer
		if err := Ordinates(&b, a); err != nil {
			t.Fatal(err)
		}
		_, table, _ := strings.Cut(b.String(), "per cent of chord\n")
		rows := strings.Split(strings.TrimSuffix(table, "\n"), "\n")
		if len(rows) != len(stations()) {
			t.Fatalf("%s: %d rows in\n%s", a.Name, len(rows), b.String())
		}
		for _, row := range rows {
			var v [3]float64
			for i, field := range strings.Fields(row) {
				v[i], _ = strconv.ParseFloat(field, 64)
			}
			near(t, a.Name+" upper", v[1], 100*a.Upper(v[0]/100), 0.00051)
			near(t, a.Name+" lower", v[2], 100*a.Lower(v[0]/100), 0.00051)
			if len(row) != len(rows[0]) {
				t.Errorf("%s: columns are not aligned: %q", a.Name, row)
			}
		}
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, os.ErrClosed }

func TestOrdinatesReportsAFailedWrite(t *testing.T) {
	if err := Ordinates(fullDisk{}, must(t, "NACA 0012")); !errors.Is(err, os.ErrClosed) {
		t.Errorf("got %v", err)
	}
}

func TestOneAirfoilServesManyGoroutines(t *testing.T) {
	for _, a := range []*Airfoil{must(t, "NACA 23012"), read(t, fixtures(t)["two-blocks.dat"])} {
		want := fmt.Sprint(a.Outline(101), a.Upper(0.3), a.NoseRadius())
		var group sync.WaitGroup
		for range 8 {
			group.Go(func() {
				if got := fmt.Sprint(a.Outline(101), a.Upper(0.3), a.NoseRadius()); got != want {
					t.Errorf("%s differs from one goroutine to the next", a.Name)
				}
			})
		}
		group.Wait()
	}
}

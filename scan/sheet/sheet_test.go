package sheet

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"tipwright/scan"
)

// whole is a sheet that gives every key, with no value at its default.
const whole = `
name = "Marsh Wren"
airfoil = "NACA 23012"
chord = "48 1/16 in"
target = "nominal"
thickness = "146 mm"
[aileron]
hinge = 0.78
droop = "-1.5 deg"
[scan]
units = "cm"
trust_scale = true
mend_split = true
tip_rib = "3 mm"
tip = "right"
[filler]
band = "25 cm"
act_above = "0.4 mm"
sand_limit = "0.1 mm"
density = 500
[tip]
length = "10 in"
plies = [{weight = "200 g/m2", count = 3}, {weight = "3 oz/yd2"}]
[wire]
diameter = "0.4 mm"
kerf = "1.1 mm"
[block]
thickness = "3/4 in"
[foam]
sheet = "48.7 mm"
[flange]
skin = "0.025 in"
pitch = "3 in"
[pair]
tolerance = "0.8 mm"
[print]
roll = "36 in"
bar_x = "180.4 mm"
bar_z = "249.5 mm"
`

func TestWholeSheet(t *testing.T) {
	got, err := Parse([]byte(whole), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256([]byte(whole))
	want := &Sheet{
		Source: scan.Source{File: "wing.toml", SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(whole))},
		Name:   "Marsh Wren", Airfoil: "NACA 23012", Chord: 1220.7875, Thickness: 146, TargetNominal: true,
		Hinge: 0.78, Droop: got.Droop,
		Units: scan.Centimetre, TrustScale: true, MendSplit: true, TipRib: 3, Tip: "right",
		Band: 250, ActAbove: 0.4, SandLimit: 0.1, Density: 500,
		TipLength: 254, Laminate: 0.789, Plies: []Ply{{200, 3}, {3 * gramsPerOunceYard, 1}},
		WireDiameter: 0.4, Kerf: 1.1, BlockThickness: 19.05, FoamSheet: 48.7, SkinThickness: 0.635,
		FlangePitch: 76.2, PairTolerance: 0.8, Paper: Paper{"roll", 914.4, 0}, BarX: 180.4, BarZ: 249.5,
		given: got.given,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("read\n%+v\nwant\n%+v", got, want)
	}
	if math.Abs(got.Droop*180/math.Pi+1.5) > 1e-12 {
		t.Errorf("droop %v rad, want -1.5 deg", got.Droop)
	}
	for _, k := range keys() {
		if !got.Given(k.name) && k.name != "tip.laminate" && k.name != "print.paper" {
			t.Errorf("%s is in the sheet and not told as given", k.name)
		}
	}
	if a := got.Assumptions(); len(a) != 1 || a[0].Key != "tip.laminate" || a[0].Value != `"0.789 mm"` {
		t.Errorf("a whole sheet assumes %v", a)
	}
	if m := got.Missing(); m != nil {
		t.Errorf("a whole sheet lacks %v", m)
	}
}

func TestDefault(t *testing.T) {
	got := Default()
	want := &Sheet{ // the values of the design's example, where it states a default
		Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, TipLength: 260, Laminate: 0.8, WireDiameter: 0.5, Kerf: 1.5,
		BlockThickness: 19, FoamSheet: 50, SkinThickness: 0.6, FlangePitch: 75, PairTolerance: 1,
		Paper: Paper{"letter", 215.9, 279.4}, given: got.given,
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("default\n%+v\nwant\n%+v", got, want)
	}
	if m := got.Missing(); len(m) != 3 {
		t.Errorf("without a sheet the airfoil, chord and thickness are missing; told: %v", m)
	}
}

func TestKerfFollowsWire(t *testing.T) {
	s, err := Parse([]byte("[wire]\ndiameter = \"0.3 mm\"\n"), "wing.toml")
	if err != nil || s.Kerf != 1.3 {
		t.Fatalf("kerf %v, %v, want the wire and 1 mm", s.Kerf, err)
	}
}

func TestPapers(t *testing.T) {
	for name, want := range map[string]Paper{
		"A4": {"A4", 210, 297}, "a3": {"A3", 297, 420}, // ISO 216
		"Letter": {"letter", 215.9, 279.4}, "tabloid": {"tabloid", 279.4, 431.8}, // ASME Y14.1, sizes A and B
		"legal": {"legal", 215.9, 355.6},
	} {
		s, err := Parse([]byte("[print]\npaper = \""+name+"\"\n"), "wing.toml")
		if err != nil || math.Abs(s.Paper.Width-want.Width)+math.Abs(s.Paper.Height-want.Height) > 1e-9 || s.Paper.Name != want.Name {
			t.Errorf("%s: %+v, %v, want %+v", name, s, err, want)
		}
	}
}

// What is assumed, written into a sheet, reads as the same sheet.
func TestAssumptionsAreASheet(t *testing.T) {
	for _, text := range []string{"", "[aileron]\nhinge = 0.8\n", "[wire]\ndiameter = \"0.35 mm\"\n", "[print]\nroll = \"600 mm\"\n"} {
		s, err := Parse([]byte(text), "wing.toml")
		if err != nil {
			t.Fatal(err)
		}
		for _, a := range s.Assumptions() {
			if a.Why == "" {
				t.Errorf("%s is assumed without a reason", a.Key)
			}
			if a.Value != "" {
				text = addKey(text, a.Key, a.Value)
			}
		}
		again, err := Parse([]byte(text), "wing.toml")
		if err != nil {
			t.Fatalf("%v in\n%s", err, text)
		}
		s.Source, s.given, again.Source, again.given = scan.Source{}, nil, scan.Source{}, nil
		if !reflect.DeepEqual(s, again) {
			t.Errorf("written out:\n%s\nread as\n%+v\nwant\n%+v", text, again, s)
		}
	}
}

// addKey adds a key to a sheet, into its table if the sheet has it already.
func addKey(text, key, value string) string {
	table, leaf := split(key)
	if table == "" {
		return leaf + " = " + value + "\n" + text
	}
	line := "[" + table + "]\n"
	if !strings.Contains(text, line) {
		text += line
	}
	return strings.Replace(text, line, line+leaf+" = "+value+"\n", 1)
}

func TestBlank(t *testing.T) {
	_, err := Parse([]byte(Blank()), "wing.toml")
	errs, ok := errors.AsType[Errors](err)
	if !ok || len(errs) != 2 || !strings.Contains(errs[0].Msg, "airfoil") || !strings.Contains(errs[1].Msg, "chord") {
		t.Errorf("an empty blank must ask for the airfoil and the chord, not: %v", err)
	}
	filled := strings.NewReplacer(`airfoil     = ""`, `airfoil = "NACA 2412"`, `chord       = ""`, `chord = "4 ft"`).Replace(Blank())
	got, err := Parse([]byte(filled), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	want := Default()
	want.Airfoil, want.Chord, want.Source, want.given = "NACA 2412", 1219.2, got.Source, got.given
	if !reflect.DeepEqual(got, want) {
		t.Errorf("the blank filled in:\n%+v\nwant\n%+v", got, want)
	}
	// With every # taken away it still reads, but for the keys that stand in each other's place.
	live := []string{}
	for _, line := range strings.Split(filled, "\n") {
		line = strings.TrimPrefix(line, "# ")
		if strings.HasPrefix(line, "plies") || strings.HasPrefix(line, "roll") || !strings.ContainsAny(line, "=[") {
			continue
		}
		live = append(live, line)
	}
	all, err := Parse([]byte(strings.Join(live, "\n")), "wing.toml")
	if err != nil {
		t.Fatal(err)
	}
	if n := len(all.Assumptions()); n != 0 {
		t.Errorf("%d keys of the blank are not read: %v", n, all.Assumptions())
	}
}

func TestRead(t *testing.T) {
	path := filepath.Join(t.TempDir(), "wing.toml")
	if err := os.WriteFile(path, []byte("\ufeffchord = \"1220 mm\"\r\n\r\n[wire]\r\nkerf = \"1 mm\"\r\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	s, err := Read(path)
	if err != nil || s.Chord != 1220 || s.Kerf != 1 || s.Source.File != "wing.toml" {
		t.Errorf("a sheet with a byte-order mark and CRLF: %+v, %v", s, err)
	}
	if _, err := Read(filepath.Join(t.TempDir(), "none.toml")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing sheet: %v", err)
	}
	if _, err := Read(t.TempDir()); err == nil {
		t.Error("a folder was read as a sheet")
	}
	long := filepath.Join(t.TempDir(), "wing.toml")
	if err := os.WriteFile(long, slices.Repeat([]byte("# scan\n"), mostBytes/7+1), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Read(long); err == nil || !strings.Contains(err.Error(), "too long") {
		t.Errorf("a sheet that is too long: %v", err)
	}
}

// A file that is no sheet is told apart before the decoder, or the search for a key's line, would be at it for
// hours.
func TestNoSheetTakesLong(t *testing.T) {
	lines := func(text string) string {
		var b strings.Builder
		for i := 0; b.Len() < mostBytes-3*mostDeep; i++ {
			fmt.Fprintf(&b, text, i)
		}
		return b.String()
	}
	half := mostBytes/2 - 10
	for name, c := range map[string]struct{ text, want string }{
		"keys":           {lines("k%d = 1\n"), "keys, and a wing sheet has no more than"},
		"tables":         {lines("[t%d]\n"), "keys, and a wing sheet has no more than"},
		"many plies":     {lines("[[tip.plies]]\ncount = %d\n"), "keys, and a wing sheet has no more than"},
		"dotted key":     {strings.Repeat("a.", half) + "a = 1", "dots or brackets"},
		"dotted table":   {"[" + strings.Repeat("a.", half) + "a]", "dots or brackets"},
		"many deep keys": {lines("k%d." + strings.Repeat("a.", mostDeep-2) + "a = 1\n"), "wing.toml"},
		"arrays":         {"a = " + strings.Repeat("[", half) + strings.Repeat("]", half), "dots or brackets"},
		"inline tables":  {"a = " + strings.Repeat("{a=", half/2) + "1" + strings.Repeat("}", half/2), "dots or brackets"},
	} {
		if _, err := Parse([]byte(c.text), "wing.toml"); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %.200v", name, err)
		}
	}
}

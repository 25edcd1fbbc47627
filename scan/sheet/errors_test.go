package sheet

import (
	"encoding/binary"
	"errors"
	"math"
	"strings"
	"testing"

	"tipwright/scan"
)

func TestParseErrors(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"bare number", "\nchord = 1220\n", `wing.toml, line 2: chord: 1220 is a bare number. Write the unit with it, in quotes: "1220 mm" or "1220 in"`},
		{"no unit", `chord = "1220"`, `line 1: chord: "1220" is a bare number. Write the unit`},
		{"nothing", `chord = ""`, "line 1: chord: the value is not filled in"},
		{"comma", `chord = "122,5 cm"`, `Write "122.5 cm", with a point`},
		{"wrong unit", `chord = "1220 in"`, `line 1: chord: "1220 in" cannot be. Check the number and its unit: it must lie between 150 mm and 6000 mm`},
		{"negative", `chord = "-1220 mm"`, `"-1220 mm" cannot be`},
		{"list", `chord = ["1220 mm"]`, "chord: a list is not a length"},
		{"truth for length", `chord = true`, "chord: true is not a length"},
		{"not a number", `chord = nan`, "chord: NaN is not a length"},
		{"unknown key", `chrod = "1220 mm"`, "line 1: the key chrod is not known here. Did you mean chord?"},
		{"unknown key in table", "[wire]\nkerff = \"1 mm\"", "line 2: the key wire.kerff is not known here. Did you mean wire.kerf?"},
		{"capital", `Chord = "1220 mm"`, "Did you mean chord?"},
		{"key below a table", "[pair]\ntolerance = \"1 mm\"\nchord = \"1220 mm\"", "line 3: the key pair.chord is not known here. Did you mean chord? chord stands at the top of the sheet"},
		{"key above its table", "kerf = \"1 mm\"", "Did you mean wire.kerf? kerf stands under [wire]"},
		{"far-off key", `colour = "red"`, "Take it out, or put a # before it"},
		{"unknown table", "\n[wires]\nkerf = \"1 mm\"", "line 2: the table [wires] is not known here. Did you mean [wire]?"},
		{"far-off table", "[electronics]\nx = 1", "The tables are [aileron], [scan], [filler]"},
		{"table without a line", "\nbits.n = 1", "line 2: the table [bits]"},
		{"value for table", "wire = 3", "wire: 3 stands where a table should"},
		{"table for value", "[chord]\nmm = 1220", "chord: a table is not a length"},
		{"per cent", "[aileron]\nhinge = 78", "line 2: aileron.hinge: 78 cannot be a fraction of the chord. Write 0.78 for 78 %"},
		{"hinge too far forward", "[aileron]\nhinge = 0.3", "It must lie between 0.5 and 0.95"},
		{"hinge as text", "[aileron]\nhinge = \"0.78\"", "Write a fraction of the chord without quotes"},
		{"infinite", "[aileron]\nhinge = inf", "aileron.hinge: +Inf is not a plain number"},
		{"no hinge", "\n[aileron]\ndroop = \"1 deg\"", "line 2: aileron: the hinge line is missing"},
		{"droop", "[aileron]\nhinge = 0.8\ndroop = \"30 deg\"", `"30 deg" cannot be`},
		{"droop bare", "[aileron]\nhinge = 0.8\ndroop = 1", `Write the angle with its unit in quotes`},
		{"units", "[scan]\nunits = \"yards\"", `scan.units: "yards" is not known here. Write mm, cm, m, in or ft`},
		{"truth", "[scan]\ntrust_scale = \"yes\"", `"yes" is neither true nor false. Write true or false, without quotes`},
		{"tip", "[scan]\ntip = \"both\"", "Write left or right"},
		{"target", `target = "smooth"`, "Write fair or nominal"},
		{"thick", "chord = \"1220 mm\"\nthickness = \"14.6 mm\"", "line 2: thickness: 14.6 mm on a chord of 1220 mm cannot be. Check both"},
		{"density", "[filler]\ndensity = 0.45", "Write 450 if 0.45 g/cm3 is meant"},
		{"density as text", "[filler]\ndensity = \"450 kg/m3\"", "Write kg/m3 as a plain number"},
		{"heavy", "[filler]\ndensity = 7800", "between 50 and 3000"},
		{"laminate and plies", "[tip]\nlaminate = \"1 mm\"\nplies = [{weight = \"200 g/m2\", count = 2}]", "line 3: tip.plies: it stands beside tip.laminate. Take one out"},
		{"ply without unit", "[tip]\nplies = [{weight = \"200 g/m2\"}, {weight = 200}]", "line 2: tip.plies: ply 2: the cloth's weight is missing or has no unit"},
		{"no plies", "[tip]\nplies = []", "a list is not a list of plies"},
		{"half a ply", "[tip]\nplies = [{weight = \"200 g/m2\", count = 1.5}]", "ply 1: 1.5 plies cannot be"},
		{"ply key", "[tip]\nplies = [{weight = \"200 g/m2\", number = 2}]", `ply 1: "number" is not known here`},
		{"light ply", "[tip]\nplies = [{weight = \"2 g/m2\"}]", "between 10 and 2000"},
		{"narrow slot", "[wire]\ndiameter = \"0.5 mm\"\nkerf = \"0.4 mm\"", "line 3: wire.kerf: a slot of 0.4 mm is narrower than the wire of 0.5 mm"},
		{"paper", "[print]\npaper = \"A5\"", "Write letter, legal, tabloid, A4 or A3"},
		{"paper and roll", "[print]\npaper = \"A4\"\nroll = \"36 in\"", "line 3: print.roll: it stands beside print.paper"},
		{"other folder", `airfoil = "../x.dat"`, `"../x.dat" leads to another folder. Put the coordinate file beside the wing sheet`},
		{"other folder, other bar", `airfoil = '..\x.dat'`, "leads to another folder"},
		{"other drive", `airfoil = "c:x.dat"`, "leads to another folder"},
		{"folder above", `airfoil = ".."`, "leads to another folder"},
		{"airfoil", `airfoil = 23012`, "Write the section's name in quotes"},
		{"name", "name = \"Marsh\\nWren\"", "the name cannot be printed"},
		{"twice", "chord = \"1 m\"\nchord = \"2 m\"", "line 2: chord stands here a second time. Leave one of the two lines out"},
		{"no quotes", "\n\nchord = 1220 mm", `line 3: this line cannot be read`},
		{"no quotes, mend", "chord = 1220 mm", `Put the value in quotes: chord = "1220 mm"`},
		{"curled quotes", "chord = “1220 mm”", "Use straight quotes"},
		{"decimal comma", "[aileron]\nhinge = 0,78", "Write a decimal point"},
		{"inch mark in quotes", `chord = "48 1/16""`, `Write "in" and "ft"`},
		{"not text", "c\x00h\x00", "Save it as plain text in UTF-8"},
		{"half of UTF-16", "\xff\xfec\x00\n", "Save it as plain text in UTF-8"},
		{"UTF-16", string(utf16Of("chord = \"1220 mm\"\r\n\r\n[wire]\r\nkerf = 1\r\n", binary.LittleEndian)), "wing.toml, line 4: wire.kerf"},
		{"UTF-16, no TOML", string(utf16Of("\n\nchord = 1220 mm", binary.BigEndian)), `line 3: this line cannot be read`},
		{"bad bytes", "name = \"\xff\"", "line 1: this line cannot be read"},
	} {
		t.Run(c.name, func(t *testing.T) {
			s, err := Parse([]byte(c.text), "wing.toml")
			if err == nil {
				t.Fatalf("read as %+v", s)
			}
			if s != nil {
				t.Error("a sheet came with the error")
			}
			if !strings.Contains(err.Error(), c.want) {
				t.Errorf("%v\nshould say\n%s", err, c.want)
			}
			if errs, ok := errors.AsType[Errors](err); !ok || len(errs) != 1 {
				t.Errorf("one thing is wrong, told:\n%v", err)
			}
		})
	}
}

// All that is wrong is told at once, by line, and each error can be had on its own.
func TestAllErrors(t *testing.T) {
	_, err := Parse([]byte("chord = 1220\nairfoil = \"a/b\"\n[pair]\ntolerance = \"1\"\n[wire]\nkerf = \"0.1 mm\"\n"), "wing.toml")
	lines := strings.Split(err.Error(), "\n")
	if len(lines) != 4 {
		t.Fatalf("four things are wrong, told:\n%v", err)
	}
	for i, want := range []string{"line 1:", "line 2:", "line 4:", "line 6:"} {
		if !strings.HasPrefix(lines[i], "wing.toml, "+want) {
			t.Errorf("%q should begin with %s", lines[i], want)
		}
	}
	if f, ok := errors.AsType[*scan.FormatError](err); !ok || f.Line != 1 || f.File != "wing.toml" {
		t.Errorf("the first error is %+v", f)
	}
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{whole, Blank(), "", "chord = 1220", "[wire]\nkerf = \"1 mm\"", "a.b.c = 1", "[[tip.plies]]\nweight = \"200 g/m2\"\n",
		"[aileron]\nhinge = nan", "scan = 3", "\xef\xbb\xbfname = 'x'", "\"\" = 1", "[tip]\nplies = [[1]]", "wire.kerf = \"1/0 in\"", "[chord.chord]",
		string(utf16Of("chord = \"1 m\"\n[wire]\nkerf = 1", binary.LittleEndian))} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Parse([]byte(text), "wing.toml")
		if err != nil {
			if errs, ok := errors.AsType[Errors](err); !ok || len(errs) == 0 || s != nil {
				t.Fatalf("%v, %T, %v", s, err, err)
			}
			_, again := Parse([]byte(text), "wing.toml")
			if again == nil || again.Error() != err.Error() {
				t.Fatalf("told once\n%v\nand then\n%v", err, again)
			}
			return
		}
		for _, v := range []float64{s.Chord.MM(), s.Thickness.MM(), s.Hinge, s.Droop, s.TipRib.MM(), s.Band.MM(), s.ActAbove.MM(), s.SandLimit.MM(),
			s.Density, s.TipLength.MM(), s.Laminate.MM(), s.WireDiameter.MM(), s.Kerf.MM() - s.WireDiameter.MM(), s.BlockThickness.MM(),
			s.FoamSheet.MM(), s.SkinThickness.MM(), s.FlangePitch.MM(), s.PairTolerance.MM(), s.Paper.Width, s.Paper.Height, s.BarX.MM(), s.BarZ.MM()} {
			if math.IsNaN(v) || v > 1e4 || (v < 0 && v != s.Droop) {
				t.Fatalf("%v in %+v", v, s)
			}
		}
	})
}

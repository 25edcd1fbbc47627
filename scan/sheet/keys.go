package sheet

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"

	"tipwright/scan"
)

// key is one key of the wing sheet: how it is read, and how the blank sheet shows it.
type key struct {
	name     string // with its table: "filler.band"
	standard any    // the default as the sheet would hold it; nil where leaving the key out has a meaning
	sample   string // shown in the blank sheet, TOML; empty: the default
	comment  string // what to write there
	why      string // where the default comes from, or what leaving the key out means
	read     func(s *Sheet, data any) error
}

const (
	practice = "common practice, no source"
	invented = "our choice"
)

// keys lists every key, in the order of the blank sheet. The tables are in one piece each.
func keys() []key {
	return []key{
		{"name", nil, `"Marsh Wren"`, "what you call the aircraft", "", readName},
		{"airfoil", nil, `""`, `the drawing's section, as in "NACA 23012", or the coordinate file beside this sheet, as in "mysection.dat"`,
			"the section's own smooth fit stands in for a nominal", readAirfoil},
		{"chord", nil, `""`, `taped nose to tail at the tip rib, aileron neutral, as in "1220 mm" or "48 1/16 in"; sets the scale of the scan`,
			"the scale is the scan's own", length(150, 6000, func(s *Sheet) *Length { return &s.Chord })},
		{"target", "fair", "", `"fair" keeps this wing's own form, "nominal" goes back to the drawing with one constant offset`, invented, readTarget},
		{"thickness", nil, `"146 mm"`, "callipered at the thickest point: tells a thick wing from a scan whose upper and lower skin stand too far apart",
			"a scan whose upper and lower skin stand apart cannot be told from a thick wing", length(4, 2400, func(s *Sheet) *Length { return &s.Thickness })},

		{"aileron.hinge", nil, "0.78", "hinge line, fraction of the chord; leave the table out if no aileron reaches the tip",
			"no aileron is taken to reach the tip", fraction(0.5, 0.95, func(s *Sheet) *float64 { return &s.Hinge })},
		{"aileron.droop", "0 deg", "", "the designer's neutral if it is not faired; trailing edge down is positive", practice, readDroop},

		{"scan.units", nil, `"mm"`, "mm, cm, m, in or ft; only if the scale cannot be told from the chord", "told from the scan's format and the chord", readUnits},
		{"scan.trust_scale", false, "", "true keeps the scan's own scale instead of the taped chord's", "a taped chord is better than a phone's scale; " + practice,
			truth(func(s *Sheet) *bool { return &s.TrustScale })},
		{"scan.mend_split", false, "", "true sets upper and lower skin together again if the scan holds them apart", invented,
			truth(func(s *Sheet) *bool { return &s.MendSplit })},
		{"scan.tip_rib", "0 mm", "", "how far inboard of the skin's outboard end the tip rib's face lies", invented,
			length(0, 1000, func(s *Sheet) *Length { return &s.TipRib })},
		{"scan.tip", nil, `"left"`, "left or right; only for a file that holds both wings, to check its name by", "the scan holds one wing", readTip},

		{"filler.band", "300 mm", "", "how far inboard to look for low spots", invented, length(20, 3000, func(s *Sheet) *Length { return &s.Band })},
		{"filler.act_above", "0.5 mm", "", "shallower low spots are left alone", practice, length(0, 20, func(s *Sheet) *Length { return &s.ActAbove })},
		{"filler.sand_limit", "0.2 mm", "", "high spots up to this may be sanded off", invented, length(0, 5, func(s *Sheet) *Length { return &s.SandLimit })},
		{"filler.density", 450.0, "", "kg/m3 of the filler, mixed and cured", "computed for hollow glass spheres in resin, 4 to 1 by volume", readDensity},

		{"tip.length", "260 mm", "", "of the tip, from the tip rib to its outer end", invented, length(20, 3000, func(s *Sheet) *Length { return &s.TipLength })},
		{"tip.laminate", "0.8 mm", "", "thickness of the glass skin over the foam; or the plies in its place",
			"our choice, near two plies of 200 g/m2 with skim, weave and paint: measure a sample", length(0, 20, func(s *Sheet) *Length { return &s.Laminate })},
		{"tip.plies", nil, `[{weight = "200 g/m2", count = 2}]`, "in place of laminate; slurry, peel-ply weave, filler and paint come on top", "", readPlies},

		{"wire.diameter", "0.5 mm", "", "of the hot wire", "upper end of the published range for foam cutting, 0.2 to 0.5 mm",
			length(0.05, 3, func(s *Sheet) *Length { return &s.WireDiameter })},
		{"wire.kerf", nil, `"1.5 mm"`, "width of the slot that the wire melts: make a test cut", "the wire and half a millimetre each side; " + practice,
			length(0.05, 15, func(s *Sheet) *Length { return &s.Kerf })},

		{"block.thickness", "19 mm", "", "of the boards for the form blocks", practice, length(2, 100, func(s *Sheet) *Length { return &s.BlockThickness })},

		{"foam.sheet", "50 mm", "", "thickness of the foam sheet, measured: boards vary by millimetres", "nominal size of a common board; measure yours",
			length(5, 600, func(s *Sheet) *Length { return &s.FoamSheet })},

		{"flange.skin", "0.6 mm", "", "thickness of the wing's skin: the flange lies under it", practice, length(0.1, 20, func(s *Sheet) *Length { return &s.SkinThickness })},
		{"flange.pitch", "75 mm", "", "distance of the flange's fasteners", practice, length(5, 500, func(s *Sheet) *Length { return &s.FlangePitch })},

		{"pair.tolerance", "1 mm", "", "what may differ between the tips", practice, length(0.05, 50, func(s *Sheet) *Length { return &s.PairTolerance })},

		{"print.paper", "letter", "", "letter, legal, tabloid, A4 or A3; or a roll in its place", invented, readPaper},
		{"print.roll", nil, `"36 in"`, "width of the roll, in place of paper", "", readRoll},
		{"print.bar_x", nil, `"180.0 mm"`, "what the bar across the printed sheet really measured", "the printer is taken to print true",
			length(10, 5000, func(s *Sheet) *Length { return &s.BarX })},
		{"print.bar_z", nil, `"250.0 mm"`, "what the bar along the printed sheet really measured", "the printer is taken to print true",
			length(10, 5000, func(s *Sheet) *Length { return &s.BarZ })},
	}
}

// length reads a length from least to most, both mm.
func length(least, most Length, field func(*Sheet) *Length) func(*Sheet, any) error {
	return func(s *Sheet, data any) error {
		l, err := lengthIn(data, least, most)
		if err == nil {
			*field(s) = l
		}
		return err
	}
}

func lengthIn(data any, least, most Length) (Length, error) {
	text, ok := data.(string)
	if !ok {
		return 0, notLength(data)
	}
	if strings.TrimSpace(text) == "" {
		return 0, mendf(`write a length with its unit, as in "1220 mm", or take the line out`, "the value is not filled in")
	}
	l, err := ParseLength(text)
	if err != nil {
		return 0, err
	}
	if l < least || l > most {
		return 0, mendf("check the number and its unit: it must lie between "+least.String()+" and "+most.String(), "%q cannot be", text)
	}
	return l, nil
}

func notLength(data any) error {
	if n, ok := plainNumber(data); ok {
		text := strconv.FormatFloat(n, 'f', -1, 64)
		return mendf(fmt.Sprintf("write the unit with it, in quotes: \"%[1]s mm\" or \"%[1]s in\"", text), "%s is a bare number", text)
	}
	return mendf("write a length with its unit in quotes, as in \"1220 mm\"", "%s is not a length", kind(data))
}

// fraction reads a plain number from least to most.
func fraction(least, most float64, field func(*Sheet) *float64) func(*Sheet, any) error {
	return func(s *Sheet, data any) error {
		n, ok := plainNumber(data)
		switch {
		case !ok:
			return mendf("write a fraction of the chord without quotes, as in 0.78", "%s is not a plain number", kind(data))
		case n >= 100*least && n <= 100*most:
			return mendf(fmt.Sprintf("write %v for %v %%", n/100, n), "%v cannot be a fraction of the chord", n)
		case !(n >= least && n <= most):
			return mendf(fmt.Sprintf("it must lie between %v and %v of the chord", least, most), "%v cannot be", n)
		}
		*field(s) = n
		return nil
	}
}

func truth(field func(*Sheet) *bool) func(*Sheet, any) error {
	return func(s *Sheet, data any) error {
		b, ok := data.(bool)
		if !ok {
			return mendf("write true or false, without quotes", "%s is neither true nor false", kind(data))
		}
		*field(s) = b
		return nil
	}
}

// plainNumber takes an integer or a decimal; NaN and infinity, which TOML can write, are no numbers here.
func plainNumber(data any) (float64, bool) {
	switch n := data.(type) {
	case int64:
		return float64(n), true
	case float64:
		return n, !math.IsNaN(n) && !math.IsInf(n, 0)
	}
	return 0, false
}

// kind names a value that is of the wrong kind.
func kind(data any) string {
	switch v := data.(type) {
	case string:
		return strconv.Quote(v)
	case bool, int64, float64:
		return fmt.Sprint(v)
	case map[string]any:
		return "a table"
	case []any, []map[string]any:
		return "a list"
	}
	return "this value"
}

func words(data any, want string) (string, error) {
	text, ok := data.(string)
	if !ok {
		return "", mendf("write "+want+" in quotes", "%s is not a text", kind(data))
	}
	return strings.TrimSpace(text), nil
}

// choice reads one of a few words, whatever their case, and returns it as it stands in choices.
func choice(data any, choices ...string) (string, error) {
	list := strings.Join(choices[:len(choices)-1], ", ") + " or " + choices[len(choices)-1]
	text, err := words(data, list)
	if err != nil {
		return "", err
	}
	for _, c := range choices {
		if strings.EqualFold(c, text) {
			return c, nil
		}
	}
	return "", mendf("write "+list, "%q is not known here", text)
}

// mostName bounds names, in bytes, so that they fit on a page and in a file name.
const mostName = 120

func readName(s *Sheet, data any) error {
	text, err := words(data, "the aircraft's name")
	if err != nil {
		return err
	}
	if len(text) > mostName || strings.ContainsFunc(text, unicode.IsControl) {
		return mendf("write a name on one line, no longer than a page is wide", "the name cannot be printed")
	}
	s.Name = text
	return nil
}

// readAirfoil takes any name that stays in the sheet's own folder; whether there is such a section is for
// a later step to say.
func readAirfoil(s *Sheet, data any) error {
	text, err := words(data, "the section's name")
	switch {
	case err != nil:
		return err
	case text == "":
		return mendf(`write the section of the drawing, as in "NACA 23012", or take the line out if you do not know it`, "the value is not filled in")
	case strings.ContainsAny(text, `/\:`) || !filepath.IsLocal(text) || text == ".":
		return mendf("put the coordinate file beside the wing sheet and write its name alone", "%q leads to another folder", text)
	case len(text) > mostName || strings.ContainsFunc(text, unicode.IsControl):
		return mendf("write the section's name or the coordinate file's", "%q cannot be a section", text)
	}
	s.Airfoil = text
	return nil
}

func readTarget(s *Sheet, data any) error {
	text, err := choice(data, "fair", "nominal")
	s.TargetNominal = text == "nominal"
	return err
}

func readUnits(s *Sheet, data any) error {
	text, err := choice(data, "mm", "cm", "m", "in", "ft")
	s.Units = scan.Unit(text)
	return err
}

func readTip(s *Sheet, data any) (err error) {
	s.Tip, err = choice(data, "left", "right")
	return err
}

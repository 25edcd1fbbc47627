package airfoil

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/scan"
)

// tip returns the points of a section with camber, two blocks from the nose.
func tip(t testing.TB, n int) (upper, lower []r2.Vec) {
	return surfacesOf(must(t, "NACA 23012"), cosine(n))
}

// TestReadEveryStyle writes one section in the styles that files come in and wants the same outline each time.
func TestReadEveryStyle(t *testing.T) {
	u, l := tip(t, 60)
	once := round(u, l)
	ups, lows := lines("%.6f %.6f", u), lines("%.6f %.6f", l)
	plain := lines("%.6f %.6f", once)
	blunt := slices.Concat([]r2.Vec{{X: 1}}, once, []r2.Vec{{X: 1}})
	closedBlunt := append(slices.Clone(once), once[0])
	doubled := slices.Insert(slices.Clone(once), 59, once[59])
	for name, text := range map[string]string{
		"with a name":                    "Marsh Wren tip\n" + plain,
		"without a name":                 plain,
		"a name of digits":               "23012\n" + plain,
		"a name of two numbers":          "0012 64\n" + plain,
		"a name with a per cent sign":    "12% thick\n" + plain,
		"a name of numbers and words":    "230 12 per cent\n" + plain,
		"two blocks with counts":         "tip\n 60. 60.\n\n" + ups + "\n" + lows,
		"two blocks, counts, no name":    "60 60\n" + ups + lows,
		"two blocks, digits in the name": "0012 64\n60 60\n" + ups + lows,
		"two blocks, no counts":          "tip\n" + ups + "\n" + lows,
		"two blocks, lower first":        "tip\n60 60\n" + lows + ups,
		"two blocks with headings":       "tip\nupper surface\n" + ups + "lower surface\n" + lows,
		"two blocks from the tail":       "tip\n" + lines("%.6f %.6f", reversed(u)) + "\n" + lines("%.6f %.6f", reversed(l)),
		"lower surface first":            lines("%.6f %.6f", reversed(once)),
		"once round from the nose":       lines("%.6f %.6f", slices.Concat(u, reversed(l))),
		"per cent":                       "tip\n" + lines("%.4f %.4f", moved(once, 100, r2.Vec{})),
		"per cent, no name":              lines("%.4f %.4f", moved(once, 100, r2.Vec{})),
		"thousandths":                    "tip\n" + lines("%.3f %.3f", moved(once, 1000, r2.Vec{})),
		"per cent in two blocks":         "tip\n60 60\n" + lines("%.4f %.4f", moved(u, 100, r2.Vec{})) + lines("%.4f %.4f", moved(l, 100, r2.Vec{})),
		"tabs":                           lines("%.6f\t%.6f", once),
		"commas":                         "x,y\n" + lines("%.6f,%.6f", once),
		"commas and blanks":              lines("%.6f, %.6f", once),
		"decimal commas":                 strings.ReplaceAll(plain, ".", ","),
		"decimal commas, semicolons":     strings.ReplaceAll(lines("%.6f;%.6f", once), ".", ","),
		"quoted":                         lines("\"%.6f\",\"%.6f\"", once),
		"CR LF":                          strings.ReplaceAll("tip\n"+plain, "\n", "\r\n"),
		"CR":                             strings.ReplaceAll("tip\n"+plain, "\n", "\r"),
		"byte-order mark":                "\ufefftip\n" + plain,
		"byte-order mark, no name":       "\ufeff" + plain,
		"comments":                       "# made for the shop\ntip\n! x z\n" + lines("%.6f %.6f # point", once) + "# end\n",
		"third column":                   lines("%.6f %.6f 0.0", once),
		"a word behind each point":       lines("%.6f %.6f p", once),
		"Fortran exponents":              strings.ReplaceAll(lines("%.7E %.7E", once), "E", "D"),
		"a count on its own":             "tip\n119\n" + plain,
		"doubled nose":                   lines("%.6f %.6f", doubled),
		"base of the tail given":         lines("%.6f %.6f", blunt),
		"outline closed over the base":   lines("%.6f %.6f", closedBlunt),
		"blank lines and trailing space": "\n\n tip \n\n" + strings.ReplaceAll(plain, "\n", "  \n\n"),
	} {
		a, err := Read(strings.NewReader(text), "tip.dat")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := must(t, "NACA 23012").Outline(2001)
		if d, at := apart(a.Outline(2001), want); d > 6e-6 {
			t.Errorf("%s: %.2g of the chord off at x = %.3f", name, d, at.X)
		}
		near(t, name+": tail", a.TailThickness(), 2*0.0105*0.12, 3e-6)
	}
}

// TestReadAnyStyle mixes the styles.
func TestReadAnyStyle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err := Parse(names(9).Draw(t, "name"))
		if err != nil {
			t.Fatal(err)
		}
		u, l := surfacesOf(a, cosine(rapid.IntRange(40, 120).Draw(t, "n")))
		unit := rapid.SampledFrom([]float64{1, 100, 1000}).Draw(t, "unit")
		u, l = moved(u, unit, r2.Vec{}), moved(l, unit, r2.Vec{})
		format := "%.9g" + rapid.SampledFrom([]string{" ", "\t", ",", ";", " , "}).Draw(t, "between") + "%.9g"
		var text string
		switch first, second := u, l; rapid.IntRange(0, 2).Draw(t, "order") {
		case 0:
			text = lines(format, round(u, l))
		case 1:
			text = lines(format, reversed(round(u, l)))
		case 2:
			if rapid.Bool().Draw(t, "lower first") {
				first, second = second, first
			}
			text = fmt.Sprintf("%d. %d.\n", len(first), len(second)) + lines(format, first) + "\n" + lines(format, second)
		}
		if rapid.Bool().Draw(t, "named") {
			text = "some section\n" + text
		}
		b, err := Read(strings.NewReader(strings.ReplaceAll(text, "\n", rapid.SampledFrom([]string{"\n", "\r\n"}).Draw(t, "line ends"))), "any.dat")
		if err != nil {
			t.Fatal(err)
		}
		const within = 1e-3 // 40 points a side cannot follow the jump of curvature in a sharply bent mean line; a mixed-up order is far off
		for x := 0.05; x < 1; x += 0.05 {
			if math.Abs(a.Upper(x)-b.Upper(x)) > within || math.Abs(a.Lower(x)-b.Lower(x)) > within {
				t.Fatalf("%s at %.2f: %g and %g, read back %g and %g", a.Name, x, a.Upper(x), a.Lower(x), b.Upper(x), b.Lower(x))
			}
		}
	})
}

func TestReadMirroredIsMirrored(t *testing.T) {
	u, l := tip(t, 50)
	a := read(t, lines("%.7f %.7f", round(u, l)))
	flip := func(points []r2.Vec) []r2.Vec {
		out := slices.Clone(points)
		for i := range out {
			out[i].Y = -out[i].Y
		}
		return out
	}
	b := read(t, lines("%.7f %.7f", flip(round(u, l))))
	for x := 0.0; x <= 1; x += 1.0 / 64 {
		near(t, fmt.Sprintf("mirrored upper at %g", x), b.Upper(x), -a.Lower(x), 1e-9)
	}
	camberA, _ := a.Camber()
	camberB, _ := b.Camber()
	near(t, "camber", camberB, -camberA, 1e-9)
}

func TestReadFrames(t *testing.T) {
	u, l := tip(t, 60)
	once := round(u, l)
	turned := make([]r2.Vec, len(once))
	for i, p := range once {
		turned[i] = r2.Rotate(p, 10*math.Pi/180, r2.Vec{})
	}
	for name, c := range map[string]struct {
		points []r2.Vec
		code   string // of the message; empty for none
		level  scan.Level
	}{
		"its own":             {once, "", 0},
		"nose a little off":   {moved(once, 1, r2.Vec{X: 0.002, Y: 0.004}), "", 0},
		"per cent":            {moved(once, 100, r2.Vec{}), "airfoil-unit", scan.Note},
		"millimetres, moved":  {moved(once, 1220, r2.Vec{X: 310, Y: -40}), "airfoil-frame", scan.Note},
		"on its underside":    {moved(once, 1, r2.Vec{Y: 0.0448}), "airfoil-frame", scan.Note},
		"turned by 10 degree": {moved(turned, 1220, r2.Vec{X: 5}), "airfoil-turned", scan.Caution},
	} {
		a := read(t, lines("%.6f %.6f", c.points))
		messages := a.Messages()
		switch {
		case c.code == "" && len(messages) > 0:
			t.Errorf("%s: %v", name, messages)
		case c.code != "" && (len(messages) != 1 || messages[0].Code != c.code || messages[0].Level != c.level):
			t.Errorf("%s: %v, want %s", name, messages, c.code)
		}
		thickness, _ := a.Thickness()
		near(t, name+": thickness", thickness, 0.12006, 2e-4)
		if p := a.Outline(2001)[1000]; math.Abs(p.X) > 0.003 || math.Abs(p.Y) > 0.01 {
			t.Errorf("%s: the nose lies at %v", name, p)
		}
	}
}

func TestReadWithoutANosePoint(t *testing.T) {
	u, l := tip(t, 60)
	a := read(t, "tip\n"+lines("%.6f %.6f", append(reversed(u[1:]), l[1:]...)))
	if d, _ := apart(a.Outline(2001), must(t, "NACA 23012").Outline(2001)); d > 1e-4 {
		t.Errorf("%.2g of the chord off", d)
	}
}

func TestReadFixtures(t *testing.T) {
	for name, want := range map[string]string{ // the title, or part of the refusal
		"once-round.dat":   "Marsh Wren tip",
		"two-blocks.dat":   "Marsh Wren root, 2412",
		"messy.csv":        "Marsh Wren tip",
		"crossed-tail.dat": "Marsh Wren tip, tail crossed",
		"blunder.dat":      "line 14: the point at",
		"cut-off.dat":      `line 42: "0.400" is not a point`,
	} {
		data, err := os.ReadFile(filepath.Join("testdata", name))
		if err != nil {
			t.Fatal(err)
		}
		a, err := Read(strings.NewReader(string(data)), name)
		switch {
		case err == nil && a.Name != want:
			t.Errorf("%s is called %q, want %q", name, a.Name, want)
		case err != nil && !strings.Contains(err.Error(), want):
			t.Errorf("%s: %v", name, err)
		}
	}
	crossed := read(t, fixtures(t)["crossed-tail.dat"])
	if m := crossed.Messages(); len(m) != 1 || m[0].Code != "airfoil-tail" || m[0].Level != scan.Caution {
		t.Errorf("crossed tail: %v", m)
	}
	if crossed.TailThickness() > 1e-4 {
		t.Errorf("crossed tail is still %g thick", crossed.TailThickness())
	}
}

func TestReadCautionsAboutADoubtfulPoint(t *testing.T) {
	u, l := tip(t, 60)
	u[30].Y += 0.002
	a := read(t, lines("%.6f %.6f", round(u, l)))
	m := a.Messages()
	if len(m) != 1 || m[0].Code != "airfoil-point" || m[0].Level != scan.Caution || !strings.Contains(m[0].Text, "line 30") {
		t.Errorf("got %v", m)
	}
}

func TestReadCautionsAboutACoarseNose(t *testing.T) {
	for first, want := range map[int]string{1: "", 2: "airfoil-coarse"} { // 0.5 %, or 1.25 % as the first station
		a := must(t, "NACA 2412")
		u, l := surfacesOf(a, append([]float64{0}, printed()[first:]...))
		b := read(t, lines("%.5f %.5f", round(u, l)))
		var code string
		for _, m := range b.Messages() {
			code += m.Code
		}
		if code != want {
			t.Errorf("first station %g: %v, want %q", printed()[first], b.Messages(), want)
		}
	}
}

// TestReadTakesAnyGoodFileWithoutAWord holds the checks to sections that need none of their messages.
func TestReadTakesAnyGoodFileWithoutAWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := rapid.SampledFrom(Candidates()).Draw(t, "name")
		a, err := Parse(name)
		if err != nil {
			t.Fatal(err)
		}
		if camber, _ := a.Camber(); camber > 0.04 {
			return // much camber on a thin section earns a caution
		}
		u, l := surfacesOf(a, cosine(rapid.IntRange(30, 200).Draw(t, "n")))
		digits := rapid.SampledFrom([]string{"%.4f %.4f", "%.5f %.5f", "%.8f %.8f"}).Draw(t, "digits")
		b, err := Read(strings.NewReader(lines(digits, round(u, l))), "good.dat")
		if err != nil || len(b.Messages()) > 0 {
			t.Fatalf("%s: %v, %v", name, b.Messages(), err)
		}
	})
}

func TestReadRefuses(t *testing.T) {
	u, l := tip(t, 40)
	once := round(u, l)
	plain := lines("%.6f %.6f", once)
	change := func(i int, f func(p *r2.Vec)) string {
		c := slices.Clone(once)
		f(&c[i])
		return lines("%.6f %.6f", c)
	}
	var crossing []r2.Vec
	for _, p := range once {
		crossing = append(crossing, r2.Vec{X: p.X, Y: p.Y * (0.7 - p.X)})
	}
	for name, c := range map[string]struct {
		text string
		line int
		part string
	}{
		"empty":                   {"", 0, "0 points do not tell a section"},
		"only a name":             {"NACA 2412\n", 0, "0 points"},
		"too few points":          {"tip\n1 0\n0.5 0.06\n0 0\n0.5 -0.06\n1 0\n", 0, "5 points"},
		"a page of text":          {strings.Repeat("<p>the section</p>\n", 50), 0, "0 points"},
		"binary":                  {"tip\n\x00\x01", 0, "not a text file"},
		"UTF-16":                  {"\xff\xfe1\x00", 0, "UTF-16"},
		"too large":               {strings.Repeat("#", mostSize+1), 0, "1 MiB"},
		"too many points":         {strings.Repeat("0 0\n", mostRead+1), mostRead + 1, "20,000"},
		"NaN":                     {"tip\n" + plain + "NaN 0.1\n", 81, "not a number"},
		"infinite":                {"tip\n0.5 -Inf\n" + plain, 2, "not a number"},
		"too large a number":      {"tip\n1e300 0\n" + plain, 2, "beyond any chord"},
		"a slip in a number":      {"tip\n" + plain + "0.95 0.0.1\n", 81, `"0.95 0.0.1" is not a point`},
		"one number":              {"tip\n" + plain + "0.95\n", 81, `"0.95" is not a point`},
		"letter for a digit":      {"tip\n" + plain + "O.95 0.1\n0.9l 0.2", 82, "is not a point"},
		"counts do not agree":     {"tip\n40 40\n" + lines("%.6f %.6f", u) + lines("%.6f %.6f", l[:30]), 2, "40 and 40 points are promised, but 70 follow"},
		"one surface only":        {lines("%.6f %.6f", u), 40, "neither go once round"},
		"one surface twice":       {lines("%.6f %.6f", u) + lines("%.6f %.6f", u), 0, "enclose nothing"},
		"cut off":                 {lines("%.6f %.6f", once[:75]), 75, "one surface ends at x"},
		"three blocks":            {strings.Repeat(lines("%.6f %.6f", u), 3), 81, "jumps a second time"},
		"all x the same":          {strings.Repeat("1 2\n1 3\n", 20), 1, "about the same x"},
		"columns swapped":         {lines("%[2]f %[1]f", once), 0, ""},
		"crossing":                {lines("%.6f %.6f", crossing), 0, "cross"},
		"goes back":               {change(60, func(p *r2.Vec) { p.X -= 0.2 }), 61, "x goes back"},
		"one decimal off":         {change(20, func(p *r2.Vec) { p.Y *= 2 }), 21, "off the line of its neighbours"},
		"sign lost":               {change(60, func(p *r2.Vec) { p.Y = -p.Y }), 61, ""},
		"a plate":                 {lines("%.6f %.6f", flattened(once, 0.01)), 0, ""},
		"a circle":                {lines("%.6f %.6f", circle(60)), 0, "no wing section"},
		"points in no order":      {lines("%.6f %.6f", shuffled(once)), 0, ""},
		"signs of the lower lost": {lines("%.6f %.6f", u) + "\n" + lines("%.6f %.6f", flipped(l)), 0, "minus signs"},
	} {
		a, err := Read(strings.NewReader(c.text), "tip.dat")
		var format *scan.FormatError
		if !errors.As(err, &format) {
			t.Errorf("%s: got %v, %v, want a refusal", name, a, err)
			continue
		}
		if format.File != "tip.dat" || format.Mend == "" || !strings.Contains(err.Error(), c.part) || c.line > 0 && format.Line != c.line {
			t.Errorf("%s: %v; want line %d and %q", name, err, c.line, c.part)
		}
	}
}

func flattened(points []r2.Vec, by float64) []r2.Vec {
	out := slices.Clone(points)
	for i := range out {
		out[i].Y *= by
	}
	return out
}

func flipped(points []r2.Vec) []r2.Vec { return flattened(points, -0.9) }

func circle(n int) []r2.Vec {
	var out []r2.Vec
	for i := range n {
		s, c := math.Sincos(2 * math.Pi * float64(i) / float64(n-1))
		out = append(out, r2.Vec{X: (1 + c) / 2, Y: s / 2})
	}
	return out
}

func shuffled(points []r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(points))
	for i := range out {
		out[i] = points[i*37%len(points)]
	}
	return out
}

type brokenReader struct{}

func (brokenReader) Read([]byte) (int, error) { return 0, os.ErrDeadlineExceeded }

func TestReadPassesOnTheCause(t *testing.T) {
	if _, err := Read(brokenReader{}, "tip.dat"); !errors.Is(err, os.ErrDeadlineExceeded) {
		t.Errorf("got %v", err)
	}
}

package draw

import (
	"bytes"
	"io"
	"math"
	"strings"
	"testing"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// What cannot be drawn is refused by every writer, with a word on what it is, and nothing is written.
func TestRefusesWhatCannotBeDrawn(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name  string
		spoil func(d *Drawing)
		want  string
	}{
		{"no number", func(d *Drawing) { d.On("LINES", Pen{}).Add(Line{r2.Vec{X: nan}, r2.Vec{}}) }, "layer LINES, element 2"},
		{"no number inside a path", func(d *Drawing) { d.Layers[0].Elements[0].(Path).Points[7].Y = nan }, "layer BLOCK_EDGE, element 1"},
		{"infinite", func(d *Drawing) { d.On("WORDS", Pen{}).Add(Text{At: r2.Vec{X: math.Inf(1)}, Height: 3, Words: "x"}) }, "layer WORDS"},
		{"empty path", func(d *Drawing) { d.On("LINES", Pen{}).Add(Path{}) }, "layer LINES"},
		{"no radius", func(d *Drawing) { d.On("HOLES", Pen{}).Add(Circle{}) }, "radius 0"},
		{"no height", func(d *Drawing) { d.On("WORDS", Pen{}).Add(Text{Words: "x"}) }, "a text 0 mm high"},
		{"no pen", func(d *Drawing) { d.On("MORE", Pen{}) }, "MORE has a pen of 0 mm"},
		{"no frame", func(d *Drawing) { d.Max = d.Min }, "a frame of 0.0 by 0.0 mm"},
		{"frame without end", func(d *Drawing) { d.Max.X = math.Inf(1) }, "cannot be drawn"},
		{"layer's name", func(d *Drawing) { d.On("block edge", Pen{Width: 1}) }, `"block edge" cannot be a layer's name`},
		{"control", func(d *Drawing) { d.Controls[0].B = d.Controls[0].A }, "has no length"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := sample()
			c.spoil(d)
			var b bytes.Buffer
			for _, write := range []func() error{
				func() error { return PDF(&b, d, letter()) }, func() error { return SVG(&b, d) }, func() error { return DXF(&b, d) },
			} {
				if err := write(); err == nil || !strings.Contains(err.Error(), c.want) {
					t.Errorf("%v should say %q", err, c.want)
				}
			}
			if b.Len() > 0 {
				t.Error("something was written")
			}
		})
	}
}

type full struct{}

func (full) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestWriterErrorsAreHandedOn(t *testing.T) {
	for _, err := range []error{PDF(full{}, sample(), letter()), SVG(full{}, sample()), DXF(full{}, sample())} {
		if err != io.ErrShortWrite {
			t.Errorf("%v", err)
		}
	}
}

// The measured bars may stand in either order, since sheets may lie upright or across; what is no bar's
// length is refused.
func TestCorrection(t *testing.T) {
	roll := Page{Name: "roll", Width: 914.4}
	for _, c := range []struct {
		name          string
		page          Page
		x, z          float64
		across, along float64
		wrong         bool
	}{
		{"not measured", letter(), 0, 0, 1, 1, false},
		{"upright", letter(), 189, 251, 190. / 189, 250. / 251, false},
		{"across", letter(), 251, 189, 190. / 189, 250. / 251, false},
		{"one alone", letter(), 251, 0, 1, 250. / 251, false},
		{"the other alone", letter(), 0, 189, 190. / 189, 1, false},
		{"fitted to the page", letter(), 184, 242, 1, 1, true},
		{"inches taken for mm", letter(), 7.5, 9.8, 1, 1, true},
		{"both the same", letter(), 190, 190, 1, 1, true},
		{"no number", letter(), math.NaN(), 250, 1, 1, true},
		{"roll", roll, 1203, 873, 875. / 873, 1200. / 1203, false},
		{"roll, other order", roll, 873, 1203, 875. / 873, 1200. / 1203, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			c.page.MeasuredX, c.page.MeasuredZ = c.x, c.z
			across, along, err := c.page.Correction()
			if (err != nil) != c.wrong {
				t.Fatal(err)
			}
			near(t, "across", across, c.across, 1e-12)
			near(t, "along", along, c.along, 1e-12)
		})
	}
	if err := PDF(io.Discard, sample(), Page{Name: "letter", Width: 215.9, Height: 279.4, MeasuredX: 100}); err == nil {
		t.Error("a bar of 100 mm passed")
	}
	if err := PDF(io.Discard, sample(), Page{Name: "stamp", Width: 20, Height: 30}); err == nil {
		t.Error("a stamp passed for paper")
	}
}

// The table of widths is that of the PDF library's own font metrics.
func TestWidths(t *testing.T) {
	pdf := fpdf.New("P", "pt", "A4", "")
	pdf.SetFont("Helvetica", "", 1000)
	for c := ' '; c <= '~'; c++ {
		near(t, string(c), Width(string(c), 1000*capital), pdf.GetStringWidth(string(c)), 1e-9)
	}
}

func TestWrapKeepsEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.StringOfN(rapid.RuneFrom([]rune("ab W łé\t")), 0, 60, -1).Draw(t, "words")
		width := rapid.Float64Range(0.1, 80).Draw(t, "width")
		lines := Wrap(words, 2.5, width)
		if got, want := strings.Join(lines, ""), strings.Join(strings.Fields(words), ""); strings.ReplaceAll(got, " ", "") != want {
			t.Fatalf("%q became %q", words, lines)
		}
		for _, l := range lines {
			if Width(l, 2.5) > width && utf8.RuneCountInString(l) > 1 {
				t.Fatalf("%q is wider than %g", l, width)
			}
		}
	})
	if got := Wrap("a\xff\xfeb", 2.5, 0.1); len(got) != 4 {
		t.Errorf("broken UTF-8 became %q", got)
	}
}

func TestASCII(t *testing.T) {
	for in, want := range map[string]string{
		"Łódź, Åre, Žluťoučký kůň": "Lodz, Are, Zlutoucky kun", "½ ±0.3° 5×3 m²": "1/2 +/-0.3 deg 5x3 m2",
		"tab\tand\nline": "tab and line", "漢": "?", "ſŸß": "sYss",
	} {
		if got := ASCII(in); got != want {
			t.Errorf("%q became %q, not %q", in, got, want)
		}
	}
	if got := windows1252("€ ‰ Œ ž – é ł ½ 漢 \x81"); got != "\x80 \x89 \x8c \x9e \x96 \xe9 l \xbd ? ?" {
		t.Errorf("%q", got)
	}
}

// Every end of a hatch line lies on the polygon's edge, every middle inside.
func TestHatchStaysInside(t *testing.T) {
	shape := []r2.Vec{{}, {X: 80}, {X: 80, Y: 50}, {X: 40, Y: 10}, {Y: 50}}
	lines := Hatch(shape, 3, 0.7)
	if len(lines) < 20 {
		t.Fatalf("%d lines", len(lines))
	}
	for _, e := range lines {
		l := e.(Line)
		m := r2.Scale(0.5, r2.Add(l.A, l.B))
		if len(crossings(shape, m.Y))%2 != 0 {
			t.Fatal("an odd number of crossings")
		}
		inside := false
		for _, x := range crossings(shape, m.Y) {
			if x > m.X {
				inside = !inside
			}
		}
		if !inside && r2.Norm(r2.Sub(l.A, l.B)) > 1e-9 {
			t.Errorf("%v lies outside", l)
		}
	}
	for _, wrong := range [][]Element{Hatch(shape[:2], 3, 0), Hatch(shape, 0, 0), Hatch(shape, math.NaN(), 0), Hatch(shape, 1e-9, 0)} {
		if len(wrong) > 0 {
			t.Error("a hatch of nothing")
		}
	}
}

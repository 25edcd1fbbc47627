package draw

import (
	"bytes"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/outbox/draw/drawtest"
)

func svgOf(t testing.TB, d *Drawing) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return SVG(w, d) })
}

func dxfOf(t testing.TB, d *Drawing) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return DXF(w, d) })
}

// agree holds what a reader found against the sample, to the last decimal; shift takes the reader's
// coordinates to the drawing's.
func agree(t *testing.T, pic drawtest.Picture, shift r2.Vec, layer func(string) string) {
	t.Helper()
	const within = 1.01e-4 * math.Sqrt2 // the page's height is rounded, too
	d := sample()
	egg := pic.On(layer("BLOCK_EDGE"))[0]
	want := d.Layers[0].Elements[0].(Path).Points
	if len(egg.Points) != len(want) || !egg.Closed {
		t.Fatalf("%d points of %d, closed %v", len(egg.Points), len(want), egg.Closed)
	}
	for i, p := range egg.Points {
		if e := r2.Norm(r2.Sub(r2.Add(p, shift), want[i])); !(e < within) {
			t.Fatalf("point %d is %g mm off", i, e)
		}
	}
	hole := pic.Circles[0]
	if hole.Layer != layer("HOLES") || r2.Norm(r2.Sub(r2.Add(hole.Centre, shift), r2.Vec{X: 333.25, Y: 12.5})) > within || hole.R != 2.5 {
		t.Errorf("the hole is %+v", hole)
	}
	if open := pic.On(layer("LINES"))[0]; open.Closed || len(open.Points) != 3 {
		t.Errorf("the open line is %+v", open)
	}
	check := pic.On(layer("CHECK"))[0]
	near(t, "the check line", r2.Norm(r2.Sub(check.Points[1], check.Points[0])), 100, within)
	found := false
	for _, s := range pic.Texts {
		found = found || strings.Contains(s.Words, "100 mm") && strings.Contains(s.Words, "millimetres")
	}
	if !found {
		t.Errorf("no text says millimetres: %+v", pic.Texts)
	}
}

func TestSVGReadsBack(t *testing.T) {
	d := sample()
	pic := drawtest.ReadSVG(t, svgOf(t, d))
	lower := withCheckLine(d).Min
	agree(t, pic, lower, func(s string) string { return strings.ReplaceAll(strings.ToLower(s), "_", "-") })
	near(t, "width", pic.Size.X, d.size().X, 1e-4)
	if got, want := pic.Texts[0].Words, strings.NewReplacer("\x00", "�", "\x1b", "�", "\r\n", "\n").Replace(hostile); !strings.HasPrefix(strings.ReplaceAll(got, "\r\n", "\n"), want[:20]) {
		t.Errorf("the text came back as %q", got)
	}
	if saw := pic.On("saw-line")[0]; !saw.Dashed || saw.Width != 0.2 {
		t.Errorf("the saw line is %+v", saw)
	}
}

func TestDXFReadsBack(t *testing.T) {
	name := func(s string) string { return s + "_MM" }
	data := dxfOf(t, sample())
	agree(t, drawtest.ReadDXF(t, data), r2.Vec{}, name)
	if bytes.Contains(data, []byte("LWPOLYLINE")) || bytes.Contains(data, []byte("INSUNITS")) {
		t.Error("not in release 12")
	}
	agree(t, drawtest.ReadDXFByEzdxf(t, data), r2.Vec{}, name)
}

// The SVG must be as large in a renderer as it says: 96 pixels to the inch.
func TestSVGIsTrueInARenderer(t *testing.T) {
	d := &Drawing{Title: "square"}
	d.On("BLOCK_EDGE", Pen{Width: 0.3}).Add(Area{[]r2.Vec{{}, {X: 254}, {X: 254, Y: 127}, {Y: 127}}})
	d.Fit(12.7)
	black := drawtest.BlackBox(t, svgOf(t, d), 127)
	near(t, "left", black.Min.X, 12.7, 0.3)
	near(t, "right", black.Max.X, 266.7, 0.3)
	near(t, "top", black.Min.Y, 12.7, 0.3)
}

// PDF must ask for printing without scaling and be valid to the byte: each entry of the cross-reference
// table must point at its object.
func TestPDFStructure(t *testing.T) {
	pdf := pdfOf(t, sample(), letter())
	if !bytes.HasPrefix(pdf, []byte("%PDF-1.7\n")) {
		t.Errorf("begins with %q", pdf[:9])
	}
	var table int
	m := regexp.MustCompile(`startxref\n(\d+)\n%%EOF\n$`).FindSubmatch(pdf)
	if m == nil {
		t.Fatal("no startxref at the end")
	}
	for _, c := range m[1] {
		table = 10*table + int(c-'0')
	}
	lines := strings.SplitAfter(string(pdf[table:]), "\n")
	if lines[0] != "xref\n" || !strings.HasPrefix(lines[1], "0 ") {
		t.Fatalf("the table begins with %q", lines[:2])
	}
	var catalogue string
	n := 0
	for i := 1; strings.HasSuffix(lines[i+2], " n \n"); i++ {
		var at int
		for _, c := range lines[i+2][:10] {
			at = 10*at + int(c-'0')
		}
		head := strings.SplitN(string(pdf[at:min(len(pdf), at+20)]), "\n", 2)[0]
		if head != decimal(i)+" 0 obj" {
			t.Errorf("object %d lies not at %d: %q", i, at, head)
		}
		if body := string(pdf[at:table]); strings.Contains(strings.SplitN(body, "endobj", 2)[0], "/Type /Catalog") {
			catalogue = strings.SplitN(body, "endobj", 2)[0]
		}
		n++
	}
	if !strings.Contains(lines[n+3], "trailer") || !strings.Contains(strings.Join(lines[n+3:], ""), "/Root "+decimal(n)+" 0 R") {
		t.Errorf("after %d objects: %q", n, lines[n+3:])
	}
	if !strings.Contains(catalogue, "/ViewerPreferences <</PrintScaling /None /Duplex /Simplex>>") {
		t.Errorf("the catalogue is %q", catalogue)
	}
	if bytes.Contains(pdf, []byte("/UserUnit")) {
		t.Error("few readers heed UserUnit")
	}
}

func decimal(n int) string { return strings.TrimSuffix(decimals(float64(n)), ".0000") }

func TestSameBytes(t *testing.T) {
	for range 3 {
		if !bytes.Equal(pdfOf(t, sample(), letter()), pdfOf(t, sample(), letter())) ||
			!bytes.Equal(svgOf(t, sample()), svgOf(t, sample())) || !bytes.Equal(dxfOf(t, sample()), dxfOf(t, sample())) {
			t.Fatal("the same drawing gave other bytes")
		}
	}
}

// No text whatever may break a file.
func TestAnyText(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		words := rapid.OneOf(rapid.String(), rapid.StringOfN(rapid.RuneFrom([]rune("%\r\n\\()<>&\"0 éł€")), 0, 20, -1)).Draw(rt, "words")
		d := &Drawing{Title: words, Origin: words, Notes: []Note{{words, []string{words}}}}
		d.On("WORDS", Pen{Width: 0.25}).Add(Text{Height: 3, Words: words, Angle: 0.3}, Line{B: r2.Vec{X: 50, Y: 50}})
		d.Fit(5)
		pic := drawtest.ReadDXF(t, dxfOf(t, d))
		if len(pic.Texts) != 2 || pic.Texts[0].Words != strings.TrimSpace(asDXF(words)) {
			rt.Fatalf("%q came back from DXF as %+v", words, pic.Texts)
		}
		if svg := drawtest.ReadSVG(t, svgOf(t, d)); len(svg.Texts) != 2 {
			rt.Fatalf("%q came back from SVG as %+v", words, svg.Texts)
		}
		pdfOf(t, d, letter())
	})
}

// Points that follow one another too closely for a cutter are left out of DXF, never an end of an open line,
// and the line stays where it was.
func TestDXFHasNoTinySteps(t *testing.T) {
	line := []r2.Vec{{}, {X: 0.004}, {X: 0.0045}, {X: 5}, {X: 5, Y: 0.003}, {X: 9, Y: 4}, {X: 9.001, Y: 4}}
	for _, closed := range []bool{true, false} {
		d := &Drawing{Title: "steps"}
		p := append([]r2.Vec(nil), line...)
		if closed {
			p = append(p, r2.Vec{Y: 3}, r2.Vec{Y: 0.002})
		}
		d.On("BLOCK_EDGE", Pen{Width: 0.3}).Add(Path{p, closed})
		d.Fit(1)
		pic := drawtest.ReadDXF(t, dxfOf(t, d))
		got := pic.On("BLOCK_EDGE_MM")[0]
		for _, s := range got.Segments() {
			if n := r2.Norm(r2.Sub(s[1], s[0])); n < leastStep {
				t.Errorf("closed %v: a step of %.4f mm", closed, n)
			}
		}
		if e := drawtest.Apart(got, drawtest.Path{Points: p, Closed: closed}); e > leastStep {
			t.Errorf("closed %v: %.4f mm off", closed, e)
		}
		if end := got.Points[len(got.Points)-1]; !closed && end != line[len(line)-1] {
			t.Errorf("the open line ends at %v", end)
		}
	}
}

package outbox

import (
	"bytes"
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// blockResult makes a result with an equal pair of blocks straight from an airfoil, so that every length of
// the drawing is known from the formula.
func blockResult(t testing.TB, side section.Side, name string, chord float64) *fit.Result {
	t.Helper()
	a, err := airfoil.Parse(name)
	if err != nil {
		t.Fatal(err)
	}
	outline := a.Outline(1601)
	for i, p := range outline {
		outline[i] = r2.Scale(chord, p)
	}
	s := &section.Survey{Side: side, Chord: section.Measured{Value: chord, U: 0.8}, Loft: section.Loft{Airfoil: a, Chord: chord}}
	return &fit.Result{Survey: s, Target: outline, Templates: []fit.Template{
		{Name: "inboard-block", Outline: outline, U: 0.17},
		{Name: "outboard-block", Station: -260, Outline: outline, U: 0.17},
	}}
}

func blockDrawings(t testing.TB, r *fit.Result) (inboard, outboard *draw.Drawing) {
	t.Helper()
	d, err := templateDrawings(r, sampleSheet(), sampleIdentity(r.Survey.Side.String()))
	if err != nil {
		t.Fatal(err)
	}
	if len(d) != 2 || d[0].Name != "inboard-block" || d[1].Name != "outboard-block" {
		t.Fatalf("the drawings are %+v", d)
	}
	return d[0].Drawing, d[1].Drawing
}

func layerOf(t testing.TB, d *draw.Drawing, name string) *draw.Layer {
	t.Helper()
	for _, l := range d.Layers {
		if l.Name == name {
			return l
		}
	}
	t.Fatalf("%s has no layer %s", d.Title, name)
	return nil
}

func edgeOf(t testing.TB, d *draw.Drawing) drawtest.Path {
	p := layerOf(t, d, "BLOCK_EDGE").Elements[0].(draw.Path)
	return drawtest.Path{Points: p.Points, Closed: p.Closed}
}

func holesOf(t testing.TB, d *draw.Drawing) []r2.Vec {
	var out []r2.Vec
	for _, e := range layerOf(t, d, "HOLES").Elements {
		if c, ok := e.(draw.Circle); ok {
			out = append(out, c.Centre)
		}
	}
	return out
}

// A marked corner is followed from the wing frame to the paper for each face of each wing. Whoever looks
// along f, head towards u, has f x u at his right hand; nothing else is used to say where it must lie.
func TestFaceThatIsSeen(t *testing.T) {
	up := r3.Vec{Z: 1}
	for _, c := range []struct {
		side  section.Side
		block int
		look  r3.Vec // the way that the onlooker faces, in the wing frame
		nose  string
		word  string
	}{
		{section.Left, 1, r3.Vec{Y: 1}, "left", "LEFT wing, OUTBOARD block"},     // from port, looking to starboard
		{section.Left, 0, r3.Vec{Y: -1}, "right", "LEFT wing, INBOARD block"},    // from the cabin, looking to port
		{section.Right, 1, r3.Vec{Y: -1}, "right", "RIGHT wing, OUTBOARD block"}, // from starboard, looking to port
		{section.Right, 0, r3.Vec{Y: 1}, "left", "RIGHT wing, INBOARD block"},
	} {
		t.Run(c.word, func(t *testing.T) {
			r := blockResult(t, c.side, "NACA 23012", 1220)
			var d *draw.Drawing
			if inboard, outboard := blockDrawings(t, r); c.block == 0 {
				d = inboard
			} else {
				d = outboard
			}
			right := r3.Cross(c.look, up)
			for i, p := range r.Templates[c.block].Outline {
				corner := r3.Vec{X: p.X, Y: -c.side.Inboard() * r.Templates[c.block].Station, Z: p.Y}
				want := r2.Vec{X: r3.Dot(corner, right), Y: r3.Dot(corner, up)}
				if got := edgeOf(t, d).Points[i]; r2.Norm(r2.Sub(got, want)) > 1e-9 {
					t.Fatalf("corner %v lies at %v, not at %v", corner, got, want)
				}
			}
			if notes := fmt.Sprint(d.Notes); !strings.Contains(notes, "the nose points to the "+c.nose) {
				t.Errorf("the first page says %s", notes)
			}
			if words := wordsOn(d); !strings.Contains(words, c.word) {
				t.Errorf("the block says %s", words)
			}
		})
	}
}

func wordsOn(d *draw.Drawing) string {
	var out []string
	for _, l := range d.Layers {
		for _, e := range l.Elements {
			if s, ok := e.(draw.Text); ok {
				out = append(out, s.Words)
			}
		}
	}
	return strings.Join(out, " ")
}

// Back to back, prints outward, the two blocks of a pair must lie on each other: edge, holes and lines.
func TestPairStacks(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		inboard, outboard := blockDrawings(t, blockResult(t, side, "NACA 2415", 1000))
		flip := func(p r2.Vec) r2.Vec { return r2.Vec{X: -p.X, Y: p.Y} }
		a, b := edgeOf(t, inboard), edgeOf(t, outboard)
		for i, p := range a.Points {
			if flip(p) != b.Points[i] {
				t.Fatalf("edge: %v and %v", p, b.Points[i])
			}
		}
		h, k := holesOf(t, inboard), holesOf(t, outboard)
		if len(h) != 3 || len(k) != 3 {
			t.Fatalf("%d and %d holes", len(h), len(k))
		}
		for i := range h {
			if flip(h[i]) != k[i] {
				t.Errorf("hole %d: %v and %v", i+1, h[i], k[i])
			}
		}
		for _, name := range []string{"REFERENCE", "WIRE_MARKS"} {
			x, y := layerOf(t, inboard, name).Elements, layerOf(t, outboard, name).Elements
			for i := range x {
				if l, ok := x[i].(draw.Line); ok && (flip(l.A) != y[i].(draw.Line).A || flip(l.B) != y[i].(draw.Line).B) {
					t.Errorf("%s: %v and %v", name, l, y[i])
				}
			}
		}
	}
}

// Every file must hold the template's own line, within 0.02 mm, whatever reads it.
func TestTemplateFiles(t *testing.T) {
	t.Parallel()
	r := blockResult(t, section.Right, "NACA 23012", 1220)
	s := sampleSheet()
	s.Paper = sheet.Paper{Name: "roll", Width: 36 * 25.4}
	d, err := templateDrawings(r, s, sampleIdentity("right"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := drawnFiles(d, nil, s)
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != 6 {
		t.Fatalf("%d files", len(files))
	}
	for _, f := range files {
		t.Run(f.Name, func(t *testing.T) {
			sign := 1.0 // the right wing's inboard face has its nose on the left
			if strings.HasPrefix(f.Name, "outboard") {
				sign = -1
			}
			want := drawtest.Path{Closed: true}
			for _, p := range r.Templates[0].Outline {
				want.Points = append(want.Points, r2.Vec{X: sign * p.X, Y: p.Y})
			}
			var got drawtest.Path
			switch {
			case strings.HasSuffix(f.Name, ".dxf"):
				ours, theirs := drawtest.ReadDXF(t, f.Data), drawtest.ReadDXFByEzdxf(t, f.Data)
				got = ours.On("BLOCK_EDGE_MM")[0]
				if e := drawtest.Apart(got, theirs.On("BLOCK_EDGE_MM")[0]); e > 1e-9 {
					t.Errorf("the two readers differ by %g mm", e)
				}
			case strings.HasSuffix(f.Name, ".svg"):
				pic := drawtest.ReadSVG(t, f.Data)
				got = pic.On("block-edge")[0]
				got = shifted(got, want)
			default:
				got = shifted(longest(drawtest.ReadPDF(t, f.Data)[1], 0.35), want)
			}
			if e := drawtest.Apart(got, want); e > 0.02 {
				t.Errorf("the edge is %.3f mm off", e)
			}
		})
	}
}

// longest returns the path with the most points that is drawn with a pen.
func longest(pic drawtest.Picture, pen float64) drawtest.Path {
	var out drawtest.Path
	for _, p := range pic.Paths {
		if math.Abs(p.Width-pen) < 0.01 && len(p.Points) > len(out.Points) {
			out = p
		}
	}
	return out
}

// shifted lays the first point of a path on that of another: SVG and PDF have origins of their own.
func shifted(p, onto drawtest.Path) drawtest.Path {
	by := r2.Sub(onto.Points[0], p.Points[0])
	for i := range p.Points {
		p.Points[i] = r2.Add(p.Points[i], by)
	}
	return p
}

// What the prints say must be so, read back from the PDF by poppler: the figures by the formula's own.
func TestTemplateSays(t *testing.T) {
	r := blockResult(t, section.Left, "NACA 23012", 1220)
	factor, _ := r.Survey.Loft.Airfoil.Tape()
	d, err := templateDrawings(r, sampleSheet(), sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := drawnFiles(d, nil, sampleSheet())
	if err != nil {
		t.Fatal(err)
	}
	var words string
	for i := range drawtest.PageCount(t, files[3].Data) {
		words += drawtest.Words(t, files[3].Data, i+1) + " "
	}
	for _, want := range []string{
		"Marsh Wren, left wing: outboard form block", "sheet A6, 6 of 6", "left.ply a3b1c2d3. tipwright v0.1.0",
		fmt.Sprintf("Nose mark to tail mark: %.1f mm.", factor*1220), "poisonous gases", "shape only", "Bond paper",
		"19 mm board", "20 NOSE", "0 TAIL", "major change",
	} {
		if !strings.Contains(words, want) {
			t.Errorf("%s does not say %q:\n%s", files[3].Name, want, words)
		}
	}
	if got, want := d[0].Drawing.Controls[0].Length(), factor*1220; math.Abs(got-want) > 0.01 {
		t.Errorf("nose to tail is %.3f, by the formula %.3f", got, want)
	}
	depth := 0.12 * 1220 // by the section's name; a cambered one is a little deeper square to its chord line
	if got := d[0].Drawing.Controls[1].Length(); math.Abs(got-depth) > 1.5 {
		t.Errorf("along line B it is %.3f, by the name about %.1f", got, depth)
	}
}

func TestTemplateTrouble(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(r *fit.Result)
		want  string
	}{
		{"side", func(r *fit.Result) { r.Survey.Side = section.NoSide }, "which side"},
		{"few points", func(r *fit.Result) { r.Templates[1].Outline = r.Templates[1].Outline[:9] }, "too few points"},
		{"no number", func(r *fit.Result) { r.Templates[0].Outline[77].Y = math.NaN() }, "not a number"},
		{"no nose", func(r *fit.Result) { r.Templates[0].Outline = r.Templates[0].Outline[:400] }, "has no nose"},
	} {
		r := blockResult(t, section.Left, "NACA 23012", 1220)
		c.spoil(r)
		if _, err := templateDrawings(r, sampleSheet(), sampleIdentity("left")); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v", c.name, err)
		}
	}
	if d, err := templateDrawings(&fit.Result{}, sampleSheet(), sampleIdentity("left")); d != nil || err != nil {
		t.Error("something was drawn of nothing")
	}
}

// Bars that cannot be are told on the first page, and the print stays uncorrected.
func TestWrongBarsAreTold(t *testing.T) {
	s := sampleSheet()
	s.BarX = 120
	page, trouble := pageOf(s)
	if page.MeasuredX != 0 || !strings.Contains(trouble, "bar_x") {
		t.Errorf("%+v %s", page, trouble)
	}
	d, err := templateDrawings(blockResult(t, section.Left, "NACA 0012", 700), s, sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := drawnFiles(d, nil, s)
	if err != nil {
		t.Fatal(err)
	}
	if words := drawtest.Words(t, files[0].Data, 1); !strings.Contains(words, "Caution: printer not corrected") {
		t.Errorf("the first page says %s", words)
	}
	again, _ := drawnFiles([]NamedDrawing{d[0]}, nil, sampleSheet())
	if bytes.Equal(again[0].Data, files[0].Data) {
		t.Error("nothing differs")
	}
}

func TestSignature(t *testing.T) {
	id := Identity{Version: "v1", Files: make([]scan.Source, 5)}
	for i := range id.Files {
		id.Files[i] = scan.Source{File: fmt.Sprintf("left-%d.ply", i), SHA256: strings.Repeat("ab", 32)}
	}
	if got, want := signature(id), "Scan left-0.ply abababab, left-1.ply abababab, left-2.ply abababab, and 2 more. tipwright v1."; got != want {
		t.Error(got)
	}
}

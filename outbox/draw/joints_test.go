package draw

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw/drawtest"
)

// Registration marks and the names beside joints must keep off a drawing that leaves room for them, on both
// sheets at the same place of the drawing.
func TestJointsKeepOffTheDrawing(t *testing.T) {
	d := &Drawing{Title: "strips"}
	l := d.On("HOLES", Pen{Width: 0.2})
	for x := 0.0; x <= 700; x += 10 {
		for _, y := range []float64{10, 43, 95, 147, 180} {
			l.Add(Circle{r2.Vec{X: x, Y: y}, 2})
		}
	}
	d.Fit(2)
	lay, err := letter().layOut(d)
	if err != nil {
		t.Fatal(err)
	}
	if len(lay.tiles) < 3 {
		t.Fatalf("%d sheets", len(lay.tiles))
	}
	k := newInk(d.Layers)
	places := map[r2.Vec]int{}
	for _, tile := range lay.tiles {
		for _, j := range lay.jointsOf(tile) {
			for _, p := range j.marks(k) {
				places[p]++
				if gap := k.near(p, 50); gap < 6.9 {
					t.Errorf("a mark at %.1f is %.1f mm from a hole", p, gap)
				}
			}
			name := Text{Height: small, Words: "joins A2"}
			if p := j.named(k, j.marks(k), name); k.near(p, 50) < Width(name.Words, small)/2 {
				t.Errorf("the name at %.1f lies on a hole", p)
			}
		}
	}
	for p, n := range places {
		if n != 2 {
			t.Errorf("the mark at %.3f is on %d sheets", p, n)
		}
	}
}

func TestAway(t *testing.T) {
	p := r2.Vec{X: 3, Y: 4}
	for _, c := range []struct {
		e    Element
		want float64
	}{
		{Line{r2.Vec{}, r2.Vec{X: 10}}, 4},
		{Line{r2.Vec{X: 6, Y: 8}, r2.Vec{X: 9, Y: 12}}, 5},
		{Path{[]r2.Vec{{X: 10}, {X: 10, Y: 10}, {X: -2, Y: 10}, {X: -2}}, false}, 5},
		{Path{[]r2.Vec{{X: 10}, {X: 10, Y: 10}, {X: -2, Y: 10}, {X: -2}}, true}, 4},
		{Circle{r2.Vec{}, 2}, 3},
		{Area{[]r2.Vec{{}, {X: 10}, {X: 10, Y: -5}}}, 4},
		{Text{At: r2.Vec{X: 3}, Height: 2, Words: "x"}, 4 - 1.05*2},
	} {
		near(t, "away", away(c.e, p), c.want, 1e-12)
	}
}

// The first page shows each line that means something, in its own pen, and nothing for the others.
func TestKeyOnTheFirstPage(t *testing.T) {
	d := sample()
	d.On("SAW_LINE", Pen{}).Key = "saw along this line"
	pdf := pdfOf(t, d, letter())
	words := drawtest.Words(t, pdf, 1)
	if !strings.Contains(words, "Lines") || !strings.Contains(words, "saw along this line") || !strings.Contains(words, "joint of two sheets") {
		t.Errorf("the first page says %s", words)
	}
	dashed := 0
	for _, p := range drawtest.ReadPDF(t, pdf)[0].Paths {
		if p.Dashed && math.Abs(p.Points[1].X-p.Points[0].X-22) < 0.02 {
			dashed++
		}
	}
	if dashed != 2 {
		t.Errorf("%d samples", dashed)
	}
}

func TestUnitStaysWithItsNumber(t *testing.T) {
	for width := 5.0; width < 60; width++ {
		for _, l := range Wrap("nose mark to tail mark 1219.6 mm, at 100 % of it mm", 2.5, width) {
			if l == "mm," || strings.HasPrefix(l, "mm, ") || strings.HasPrefix(l, "% ") || l == "%" {
				if width > Width("1219.6 mm,", 2.5) {
					t.Errorf("width %g: a line begins with %q", width, l)
				}
			}
		}
	}
}

func TestSheetsAreCounted(t *testing.T) {
	if n, err := letter().Sheets(sample()); n != 6 || err != nil {
		t.Errorf("%d sheets, %v", n, err)
	}
	if _, err := (Page{Name: "stamp", Width: 20, Height: 30}).Sheets(sample()); err == nil {
		t.Error("a stamp passed for paper")
	}
}

// A drawing to scale must say so in the files that a machine could cut from.
func TestScaleIsTold(t *testing.T) {
	d := sample()
	d.Scale = "1 : 6"
	for name, pic := range map[string]drawtest.Picture{"SVG": drawtest.ReadSVG(t, svgOf(t, d)), "DXF": drawtest.ReadDXF(t, dxfOf(t, d))} {
		if last := pic.Texts[len(pic.Texts)-1].Words; !strings.Contains(last, "scale 1 : 6: do not cut") {
			t.Errorf("%s says %q", name, last)
		}
	}
}

package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw/drawtest"
)

// The sheets, read back by poppler and laid together by their registration marks alone, as a builder does
// it, must give the drawing's line again, in full and nowhere else. Where a printer correction is in the
// file, the printer is taken to err as the bars said.
func TestTilesJoin(t *testing.T) {
	tall := sample()
	tall.On("BLOCK_EDGE", Pen{}).Elements = []Element{Path{turned(egg(700)), true}}
	tall.Fit(15)
	for _, c := range []struct {
		name   string
		d      *Drawing
		page   Page
		sheets int
	}{
		{"letter", sample(), letter(), 6},
		{"A4, printer corrected", sample(), Page{Name: "A4", Width: 210, Height: 297, MeasuredX: 181, MeasuredZ: 264.2}, 5},
		{"A3", sample(), Page{Name: "A3", Width: 297, Height: 420}, 4},
		{"rows and columns", tall, letter(), 12},
		{"roll", sample(), Page{Name: "roll", Width: 914.4, MeasuredZ: 1196}, 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			pages := drawtest.ReadPDF(t, pdfOf(t, c.d, c.page))[1:]
			if len(pages) != c.sheets {
				t.Fatalf("%d sheets, not %d", len(pages), c.sheets)
			}
			l, err := c.page.layOut(c.d)
			if err != nil {
				t.Fatal(err)
			}
			var sheets []sheet
			for i, p := range pages {
				sheets = append(sheets, readSheet(t, p, l.scale))
				sheets[i].tile = l.tiles[i]
			}
			want := c.d.Layers[0].Elements[0].(Path).Points
			join(t, sheets, want[0])
			compare(t, sheets, drawtest.Path{Points: want, Closed: true})
		})
	}
}

// turned stands a line on end and a little aslant.
func turned(p []r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(p))
	for i, q := range p {
		out[i] = r2.Rotate(q, 1.1, r2.Vec{})
	}
	return out
}

// sheet is one sheet as it comes out of the printer, true mm.
type sheet struct {
	tile   tile // its name says where it belongs
	window drawtest.Path
	marks  []r2.Vec
	line   drawtest.Path
	shift  r2.Vec // what takes it to its place among the joined sheets
	placed bool
}

// readSheet finds the registration marks (circles of radius 2.5 with a cross), the window and the line by
// their looks, after the printer has undone the correction.
func readSheet(t *testing.T, pic drawtest.Picture, scale r2.Vec) sheet {
	t.Helper()
	var s sheet
	for _, p := range pic.Paths {
		for i, q := range p.Points {
			p.Points[i] = r2.Vec{X: q.X / scale.X, Y: q.Y / scale.Y}
		}
		lo, hi := boxOf(p.Points...)
		wide := r2.Sub(hi, lo)
		switch {
		case p.Closed && math.Abs(p.Width-thin) < 0.01 && len(p.Points) == 4 && wide.X > 100 && wide.Y > 100:
			s.window = p
		case math.Abs(p.Width-0.35) < 0.01 && len(p.Points) > 500:
			s.line = p
		case len(p.Points) == 5 && math.Abs(wide.X-5) < 0.02 && math.Abs(wide.Y-5) < 0.02:
			s.marks = append(s.marks, r2.Scale(0.5, r2.Add(lo, hi)))
		}
	}
	if len(s.window.Points) == 0 {
		t.Fatal("a sheet has no window")
	}
	return s
}

// join places the sheets: the first by the start of the drawing's line, each of the others by the two marks
// that it has in common with a placed one. Marks are told apart by the gaps between them.
func join(t *testing.T, sheets []sheet, start r2.Vec) {
	t.Helper()
	sheets[0].shift, sheets[0].placed = r2.Sub(start, sheets[0].line.Points[0]), true
	for range sheets {
		for i := range sheets {
			for j := range sheets {
				if sheets[i].placed && !sheets[j].placed {
					sheets[j].shift, sheets[j].placed = fits(sheets[i], sheets[j])
				}
			}
		}
	}
	for i, s := range sheets {
		if !s.placed {
			t.Fatalf("sheet %d shares no two marks with its neighbours", i+1)
		}
	}
}

// fits looks for a shift of b that lays two of its marks on two of a's and the sheet on the side of a where
// its name says that it belongs.
func fits(a, b sheet) (r2.Vec, bool) {
	size := r2.Sub(a.window.Points[2], a.window.Points[0])
	want := r2.Vec{
		X: float64(b.tile.col-a.tile.col) * (size.X - overlap),
		Y: float64(a.tile.row-b.tile.row) * (size.Y - overlap),
	}
	for _, p := range a.marks {
		for _, q := range b.marks {
			shift := r2.Sub(r2.Add(p, a.shift), q)
			common := 0
			for _, m := range b.marks {
				if slices.ContainsFunc(a.marks, func(n r2.Vec) bool {
					return r2.Norm(r2.Sub(r2.Add(m, shift), r2.Add(n, a.shift))) < 0.02
				}) {
					common++
				}
			}
			over := r2.Sub(r2.Add(b.window.Points[0], shift), r2.Add(a.window.Points[0], a.shift))
			if common == 2 && r2.Norm(r2.Sub(over, want)) < 0.1 {
				return shift, true
			}
		}
	}
	return r2.Vec{}, false
}

// compare holds what the windows show of the line against the drawing's, both ways, to 0.02 mm.
func compare(t *testing.T, sheets []sheet, want drawtest.Path) {
	t.Helper()
	covered := make([]bool, len(want.Points))
	for _, s := range sheets {
		lo, hi := boxOf(s.window.Points...)
		view := box{lo, hi}
		for _, p := range s.line.Points {
			if view.meets(p, p) {
				if d := want.Distance(r2.Add(p, s.shift)); d > 0.02 {
					t.Fatalf("the joined line is %.3f mm off at %.1f", d, p)
				}
			}
		}
		for i, q := range want.Points {
			p := r2.Sub(q, s.shift)
			if view.meets(p, p) && s.line.Distance(p) < 0.02 {
				covered[i] = true
			}
		}
	}
	if i := slices.Index(covered, false); i >= 0 {
		t.Errorf("no sheet shows the line at %.1f", want.Points[i])
	}
}

// The bars must have the length that stands beside them once the printer has erred as measured, and every
// page must carry them.
func TestBars(t *testing.T) {
	page := Page{Name: "A4", Width: 210, Height: 297, MeasuredX: 264.2, MeasuredZ: 181}
	pdf := pdfOf(t, sample(), page)
	pages := drawtest.ReadPDF(t, pdf)
	for i, pic := range pages {
		var x, z bool
		for _, p := range pic.Paths {
			d := r2.Sub(p.Points[len(p.Points)-1], p.Points[0])
			x = x || len(p.Points) == 2 && math.Abs(math.Abs(d.X)*264.2/265-265) < 0.01 && math.Abs(d.Y) < 0.01
			z = z || len(p.Points) == 2 && math.Abs(math.Abs(d.Y)*181/180-180) < 0.01 && math.Abs(d.X) < 0.01
		}
		words := drawtest.Words(t, pdf, i+1)
		for _, want := range []string{"bar_x: corner to tick 265.0 mm", "bar_z: corner to tick 180.0 mm"} {
			if !strings.Contains(words, want) {
				t.Errorf("page %d does not say %q: %s", i+1, want, words)
			}
		}
		if !x || !z {
			t.Errorf("page %d: bar_x %v, bar_z %v", i+1, x, z)
		}
	}
	first := drawtest.Words(t, pdf, 1)
	for _, want := range []string{
		"Print at 100 %", "These instructions and 5 sheets of A4 paper, 297 by 210 mm", "times 1.0030 in x and 0.9945 in z",
		"blunt end to sharp end: 1200.0 mm.", "Bond paper grows and shrinks", "overlap by 12 mm", "Caution Blades cut.",
	} {
		if !strings.Contains(first, want) {
			t.Errorf("the first page does not say %q:\n%s", want, first)
		}
	}
	for i := range len(pages) - 1 {
		if want := fmt.Sprintf("sheet A%d, %d of 5", i+1, i+1); !strings.Contains(drawtest.Words(t, pdf, i+2), want) {
			t.Errorf("sheet %d does not say %q", i+1, want)
		}
	}
}

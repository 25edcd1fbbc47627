package draw

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"
)

const (
	column   = 85.0 // mm, the least width of a column of words
	gutter   = 8.0
	leading  = 4.1  // from line to line
	mapRoom  = 26.0 // height kept free for the map on the first page
	headSize = 3.2  // height of capitals in a heading
)

// firstPages returns the sheets that stand before the drawing: how to print, check and join it, and its
// notes. Most drawings need one.
func firstPages(d *Drawing, p Page, l *layout) [][]*Layer {
	notes := []Note{{d.Title, nil}}
	if d.Plan.Heading != "" {
		notes = append(notes, d.Plan)
	}
	notes = append(notes, Note{"Print", printing(p, l)})
	if d.Scale != "" {
		notes[len(notes)-1].Lines = []string{"Scale " + d.Scale + ". Its figures count, not its lines: do not trace it. It may be printed in any size."}
	} else {
		notes = append(notes, fullSize(d, p, l)...)
	}
	notes = append(notes, d.Notes...)

	f := flow{l: l, window: l.forWords(p).window}
	if p.Height > 0 {
		f.bars = bars(l)
	}
	f.columns = int(math.Max(1, math.Floor((f.window.hi.X-f.window.lo.X+gutter)/(column+gutter))))
	f.newPage()
	for _, n := range notes {
		f.note(n)
	}
	f.key(d)
	return f.pages
}

// key shows what the lines of the drawing mean, each with a sample in its own pen.
func (f *flow) key(d *Drawing) {
	layers := slices.Clone(d.Layers)
	if len(f.l.tiles) > 1 {
		layers = append(layers, &Layer{Name: "JOINS", Pen: joinPen(), Key: "joint of two sheets"})
	}
	layers = slices.DeleteFunc(layers, func(l *Layer) bool { return l.Key == "" })
	if len(layers) == 0 {
		return
	}
	const sample, gap = 22.0, 3.0
	f.note(Note{Heading: "Lines"})
	for _, l := range layers {
		lines := Wrap(l.Key, small, f.width()-sample-gap)
		f.need(float64(len(lines)) * leading)
		a := r2.Vec{X: f.left(f.column), Y: f.y - small/2}
		page := &f.pages[len(f.pages)-1]
		*page = append(*page, &Layer{Name: l.Name, Pen: l.Pen, Elements: []Element{Line{a, r2.Add(a, r2.Vec{X: sample})}}})
		for _, s := range lines {
			f.words.Add(Text{At: r2.Vec{X: a.X + sample + gap, Y: f.y - small}, Height: small, Words: s})
			f.y -= leading
		}
	}
}

// fullSize says what must be minded when lengths are taken from the print.
func fullSize(d *Drawing, p Page, l *layout) []Note {
	notes := append([]Note{{"Check the printer", checking(p, l)}}, joining(d, l)...)
	return append(notes, Note{"Paper moves", []string{
		"Bond paper grows and shrinks with moisture, by 0.1 to 0.2 % along the grain and 0.2 to 0.4 % across it: " +
			"2.4 to 4.8 mm on 1.2 m across the grain. Let the sheets lie open in the workshop until they have settled, " +
			"check them, and cut on the same day; or print on drafting film.",
	}})
}

// forWords returns the layout of the first pages: that of the drawing, or a short piece of a roll. That
// piece has no bars, since they would not have the lengths of those beside the drawing.
func (l *layout) forWords(p Page) *layout {
	if p.Height > 0 {
		return l
	}
	return lay(r2.Vec{X: p.Width, Y: rollLeast}, r2.Vec{X: 1, Y: 1}, r2.Vec{})
}

func printing(p Page, l *layout) []string {
	sheets := fmt.Sprintf("These instructions and %d sheets", len(l.tiles))
	if len(l.tiles) == 1 {
		sheets = "These instructions and one sheet"
	}
	return []string{
		fmt.Sprintf("%s of %s paper, %.0f by %.0f mm, printed on one side.", sheets, p.Name, l.paper.X*l.scale.X, l.paper.Y*l.scale.Y),
		`Print at 100 % ("actual size"). Switch off every kind of fitting to the page, shrinking or centring. ` +
			"Send the file from a desktop reader: web pages and phones often rescale.",
	}
}

func checking(p Page, l *layout) []string {
	long := math.Max(l.bars.X, l.bars.Y)
	out := []string{
		fmt.Sprintf("Each sheet of the drawing carries two bars that start from one corner: bar_x, %.1f mm, and bar_z, %.1f mm, from the middle of the "+
			"line to the middle of the tick. Measure both with a steel rule.", l.bars.X, l.bars.Y),
		fmt.Sprintf("A bar of %.0f mm read to a quarter of a millimetre knows 1200 mm only to %.1f mm. On a long drawing the control below counts, not the bar.",
			long, 1200*0.25/long),
	}
	if p.MeasuredX != 0 || p.MeasuredZ != 0 {
		out = append(out, fmt.Sprintf("A printer correction is in this file already: lengths times %.4f in x and %.4f in z, since the bars of an "+
			"earlier print measured %s. Its bars should now measure true. If they do, change nothing. If one does not, replace the length "+
			"recorded for it by that length times new reading over printed length.", l.scale.X, l.scale.Y, p.measured()))
	} else {
		out = append(out, "No printer correction is in this file.")
	}
	if p.Advice != "" {
		out = append(out, p.Advice)
	}
	return out
}

// measured names the measured lengths.
func (p Page) measured() string {
	var out []string
	for _, v := range []float64{p.MeasuredX, p.MeasuredZ} {
		if v != 0 {
			out = append(out, fmt.Sprintf("%.1f mm", v))
		}
	}
	return strings.Join(out, " and ")
}

// joining says how the sheets come together and what to tape afterwards.
func joining(d *Drawing, l *layout) []Note {
	var out []Note
	if len(l.tiles) > 1 {
		out = append(out, Note{"Join", []string{
			fmt.Sprintf("Neighbouring sheets overlap by %.0f mm. Work row by row from the left. Cut the right-hand sheet along the dashed line "+
				"in its left overlap, lay it on its neighbour so that the cut lies on that one's dashed line and both registration marks "+
				"(cross in a circle) run on unbroken, and tape it. Then join the rows in the same way, the upper one cut along its lower line.",
				overlap),
			"Work on a flat table along a straightedge: a small turn at each joint bends a long template.",
		}})
	}
	if len(d.Controls) > 0 {
		n := Note{Heading: "Control: tape this before you cut"}
		for _, c := range d.Controls {
			n.Lines = append(n.Lines, fmt.Sprintf("%s: %.1f mm.", c.Name, c.Length()))
		}
		n.Lines = append(n.Lines, "Tape it on the print. If it is off by more than 0.5 mm, join or print again: do not cut.")
		out = append(out, n)
	}
	return out
}

// flow sets notes in columns, on as many pages as they take.
type flow struct {
	l       *layout // of the drawing, for the map of its sheets
	window  box
	bars    []Element
	columns int
	pages   [][]*Layer
	words   *Layer
	column  int
	y       float64 // of the next line's top
}

func (f *flow) newPage() {
	f.words = &Layer{Name: "WORDS", Pen: Pen{Width: plain}}
	f.words.Add(f.bars...)
	page := []*Layer{f.words}
	if len(f.pages) == 0 && len(f.l.tiles) > 1 {
		lo, hi := f.left(f.columns-1), f.window.hi.X
		page = append(page, f.l.mapAt(-1, box{r2.Vec{X: lo, Y: edge + side}, r2.Vec{X: hi, Y: edge + side + mapRoom - 6}})...)
	}
	f.pages = append(f.pages, page)
	f.column, f.y = 0, f.window.hi.Y
}

func (f *flow) width() float64 {
	n := float64(f.columns)
	return (f.window.hi.X - f.window.lo.X - (n-1)*gutter) / n
}

func (f *flow) left(column int) float64 {
	return f.window.lo.X + float64(column)*(f.width()+gutter)
}

// floor is where the current column ends.
func (f *flow) floor() float64 {
	if len(f.pages) == 1 && f.column == f.columns-1 && len(f.l.tiles) > 1 {
		return edge + side + mapRoom
	}
	return edge + side
}

// note sets a heading with its first line beside it on the same column, and paragraphs after it.
func (f *flow) note(n Note) {
	f.need(3*leading + headSize)
	if f.y < f.window.hi.Y {
		f.y -= 0.6 * leading
	}
	for _, s := range Wrap(n.Heading, headSize, f.width()) {
		f.line(s, headSize)
	}
	for _, p := range n.Lines {
		lines := Wrap(p, small, f.width())
		f.need(math.Min(6, float64(len(lines))) * leading)
		for _, s := range lines {
			f.need(leading)
			f.line(s, small)
		}
		f.y -= 0.15 * leading
	}
}

// need goes on to the next column if less than h mm are left in this one.
func (f *flow) need(h float64) {
	if f.y-h >= f.floor() {
		return
	}
	if f.column++; f.column == f.columns {
		f.newPage()
	}
	f.y = f.window.hi.Y
}

func (f *flow) line(words string, height float64) {
	f.words.Add(Text{At: r2.Vec{X: f.left(f.column), Y: f.y - height}, Height: height, Words: words})
	f.y -= leading * height / small
}

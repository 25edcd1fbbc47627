package draw

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Page is the paper that a drawing is printed on and what is known of the printer.
type Page struct {
	Name          string  // "letter", "A4", "roll"
	Width, Height float64 // mm, upright; a Height of 0 is a roll Width wide

	// MeasuredX and MeasuredZ are what the bars of an earlier print really measured, mm; 0 is not measured.
	// Which of the two sides of the paper a measured bar lay along is told from its length, since the bars
	// of the two sides differ far more than a printer errs: so it does not matter whether the sheet that
	// was measured was printed upright or across.
	MeasuredX, MeasuredZ float64

	// Advice follows the advice on the bars on the first page: where to write what they measure.
	Advice string
}

// Dimensions of a sheet, mm. Few printers reach nearer than a quarter of an inch to the edge; the rest is
// common practice, no source.
const (
	edge      = 10.0 // left blank all round
	strip     = 21.0 // below the drawing: bar, title, map
	side      = 9.0  // left of the drawing: bar
	overlap   = 12.0 // of neighbouring sheets
	barInset  = 1.5  // of the bars from the blank edge
	rollMost  = 5000.0
	rollLeast = 300.0
)

// trust is the greatest error of a printer that is corrected. A sheet that was fitted to the page is off by
// 3 to 10 per cent (common practice, no source), and that is mended by printing it at 100 per cent.
const trust = 0.02

// barOf returns the length of the bar along a side of the paper: as long as it allows even when the printer
// errs by the greatest that is corrected, in steps of 5 mm.
func barOf(side float64) float64 {
	return math.Floor((side-2*edge-barInset)*(1-trust)/5) * 5
}

// rollBarOf returns the length of the bar along a roll. It has whole decimetres, so that the nominal of a
// measured bar can be told whatever the length of the drawing was.
func rollBarOf(length float64) float64 {
	return math.Floor((length-2*edge-barInset)*(1-trust)/100) * 100
}

// Bars returns the nominal lengths of the bars along the paper's width and height, mm, the paper upright;
// the second is 0 for a roll, whose bar depends on the drawing.
func (p Page) Bars() (across, along float64) {
	if p.Height == 0 {
		return barOf(p.Width), 0
	}
	return barOf(p.Width), barOf(p.Height)
}

// Correction returns what lengths along the paper's width and height, the paper upright, are multiplied by
// so that the print comes out true: nominal over measured, 1 where nothing was measured.
//
// It returns an error if a measured length is that of no bar on this paper, within 2 per cent.
func (p Page) Correction() (across, along float64, err error) {
	type try struct{ across, along, miss float64 }
	straight := try{across: p.ratio(p.MeasuredX, false), along: p.ratio(p.MeasuredZ, true)}
	crossed := try{across: p.ratio(p.MeasuredZ, false), along: p.ratio(p.MeasuredX, true)}
	best := try{miss: math.Inf(1)}
	for _, t := range []try{straight, crossed} {
		if t.miss = math.Max(math.Abs(math.Log(t.across)), math.Abs(math.Log(t.along))); t.miss < best.miss {
			best = t
		}
	}
	if best.miss > trust {
		a, b := p.Bars()
		second := fmt.Sprintf("%.0f mm", b)
		if b == 0 {
			second = "a whole number of decimetres"
		}
		return 1, 1, fmt.Errorf("bars measured as %.1f and %.1f mm (0 is not measured) are not those of %s paper, which are %.0f mm and %s long",
			p.MeasuredX, p.MeasuredZ, p.Name, a, second)
	}
	return best.across, best.along, nil
}

// ratio returns nominal over measured for a bar taken to lie along the paper's height or width.
func (p Page) ratio(measured float64, tall bool) float64 {
	if measured == 0 {
		return 1
	}
	nominal, along := p.Bars()
	if tall {
		nominal = along
		if along == 0 {
			nominal = math.Max(100, 100*math.Round(measured/100))
		}
	}
	return nominal / measured
}

// layout says how a drawing lies on its sheets. Everything in it is in true mm: what the sheet measures
// after the printer has had its way. Sheet coordinates run from the lower left corner, y up.
type layout struct {
	paper      r2.Vec // of a sheet as it lies
	scale      r2.Vec // what true mm are multiplied by in the file
	bars       r2.Vec // nominal lengths
	window     box    // sheet coordinates: where the drawing shows
	step       r2.Vec // from tile to tile
	origin     r2.Vec // drawing coordinates of the lower left corner of the lowest left tile
	cols, rows int
	tiles      []tile // those that are printed, by rows from the top
	ink        *ink   // of the drawing
}

// tile is one sheet.
type tile struct {
	row, col int    // from the top left
	lo       r2.Vec // drawing coordinates of the window's lower left corner
}

// name returns "B2": the row's letter from the top, the column's number from the left.
func (t tile) name() string {
	letters := ""
	for r := t.row; ; r = r/26 - 1 {
		letters = string(rune('A'+r%26)) + letters
		if r < 26 {
			break
		}
	}
	return fmt.Sprintf("%s%d", letters, t.col+1)
}

// Sheets returns how many sheets of the paper the drawing takes, its first page not counted. It returns an
// error for paper that the drawing cannot be printed on.
func (p Page) Sheets(d *Drawing) (int, error) {
	l, err := p.layOut(d)
	if err != nil {
		return 0, err
	}
	return len(l.tiles), nil
}

const mostSheets = 400

// layOut chooses how the sheets lie, upright or across, so that the drawing needs the fewest; of a roll
// it takes the least length that needs the fewest joints.
func (p Page) layOut(d *Drawing) (*layout, error) {
	across, along, err := p.Correction()
	if err != nil {
		return nil, err
	}
	if !(p.Width >= 100 && p.Width <= rollMost && (p.Height == 0 || p.Height >= 100 && p.Height <= rollMost)) {
		return nil, fmt.Errorf("paper of %g by %g mm cannot be printed on", p.Width, p.Height)
	}
	size := d.size()
	tall, wide := p.length(size.Y+2*edge+strip), p.length(size.X+2*edge+side)
	upright := lay(r2.Vec{X: p.Width, Y: tall}, r2.Vec{X: across, Y: along}, r2.Vec{X: barOf(p.Width), Y: p.barAlong(tall)})
	turned := lay(r2.Vec{X: wide, Y: p.Width}, r2.Vec{X: along, Y: across}, r2.Vec{X: p.barAlong(wide), Y: barOf(p.Width)})
	k := newInk(d.Layers)
	upright.cover(d, k)
	turned.cover(d, k)
	best := turned
	if a, b := len(upright.tiles), len(turned.tiles); a < b || a == b && tall < wide && p.Height == 0 {
		best = upright
	}
	if len(best.tiles) > mostSheets {
		return nil, fmt.Errorf("drawing %q would take %d sheets of %s paper", d.Title, len(best.tiles), p.Name)
	}
	return best, nil
}

// length returns the long side of a sheet: that of the paper, or what is needed of a roll.
func (p Page) length(needed float64) float64 {
	if p.Height > 0 {
		return p.Height
	}
	return math.Min(rollMost, math.Max(rollLeast, math.Ceil(needed*(1+trust))))
}

// barAlong returns the nominal length of the bar along the long side.
func (p Page) barAlong(length float64) float64 {
	if p.Height == 0 {
		return rollBarOf(length)
	}
	return barOf(length)
}

// lay makes the layout of one sheet of the size sheet mm, as it lies. The size is rounded to whole points, as
// is usual for PDF: a program that counts pages in whole points shrinks an exact A4 by one part in 800.
func lay(sheet, scale, bars r2.Vec) *layout {
	const pt = 25.4 / 72
	sheet = r2.Vec{X: pt * math.Round(sheet.X/pt), Y: pt * math.Round(sheet.Y/pt)}
	l := &layout{scale: scale, bars: bars, paper: r2.Vec{X: sheet.X / scale.X, Y: sheet.Y / scale.Y}}
	l.window = box{
		r2.Vec{X: edge + side, Y: edge + strip},
		r2.Vec{X: l.paper.X - edge, Y: l.paper.Y - edge},
	}
	l.step = r2.Sub(r2.Sub(l.window.hi, l.window.lo), r2.Vec{X: overlap, Y: overlap})
	return l
}

// cover spreads the drawing over as many sheets as it takes, in the middle of them, and leaves out sheets
// that would stay empty.
func (l *layout) cover(d *Drawing, k *ink) {
	l.ink = k
	size := d.size()
	l.cols = int(math.Max(1, math.Ceil((size.X-overlap)/l.step.X-1e-9)))
	l.rows = int(math.Max(1, math.Ceil((size.Y-overlap)/l.step.Y-1e-9)))
	slack := r2.Vec{
		X: float64(l.cols)*l.step.X + overlap - size.X,
		Y: float64(l.rows)*l.step.Y + overlap - size.Y,
	}
	l.origin = r2.Sub(d.Min, r2.Scale(0.5, slack))
	for row := range l.rows {
		for col := range l.cols {
			t := tile{row, col, l.corner(row, col)}
			if l.inked(t) {
				l.tiles = append(l.tiles, t)
			}
		}
	}
}

// corner returns the drawing coordinates of the lower left corner of the window of the sheet in a row from
// the top and a column from the left.
func (l *layout) corner(row, col int) r2.Vec {
	return r2.Vec{
		X: l.origin.X + float64(col)*l.step.X,
		Y: l.origin.Y + float64(l.rows-1-row)*l.step.Y,
	}
}

// inked tells whether a sheet lies within the bounds of any element: inside a large outline it does, so no
// sheet is missing that its neighbours are joined to.
func (l *layout) inked(t tile) bool {
	return l.ink.in(box{t.lo, r2.Add(t.lo, r2.Sub(l.window.hi, l.window.lo))})
}

// printed returns the place of a sheet among those that are printed, from 0, or -1.
func (l *layout) printed(row, col int) int {
	for i, t := range l.tiles {
		if t.row == row && t.col == col {
			return i
		}
	}
	return -1
}

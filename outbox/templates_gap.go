package outbox

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
)

// gapNow is what lies between the skin as scanned and the finished surface at one place.
type gapNow struct {
	depth float64 // mm to fill; negative stands proud
	u     float64 // mm, k = 2
	seen  bool
}

// gapsAt returns how the skin lies under the finished surface at a station, by the share of the outline's
// arc: from the traces at the tip rib, and from the nearest row of the filler map inboard of it.
func gapsAt(r *fit.Result, station float64) func(share float64) gapNow {
	var arc []float64
	var gaps []gapNow
	m := &r.Map
	row := -1
	for i, st := range m.Station {
		if row < 0 || math.Abs(st-station) < math.Abs(m.Station[row]-station) {
			row = i
		}
	}
	switch {
	case station == 0:
		for _, t := range r.Sections {
			arc = append(arc, t.Arc)
			gaps = append(gaps, gapNow{t.Target - (t.Departure.Value - t.Turn), t.Departure.U, t.Seen})
		}
	case row >= 0 && math.Abs(m.Station[row]-station) < mapReach:
		arc = m.Arc
		for j := range m.Arc {
			k := row*len(m.Arc) + j
			gaps = append(gaps, gapNow{m.Depth[k], m.U[k], m.Seen[k]})
		}
	}
	length := m.Length
	return func(share float64) gapNow {
		if len(arc) == 0 || !(length > 0) {
			return gapNow{}
		}
		j := sort.SearchFloat64s(arc, share*length)
		if j == len(arc) || j > 0 && share*length-arc[j-1] < arc[j]-share*length {
			j--
		}
		return gaps[j]
	}
}

// mapReach is how far, mm, a row of the filler map may lie from a gauge that takes its figures.
const mapReach = 20.0

// figures prints along the edge what a feeler should find there before filling: the gap to the skin, or how
// far it stands under a foot. What the scan cannot tell is a question mark.
func (g *gauge) figures(h gaugeHalf, foot []bool) {
	l := g.d.On("GAPS", draw.Pen{Width: 0.18})
	for _, i := range g.places(h) {
		g.figure(l, h, i, foot[i])
	}
}

// places returns the points of the skin that get a figure: one under each foot, and others gaugeMarks apart,
// clear of the feet's ends, of the lines across the board and of its tail.
func (g *gauge) places(h gaugeHalf) []int {
	const aside = 7.0
	lines := g.crossLines()
	out := []int{int(gaugeFoot / 2 / h.step), h.nearest(g.spar - aside)}
	every := int(math.Round(gaugeMarks / h.step))
	for i := every * 3 / 4; i < len(h.skin); i += every {
		k := i
		for k < len(h.skin)-1 && (float64(k)*h.step < gaugeFoot+aside || math.Abs(h.skin[k].X-lines[0]) < gaugeFoot/2+aside ||
			math.Abs(h.skin[k].X-lines[len(lines)-1]) < aside) {
			k++
		}
		if h.skin[len(h.skin)-1].X-h.skin[k].X > aside && (len(out) == 2 || k-out[len(out)-1] > every/2) {
			out = append(out, k)
		}
	}
	return out
}

// nearest returns the point of the skin that is nearest to x.
func (h gaugeHalf) nearest(x float64) int {
	at := 0
	for i, p := range h.skin {
		if math.Abs(p.X-x) < math.Abs(h.skin[at].X-x) {
			at = i
		}
	}
	return at
}

// figure prints the figure of one point of the skin.
func (g *gauge) figure(l *draw.Layer, h gaugeHalf, i int, foot bool) {
	p, out, from := h.skin[i], h.outward(i), gaugeRelief
	if foot {
		from = 0
	}
	l.Add(draw.Line{A: g.at(r2.Add(p, r2.Scale(from, out))), B: g.at(r2.Add(p, r2.Scale(from+4, out)))})
	at := g.at(r2.Add(p, r2.Scale(from+5.5+lettering/2, out)))
	l.Add(draw.Text{At: r2.Sub(at, r2.Vec{Y: lettering / 2}), Height: lettering, Anchor: draw.Middle, Words: gapWords(g.gap(h.share[i]), from)})
}

// gapWords writes the gap expected before filling, with one decimal; brackets mark a place whose gap does not
// differ from the finished one by more than its uncertainty.
func gapWords(now gapNow, finished float64) string {
	switch {
	case !now.seen || math.IsNaN(now.depth):
		return "?"
	case math.Abs(now.depth) <= now.u:
		return "(" + fixed(finished, 1) + ")"
	}
	return fixed(finished+now.depth, 1)
}

// words says on the board itself what it is.
func (g *gauge) words(h gaugeHalf, back float64) {
	left := g.legend(h)
	for _, r := range g.rooms(h, back) {
		left = set(g.d.On("WORDS", draw.Pen{Width: 0.25}), left, r)
	}
	if len(left) > 0 {
		g.d.Notes = append(g.d.Notes, draw.Note{Heading: h.name + " gauge", Lines: wordsOf(left)})
	}
}

func (g *gauge) legend(h gaugeHalf) []paragraph {
	text := func(format string, a ...any) paragraph { return paragraph{lettering, fmt.Sprintf(format, a...)} }
	side := strings.ToUpper(g.result.Survey.Side.String())
	out := []paragraph{
		{4, fmt.Sprintf("%s gauge, %s wing, station %s", h.name, side, fixed(g.template.Station, 0))},
		text("This face looks OUTBOARD. Cut to the solid line and stand it on the feet at nose and spar line."),
		text("Done when a %s mm shank just slides everywhere. Figures: gap expected before filling; in brackets: as good as done; ?: not seen.", fixed(gaugeRelief, 0)),
		text("Edge = finished surface, no offset, ± %s mm (k = 2).", upTo(g.template.U, 2)),
	}
	for _, s := range stamp(g.result, g.sheet, g.id) {
		out = append(out, text("%s", s))
	}
	return out
}

// rooms returns the free rectangles between the figures and the straight back, aft of the spar line, from
// left to right on paper.
func (g *gauge) rooms(h gaugeHalf, back float64) []room {
	const wide, gap, least, clear = 120.0, 8.0, 70.0, gaugeRelief + 5.5 + lettering + 2
	hinge := math.Inf(1)
	if lines := g.crossLines(); len(lines) > 1 {
		hinge = lines[1] - 24 // its name stands before it
	}
	var out []room
	end := math.Min(hinge, h.skin[len(h.skin)-1].X-10)
	for from := g.spar + 5; end-from >= least; from += wide + gap {
		to := math.Min(end, from+wide)
		high := math.Inf(-1)
		for _, p := range h.skin {
			if p.X >= from-3 && p.X <= to+3 {
				high = math.Max(high, h.out*p.Y)
			}
		}
		a, b := g.at(r2.Vec{X: from, Y: h.out * (high + clear)}), g.at(r2.Vec{X: to, Y: back - h.out*3})
		out = append(out, room{r2.Vec{X: math.Min(a.X, b.X), Y: math.Min(a.Y, b.Y)}, r2.Vec{X: math.Max(a.X, b.X), Y: math.Max(a.Y, b.Y)}})
	}
	if g.sign < 0 {
		slices.Reverse(out)
	}
	return out
}

func wordsOf(p []paragraph) []string {
	var out []string
	for _, q := range p {
		out = append(out, q.words)
	}
	return out
}

// notes say how the gauge is used.
func (g *gauge) notes() []draw.Note {
	where := fmt.Sprintf("Draw the station on the skin, %s mm inboard of the tip rib and parallel to it, and hold the gauge upright on that line, "+
		"this face outboard.", fixed(g.template.Station, 0))
	if g.template.Station == 0 {
		where = "Hold the gauge upright at the end of the skin, parallel to the tip rib, this face outboard."
	}
	notes := append(g.d.Notes, draw.Note{Heading: "Use", Lines: []string{
		"Glue the print onto thin board and cut to the solid line; the upper and the lower half are two boards. " + where,
		fmt.Sprintf("The edge stands %s mm off the finished surface (dashed) except at the feet. A figure under a foot is what the skin lies low there "+
			"now: fill that place first, or shim it by so much.", fixed(gaugeRelief, 0)),
	}})
	if g.result.Survey.Loft.Hinge > 0 {
		notes = append(notes, draw.Note{Heading: "Aft of the hinge line", Lines: []string{
			"The gauge shows the aileron at the designer's neutral. Put no filler or paint on the aileron unless it is balanced again to the " +
				"designer's figure: added weight or a thicker trailing edge can bring flutter.",
		}})
	}
	return append(notes, draw.Note{Heading: "Cautions", Lines: []string{
		"Wear a fitted respirator when sanding. Do not sand into the structure.",
		"tipwright measures shape only and says nothing on strength, flutter or legality.",
	}})
}

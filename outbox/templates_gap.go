package outbox

import (
	"fmt"
	"math"
	"sort"

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
			gaps = append(gaps, gapNow{t.Target - t.Departure.Value, t.Departure.U, t.Seen})
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
	every := int(math.Round(gaugeMarks / gaugeStep))
	for i := every / 2; i < len(h.skin); i += every {
		p, out := h.skin[i], h.outward(i)
		from := 0.0
		if !foot[i] {
			from = gaugeRelief
		}
		l.Add(draw.Line{A: g.at(r2.Add(p, r2.Scale(from, out))), B: g.at(r2.Add(p, r2.Scale(from+4, out)))})
		at := g.at(r2.Add(p, r2.Scale(from+5.5+lettering/2, out)))
		l.Add(draw.Text{At: r2.Sub(at, r2.Vec{Y: lettering / 2}), Height: lettering, Anchor: draw.Middle, Words: gapWords(g.gap(h.share[i]), from)})
	}
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
	l := g.d.On("WORDS", draw.Pen{Width: 0.25})
	text := func(format string, a ...any) paragraph { return paragraph{lettering, fmt.Sprintf(format, a...)} }
	side := g.result.Survey.Side
	words := []paragraph{
		{4, fmt.Sprintf("%s gauge, %s wing, station %s", h.name, map[string]string{"left": "LEFT", "right": "RIGHT"}[side.String()], fixed(g.template.Station, 0))},
		text("%s. This face looks OUTBOARD. Finished surface ± %s mm (k = 2). %s", aircraftName(g.sheet, g.id), upTo(g.template.U, 2), signature(g.id)),
		text("Stand it on the feet at nose and spar line. Done when a %s mm shank just slides everywhere. Figures: gap expected before filling; in brackets: as good as done; ?: not seen.", fixed(gaugeRelief, 0)),
	}
	from, to := g.spar+12, 0.74*h.skin[len(h.skin)-1].X
	high := 0.0
	for _, p := range h.skin {
		if p.X > from {
			high = math.Max(high, h.out*p.Y)
		}
	}
	z := [2]float64{h.out * (high + gaugeRelief + 10), back - h.out*3}
	r := room{r2.Vec{X: from, Y: math.Min(z[0], z[1])}, r2.Vec{X: to, Y: math.Max(z[0], z[1])}}
	if g.sign < 0 {
		r.lo.X, r.hi.X = -to, -from
	}
	if left := set(l, words, r); len(left) > 0 {
		g.d.Notes = append(g.d.Notes, draw.Note{Heading: h.name + " gauge", Lines: wordsOf(left)})
	}
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
		"Glue the print onto thin board and cut to the solid line; upper and lower half part along the line ahead of the nose. " + where,
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

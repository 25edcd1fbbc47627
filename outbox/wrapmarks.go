package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
)

// on takes loops over mm from the nose and station to the paper.
func (w *wrapSheet) on(loops [][]r2.Vec) [][]r2.Vec {
	return mapped(loops, func(q r2.Vec) r2.Vec { return w.at(q.X, q.Y) })
}

// contours draws the lines of equal depth and height.
func (w *wrapSheet) contours() {
	if len(w.depth.values) == 0 {
		return
	}
	low := w.d.On("DEPTH", draw.Pen{Width: 0.25, Ink: draw.Ink{R: 0x1f, G: 0x5f, B: 0x9a}})
	low.Key = "equal depth, mm"
	w.levels(low, w.depth, w.lows, "")
	if len(w.highs) == 0 {
		return
	}
	high := w.d.On("HEIGHT", draw.Pen{Width: 0.25, Dash: []float64{4, 1.2}, Ink: draw.Ink{R: 0xa0, G: 0x55, B: 0x10}})
	high.Key = "equal height above the finished surface, mm"
	raised := field{w.depth.x, w.depth.y, make([]float64, len(w.depth.values))}
	for k, d := range w.depth.values {
		raised.values[k] = -d
	}
	w.levels(high, raised, w.highs, "+")
}

func (w *wrapSheet) levels(l *draw.Layer, f field, levels []float64, sign string) {
	for _, level := range levels {
		for _, loop := range w.on(f.above(level)) {
			l.Add(draw.Path{Points: loop, Closed: true})
			w.levelFigure(l, loop, sign+levelText(level))
		}
	}
}

// levelFigure writes a level at the top of its loop, if that is large enough and the place is free.
func (w *wrapSheet) levelFigure(l *draw.Layer, loop []r2.Vec, text string) {
	lo, hi := extentOf(loop)
	if hi.X-lo.X < 12 || hi.Y-lo.Y < 12 {
		return
	}
	at := loop[0]
	for _, q := range loop {
		if q.Y > at.Y {
			at = q
		}
	}
	at.Y += 0.8
	if b := wordsBox(at, wrapSmall, draw.Middle, text); w.clear(b) {
		w.words = append(w.words, b)
		l.Add(draw.Text{At: at, Height: wrapSmall, Anchor: draw.Middle, Words: text})
	}
}

// unknown hatches what no scan shows and dots where the scan cannot tell.
func (w *wrapSheet) unknown() {
	if len(w.seen.values) == 0 {
		return
	}
	not := field{w.seen.x, w.seen.y, make([]float64, len(w.seen.values))}
	for k, v := range w.seen.values {
		not.values[k] = 1 - v
	}
	if loops := w.on(not.above(0.5)); len(loops) > 0 {
		l := w.d.On("NOT_SEEN", draw.Pen{Width: 0.13})
		l.Key = "not seen by the scan"
		for _, loop := range loops {
			l.Add(draw.Path{Points: loop, Closed: true})
		}
		for _, h := range hatch(loops, 6) {
			l.Add(draw.Line{A: h[0], B: h[1]})
		}
	}
	if loops := w.on(w.told.above(1e-9)); len(loops) > 0 {
		l := w.d.On("NOT_TOLD", draw.Pen{Width: 0.13})
		l.Key = "too few points to tell"
		for _, dot := range dots(loops, 10, 0.7) {
			l.Add(draw.Path{Points: dot, Closed: true})
		}
	}
}

// marks draws the edges of the spots, which are to be marked through, with number, depth and filler.
func (w *wrapSheet) marks() {
	for i, s := range w.res.LowSpots {
		w.mark(s, fmt.Sprintf("L%d", i+1), true)
	}
	for i, s := range w.res.HighSpots {
		w.mark(s, fmt.Sprintf("H%d", i+1), false)
	}
}

func (w *wrapSheet) mark(s fit.Spot, name string, low bool) {
	if s.Surface != w.surface || len(s.Outline) < 3 {
		return
	}
	nose := w.res.Map.NoseArc
	loop := make([]r2.Vec, len(s.Outline))
	for i, q := range s.Outline {
		loop[i] = w.at(math.Abs(q.X-nose), math.Min(math.Max(q.Y, 0), w.band))
	}
	edge := w.d.On("SPOT_EDGE", draw.Pen{Width: 0.6, Dash: []float64{5, 2}})
	edge.Key = "edge of a spot: mark it through"
	edge.Add(draw.Path{Points: loop, Closed: true})
	c := w.at(math.Abs(s.Arc-nose), math.Min(math.Max(s.Station, 0), w.band))
	deepest := w.d.On("DEEPEST", draw.Pen{Width: 0.35})
	deepest.Key = "deepest or highest point of a spot"
	deepest.Add(draw.Line{A: r2.Sub(c, vec(4, 0)), B: r2.Add(c, vec(4, 0))}, draw.Line{A: r2.Sub(c, vec(0, 4)), B: r2.Add(c, vec(0, 4))})
	lo, hi := extentOf(loop)
	w.label(c, lo, hi, name, name+": "+spotWords(s, low))
}

// label sets a spot's words beside its cross or outside its edge, where there is room.
func (w *wrapSheet) label(c, lo, hi r2.Vec, name, text string) {
	w.say("NUMBERS", r2.Add(c, vec(3, 3)), wrapText, draw.Start, name)
	middle := (lo.X + hi.X) / 2
	for _, at := range []r2.Vec{vec(middle, lo.Y-wrapText-3), vec(middle, hi.Y+5), vec(middle, lo.Y+4), vec(middle, c.Y-10)} {
		if at.Y > 14 && w.clear(wordsBox(at, wrapText, draw.Middle, text)) {
			w.say("NUMBERS", at, wrapText, draw.Middle, text)
			return
		}
	}
	w.say("NUMBERS", vec(middle, c.Y-10), wrapText, draw.Middle, text)
}

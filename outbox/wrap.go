package outbox

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// wrapSheet is the filler map of one skin at full size while it is drawn: paper to tape on the wing, print
// outward, and to mark through. Inboard is up.
type wrapSheet struct {
	*skinPanel
	v     *development
	sign  float64 // +1: aft is to the right on paper
	d     *draw.Drawing
	sheet *sheet.Sheet
	id    Identity
	words []r2.Box // that are placed already
}

const (
	wrapText  = 4.0 // mm, height of capitals
	wrapSmall = 2.8
)

// wrapName returns the name of a skin's wrap sheet, without its ending.
func wrapName(surface fit.Surface) string { return "wrap-" + string(surface) }

// wrapDrawings returns the wrap sheet of every skin on which there is something to mark: spots, or with the
// nominal for target whatever lies below it.
func wrapDrawings(r *fit.Result, s *sheet.Sheet, id Identity) []NamedDrawing {
	if len(r.Map.Arc) < 2 || len(r.Map.Station) == 0 || r.Survey.Side == section.NoSide {
		return nil
	}
	var out []NamedDrawing
	for _, surface := range []fit.Surface{fit.Upper, fit.Lower} {
		m := &mapSheet{res: r, right: r.Survey.Side == section.Right}
		m.measure()
		w := &wrapSheet{skinPanel: m.panel(surface), sheet: s, id: id}
		if !s.TargetNominal && !w.spotted() {
			continue
		}
		w.v = newDevelopment(r.Survey, surface, w.band)
		w.sign = wrapSign(r.Survey.Side, surface)
		out = append(out, NamedDrawing{wrapName(surface), w.drawing()})
	}
	return out
}

// wrapSign returns +1 if aft is to the right on the paper. Whoever looks at a left wing's upper skin from
// outside with inboard, +Y, up on the paper looks along -Z, and his right hand is (-Z) × Y = X: aft. Under
// the wing, or on the other wing, it is the other hand.
func wrapSign(side section.Side, surface fit.Surface) float64 {
	sign := side.Inboard()
	if surface == fit.Lower {
		sign = -sign
	}
	return sign
}

// spotted reports whether the skin has a spot to mark.
func (w *wrapSheet) spotted() bool {
	for _, list := range [][]fit.Spot{w.res.LowSpots, w.res.HighSpots} {
		for _, s := range list {
			if s.Surface == w.surface && len(s.Outline) > 2 {
				return true
			}
		}
	}
	return false
}

// at takes a place on the skin, mm from the nose round the skin at station 0 and station, to the paper.
func (w *wrapSheet) at(fromNose, station float64) r2.Vec {
	p := w.v.place(fromNose, station)
	return r2.Vec{X: w.sign * p.X, Y: p.Y}
}

func (w *wrapSheet) drawing() *draw.Drawing {
	w.d = &draw.Drawing{
		Title:  sheetTitle(w.res, w.sheet, w.id, fmt.Sprintf("wrap sheet, %s skin", w.surface)),
		Origin: "nose at the tip rib; x along the tip edge, y inboard, on the developed skin",
	}
	w.edges()
	w.rulers()
	w.contours()
	w.unknown()
	w.marks()
	w.legend()
	n := w.v.length()
	w.d.Controls = []draw.Control{
		{Name: "tip edge, nose to trailing edge", A: w.at(0, 0), B: w.at(n, 0)},
		{Name: "diagonal, nose at the tip to trailing edge inboard", A: w.at(0, 0), B: w.at(n, w.band)},
	}
	w.d.Notes = w.notes()
	w.d.Fit(4)
	return w.d
}

// edges draws the skin's rim and the hinge line.
func (w *wrapSheet) edges() {
	n := w.v.length()
	rim := w.d.On("SKIN_EDGE", draw.Pen{Width: 0.5})
	rim.Key = "edge of the skin: tip edge, nose, trailing edge"
	var tip, in []r2.Vec
	for d := 0.0; d < n; d += 4 {
		tip, in = append(tip, w.at(d, 0)), append(in, w.at(d, w.band))
	}
	tip, in = append(tip, w.at(n, 0)), append(in, w.at(n, w.band))
	rim.Add(draw.Path{Points: tip}, draw.Line{A: w.at(0, 0), B: w.at(0, w.band)}, draw.Line{A: w.at(n, 0), B: w.at(n, w.band)})
	band := w.d.On("BAND_EDGE", draw.Pen{Width: 0.25, Dash: []float64{6, 3}})
	band.Key = "how far inboard was looked"
	band.Add(draw.Path{Points: in})
	if arc, ok := w.hingeArc(); ok {
		d := math.Abs(arc - w.res.Map.NoseArc)
		l := w.d.On("REFERENCE", draw.Pen{Width: 0.25, Dash: []float64{12, 2, 2, 2}})
		l.Key = "hinge line"
		l.Add(draw.Line{A: w.at(d, 0), B: w.at(d, w.band)})
		w.say("WORDS", w.at(d+5, w.band-8), wrapSmall, w.aftwards(), "hinge line")
	}
}

// aftwards is the anchor of words that run aft from their point.
func (w *wrapSheet) aftwards() draw.Anchor {
	if w.sign < 0 {
		return draw.End
	}
	return draw.Start
}

// hingeArc returns the arc of the hinge line on this skin.
func (p *skinPanel) hingeArc() (float64, bool) {
	arc := p.res.Map.HingeArc[0]
	if p.surface == fit.Lower {
		arc = p.res.Map.HingeArc[1]
	}
	return arc, !math.IsNaN(arc) && arc > 0
}

// rulers draws figures along the tip edge, the nose and the tail, and crosses to check the lie by.
func (w *wrapSheet) rulers() {
	l := w.d.On("RULERS", draw.Pen{Width: 0.18})
	n := w.v.length()
	for d := 0.0; d <= n; d += 10 {
		long := 3.0
		if math.Mod(d, 50) == 0 {
			long = 6
		}
		if long > 3 && d > 0 && d < n-10 {
			w.say("FIGURES", w.at(d, 8), wrapSmall, draw.Middle, fixed(d, 0))
		}
		l.Add(draw.Line{A: w.at(d, 0), B: w.at(d, long)})
	}
	for st := 10.0; st <= w.band; st += 10 {
		long := 3.0
		if math.Mod(st, 50) == 0 {
			long = 6
		}
		if long > 3 && st < w.band-5 {
			w.say("FIGURES", r2.Sub(w.at(8, st), vec(0, wrapSmall/2)), wrapSmall, w.aftwards(), fixed(st, 0))
		}
		l.Add(draw.Line{A: w.at(0, st), B: w.at(long, st)}, draw.Line{A: w.at(n, st), B: w.at(n-long, st)})
	}
	crosses := w.d.On("CROSSES", draw.Pen{Width: 0.13})
	crosses.Key = "every 100 mm from the nose and from the tip"
	for d := 100.0; d < n; d += 100 {
		for st := 100.0; st < w.band; st += 100 {
			crosses.Add(draw.Line{A: w.at(d-3, st), B: w.at(d+3, st)}, draw.Line{A: w.at(d, st-3), B: w.at(d, st+3)})
		}
	}
}

// say sets words and remembers where, so that the next ones keep clear.
func (w *wrapSheet) say(layer string, at r2.Vec, height float64, anchor draw.Anchor, words string) {
	l := w.d.On(layer, draw.Pen{Width: 0.25})
	l.Add(draw.Text{At: at, Height: height, Anchor: anchor, Words: words})
	w.words = append(w.words, wordsBox(at, height, anchor, words))
}

func wordsBox(at r2.Vec, height float64, anchor draw.Anchor, words string) r2.Box {
	n := draw.Width(words, height)
	left := at.X - n*float64(anchor)/2
	return r2.Box{Min: vec(left-1, at.Y-1), Max: vec(left+n+1, at.Y+height+1)}
}

func (w *wrapSheet) clear(b r2.Box) bool {
	for _, o := range w.words {
		if b.Min.X < o.Max.X && b.Max.X > o.Min.X && b.Min.Y < o.Max.Y && b.Max.Y > o.Min.Y {
			return false
		}
	}
	return true
}

// legend says what the sheet is and how it lies.
func (w *wrapSheet) legend() {
	lines := []string{
		fmt.Sprintf("%s SKIN, %s WING: %s", strings.ToUpper(string(w.surface)), strings.ToUpper(w.res.Survey.Side.String()), aircraftName(w.sheet, w.id)),
		"This side out, inboard up: the lower edge is the tip edge.",
		"Figures along it: mm from the nose, round the skin.",
		"Depths in mm. " + signature(w.id),
	}
	for i, text := range lines {
		height := wrapSmall
		if i == 0 {
			height = wrapText
		}
		w.say("WORDS", w.at(30, w.band-12-6*float64(i)), height, w.aftwards(), text)
	}
	n := w.v.length()
	w.say("WORDS", w.at(12, w.band/2+10), wrapText, w.aftwards(), "NOSE")
	end := draw.End
	if w.sign < 0 {
		end = draw.Start
	}
	w.say("WORDS", w.at(n-12, w.band/2+10), wrapText, end, "TRAILING EDGE")
	w.say("WORDS", w.at(n/2, 16), wrapText, draw.Middle, "TIP EDGE")
}

func (w *wrapSheet) notes() []draw.Note {
	return []draw.Note{
		{Heading: "Use", Lines: []string{
			"Join the sheets and cut along the tip edge, the nose and the trailing edge. Lay the paper on the skin, print outward, inboard end away from the tip.",
			"Bring the tip edge to the outer face of the tip rib and the trailing edge of the paper to the wing's: the paper then ends at the nose. " +
				"Where the nose is hard to tell, go by the trailing edge. Check a cross or two with a tape, and tape the paper down.",
			"Prick or rub the edge of each spot through, number it, and take the paper off before you fill.",
			"The paper is the skin of the drawing's section rolled out. A wing that is a millimetre fuller or leaner at the nose moves a spot by about as much.",
		}},
		{Heading: "Filler", Lines: []string{
			"Filler and sanding dust: a respirator that fits. Put no filler on an aileron without balancing it again to the designer's figure.",
			fmt.Sprintf("A low spot 100 mm wide and less than %s mm deep cannot be told from the scan's noise. Where nothing is drawn no more than that is known.",
				upTo(w.res.DetectionLimit, 2)),
		}},
	}
}

package outbox

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// Check gauges, all by common practice, no source.
const (
	gaugeRelief = 3.0   // mm between the gauge's edge and the finished surface, but for the feet
	gaugeFoot   = 20.0  // mm along the surface
	gaugeBack   = 35.0  // mm of board behind the outermost point of the surface
	gaugeFront  = 25.0  // mm of board ahead of the nose
	gaugeStep   = 1.0   // mm from point to point of the edge, less where the nose is sharp
	gaugeSag    = 0.004 // mm that a step may cut off the curve
	gaugeThin   = 0.001 // mm that may be added to it where the skin is so flat that points can be left out
	gaugeMarks  = 40.0  // mm of arc between figures, about
	gaugeApart  = 8.0   // mm between the two boards on paper: a cutter of 1/4 in passes between them
)

// gauge is the drawing of one pair of check gauges, for the upper and the lower skin at one station, in the
// making. Each half stands on the skin with two feet, at the nose and at the spar line, whose edges are the
// finished surface itself; everywhere else its edge keeps gaugeRelief off it, so that a high spot cannot lift
// the gauge unseen, and a drill shank of that size tells when the filler is right. It is printed for the
// outboard face.
type gauge struct {
	template fit.Template
	result   *fit.Result
	sheet    *sheet.Sheet
	id       Identity
	sign     float64
	spar     float64 // x of the spar line's foot: the deepest point
	drop     float64 // mm that the half being drawn lies lower on paper than in the section
	gap      func(share float64) gapNow
	d        *draw.Drawing
}

// gaugeDrawings returns the check gauges of every station that the result has one for.
func gaugeDrawings(r *fit.Result, s *sheet.Sheet, id Identity) ([]NamedDrawing, error) {
	var out []NamedDrawing
	for _, t := range r.Gauges {
		g := &gauge{template: t, result: r, sheet: s, id: id, gap: gapsAt(r, t.Station)}
		if err := g.make(); err != nil {
			return nil, fmt.Errorf("%s: %w", t.Name, err)
		}
		out = append(out, NamedDrawing{t.Name, g.d})
	}
	return out, nil
}

func (g *gauge) make() error {
	if g.result.Survey.Side == section.NoSide {
		return errors.New("which side it belongs to is not known")
	}
	o, err := newBlockOutline(g.template.Outline)
	if err != nil {
		return err
	}
	g.sign = paperSign(g.result.Survey.Side, facesOutboard)
	g.spar = o.deepX
	g.d = &draw.Drawing{
		Title: sheetTitle(g.result, g.sheet, g.id, "check gauges at station "+fixed(g.template.Station, 0)+" mm"),
		Origin: "leading edge of the tip rib's section, on the chord line; x aft, z up; the lower gauge lies " +
			fixed(gaugeApart, 0) + " mm lower",
	}
	for _, upper := range []bool{true, false} {
		g.drop = gaugeApart
		if upper {
			g.drop = 0
		}
		g.half(g.newHalf(upper))
	}
	g.d.Notes = g.notes()
	g.d.Fit(4)
	return nil
}

// gaugeHalf is the skin that one half lies on.
type gaugeHalf struct {
	name  string
	out   float64  // +1 upper, -1 lower: the sense of z away from the wing
	step  float64  // mm from point to point of the skin
	skin  []r2.Vec // the finished surface from the foremost point to the tail
	share []float64
}

// newHalf samples the finished surface from its foremost point, where it stands upright, so that both halves
// come off the wing and still fix the gauge fore and aft.
func (g *gauge) newHalf(upper bool) gaugeHalf {
	p := g.template.Outline
	front := 0
	for i, q := range p {
		if q.X < p[front].X {
			front = i
		}
	}
	whole := lengthOf(p)
	ahead := lengthOf(p[:front+1]) / whole
	h := gaugeHalf{name: "UPPER", out: 1}
	line, sign := reversed(p[:front+1]), -1.0
	if !upper {
		h.name, h.out = "LOWER", -1
		line, sign = p[front:], 1
	}
	h.step, h.skin = finely(line)
	length := lengthOf(line)
	for i := range h.skin {
		h.share = append(h.share, ahead+sign*length/whole*float64(i)/float64(len(h.skin)-1))
	}
	return h
}

// finely returns points along a line at equal steps, gaugeStep long or shorter by as much as it takes to keep
// to the curve.
func finely(line []r2.Vec) (step float64, out []r2.Vec) {
	for step = gaugeStep; ; step /= 2 {
		out = stepped(line, step)
		if step < gaugeStep/16 || sag(line, out) <= gaugeSag {
			return step, out
		}
	}
}

// sag returns how far a line's points lie beside the straight steps that stand for it, mm: both run from the
// same point at the same pace.
func sag(line, steps []r2.Vec) (worst float64) {
	k, run, at := 1, 0.0, 0.0
	for i := 1; i < len(line); i++ {
		run += r2.Norm(r2.Sub(line[i], line[i-1]))
		for k < len(steps)-1 && at+r2.Norm(r2.Sub(steps[k], steps[k-1])) < run {
			at += r2.Norm(r2.Sub(steps[k], steps[k-1]))
			k++
		}
		d := r2.Sub(steps[k], steps[k-1])
		worst = math.Max(worst, math.Abs(r2.Cross(d, r2.Sub(line[i], steps[k-1])))/math.Max(1e-9, r2.Norm(d)))
	}
	return worst
}

// half draws one half: the board's outline, the finished surface, figures, words.
func (g *gauge) half(h gaugeHalf) {
	edge, feet := h.edge(g.spar)
	back := 0.0
	for _, p := range h.skin {
		back = math.Max(back, h.out*p.Y)
	}
	back = h.out * (back + gaugeBack)
	nose, tail := edge[0], edge[len(edge)-1]
	board := append(fewer(edge, gaugeThin), r2.Vec{X: tail.X, Y: back}, r2.Vec{X: nose.X - gaugeFront, Y: back}, r2.Vec{X: nose.X - gaugeFront, Y: nose.Y})
	cut := g.d.On("GAUGE_EDGE", draw.Pen{Width: 0.35})
	cut.Key = "cut to this line"
	cut.Add(draw.Path{Points: g.all(board), Closed: true})
	finished := g.d.On("FINISHED_SURFACE", draw.Pen{Width: 0.18, Dash: []float64{4, 2}})
	finished.Key = "finished surface of the wing"
	finished.Add(draw.Path{Points: g.all(fewer(h.skin, gaugeThin))})
	g.lines(h, back)
	g.figures(h, feet)
	g.words(h, back)
	g.d.Controls = append(g.d.Controls, draw.Control{
		Name: fmt.Sprintf("%s half, along the straight back", strings.ToLower(h.name)),
		A:    g.at(r2.Vec{X: nose.X - gaugeFront, Y: back}), B: g.at(r2.Vec{X: tail.X, Y: back}),
	})
}

// edge returns the gauge's edge from the foremost point to the tail, and which of its points are feet.
func (h gaugeHalf) edge(spar float64) (edge []r2.Vec, foot []bool) {
	at := h.nearest(spar)
	n := int(math.Round(gaugeFoot / h.step))
	for i, p := range h.skin {
		stands := i <= n || i >= at-n/2 && i <= at+n/2
		foot = append(foot, stands)
		if !stands {
			p = r2.Add(p, r2.Scale(gaugeRelief, h.outward(i)))
		}
		edge = append(edge, p)
	}
	return edge, foot
}

// outward returns the surface's normal away from the wing.
func (h gaugeHalf) outward(i int) r2.Vec {
	a, b := h.skin[max(i-1, 0)], h.skin[min(i+1, len(h.skin)-1)]
	t := r2.Unit(r2.Sub(b, a))
	return r2.Vec{X: -h.out * t.Y, Y: h.out * t.X}
}

// lines draws the spar line and the hinge line across the board.
func (g *gauge) lines(h gaugeHalf, back float64) {
	l := g.d.On("REFERENCE", draw.Pen{Width: 0.18, Dash: []float64{12, 2, 2, 2}})
	l.Key = "spar line, hinge line"
	names := g.d.On("REFERENCE_NAMES", draw.Pen{Width: 0.25})
	mark := func(x float64, name string) {
		i := h.nearest(x)
		l.Add(draw.Line{A: g.at(h.skin[i]), B: g.at(r2.Vec{X: h.skin[i].X, Y: back})})
		at := g.at(r2.Vec{X: h.skin[i].X, Y: back - h.out*(2+lettering)})
		if h.out < 0 {
			at.Y -= lettering
		}
		anchor := draw.Start // the words stand on the side of the nose
		if g.sign > 0 {
			anchor = draw.End
		}
		names.Add(draw.Text{At: r2.Sub(at, r2.Vec{X: 1.5 * g.sign}), Height: lettering, Anchor: anchor, Words: name})
	}
	for i, x := range g.crossLines() {
		mark(x, []string{"spar line x " + fixed(x, 0), "hinge line"}[i])
	}
}

// crossLines returns x of the spar line and, if there is one, of the hinge line.
func (g *gauge) crossLines() []float64 {
	loft := &g.result.Survey.Loft
	if loft.Hinge > 0 {
		return []float64{g.spar, loft.Place(r2.Vec{X: loft.Hinge, Y: loft.HingeZ}, g.template.Station).X}
	}
	return []float64{g.spar}
}

// at takes a point of the section frame to the paper.
func (g *gauge) at(p r2.Vec) r2.Vec { return r2.Sub(onPaper(g.sign, p), r2.Vec{Y: g.drop}) }

func (g *gauge) all(p []r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(p))
	for i, q := range p {
		out[i] = g.at(q)
	}
	return out
}

// lengthOf returns the length of a line, mm.
func lengthOf(p []r2.Vec) (sum float64) {
	for i := 1; i < len(p); i++ {
		sum += r2.Norm(r2.Sub(p[i], p[i-1]))
	}
	return sum
}

func reversed(p []r2.Vec) []r2.Vec {
	out := make([]r2.Vec, 0, len(p))
	for i := len(p) - 1; i >= 0; i-- {
		out = append(out, p[i])
	}
	return out
}

// stepped returns points along a line at equal steps of about the given length, its ends among them.
func stepped(p []r2.Vec, step float64) []r2.Vec {
	whole := lengthOf(p)
	n := max(1, int(math.Round(whole/step)))
	out := make([]r2.Vec, 0, n+1)
	out = append(out, p[0])
	run := 0.0
	for i := 1; i < len(p); i++ {
		piece := r2.Norm(r2.Sub(p[i], p[i-1]))
		for len(out) < n && float64(len(out))*whole/float64(n) <= run+piece {
			f := (float64(len(out))*whole/float64(n) - run) / piece
			out = append(out, r2.Add(r2.Scale(1-f, p[i-1]), r2.Scale(f, p[i])))
		}
		run += piece
	}
	return append(out, p[len(p)-1])
}

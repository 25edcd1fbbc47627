package outbox

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// Each chart is drawn twice, for wide and for narrow screens; the page shows the one that fits.
const (
	wideChart   = 1000.0
	narrowChart = 390.0
)

// tracesOf returns the traces of one skin from the nose aft.
func tracesOf(res *fit.Result, surface fit.Surface) []fit.Trace {
	var out []fit.Trace
	for _, t := range res.Sections {
		if surfaceOf(&res.Survey.Map, t.Arc) == surface {
			out = append(out, t)
		}
	}
	if surface == fit.Upper {
		slices.Reverse(out)
	}
	return out
}

// faired returns the departure of a trace with the aileron turned back to where it continues the wing.
func faired(t *fit.Trace) float64 { return t.Departure.Value - t.Turn }

// departureChart draws the departures of one skin at the tip rib: skin, form, target, and about the form
// what cannot be told from noise. Both skins' charts have the same range.
func departureChart(res *fit.Result, surface fit.Surface, width float64) *picture {
	least, most := -0.2, 0.2
	for i := range res.Sections {
		t := &res.Sections[i]
		for _, v := range []float64{faired(t) - t.Departure.U, t.Form - t.Turn - res.DetectionLimit, t.Target} {
			least = math.Min(least, v)
		}
		for _, v := range []float64{faired(t) + t.Departure.U, t.Form - t.Turn + res.DetectionLimit, t.Target} {
			most = math.Max(most, v)
		}
	}
	c := newChart(fmt.Sprintf("Departures of the %s skin at the tip rib, mm", surface), width, 250, chordOf(res), least, most)
	traces := tracesOf(res, surface)
	pick := func(y func(t *fit.Trace) float64) []sample {
		out := make([]sample, len(traces))
		for i := range traces {
			out[i] = sample{math.Max(traces[i].X, 0), y(&traces[i]), true}
		}
		return out
	}
	form := pick(func(t *fit.Trace) float64 { return t.Form - t.Turn })
	as := pick(faired)
	for i := range as {
		as[i].show = traces[i].Seen
	}
	c.ribbon(shade, 0, form, func(int) float64 { return res.DetectionLimit })
	c.grid(decimalsOf(c.y1 - c.y0))
	c.gaps(as)
	c.ribbon(accent, 0.22, as, func(i int) float64 { return traces[i].Departure.U })
	c.curve(targetTone, 1.6, []float64{7, 4}, pick(func(t *fit.Trace) float64 { return t.Target }))
	c.curve(muted, 1.2, []float64{2, 3}, form)
	c.curve(accent, 2.2, nil, as)
	c.hinge(res)
	c.corner(map[fit.Surface]string{fit.Upper: "Upper skin", fit.Lower: "Lower skin"}[surface])
	return &c.picture
}

// chordOf returns the chord that the charts run over.
func chordOf(res *fit.Result) float64 {
	c := res.Survey.Chord.Value
	for _, t := range res.Sections {
		c = math.Max(c, t.X)
	}
	return math.Max(c, 1)
}

// decimalsOf returns how many decimals the figures of an axis need.
func decimalsOf(span float64) int {
	if tickStep(span, 5) < 0.1 {
		return 2
	}
	return 1
}

// hinge draws the hinge line, if there is an aileron.
func (c *chart) hinge(res *fit.Result) {
	l := &res.Survey.Loft
	if l.Hinge <= 0 {
		return
	}
	a := c.at(l.Hinge*l.Chord, c.y1)
	c.line(muted, 1, a, vec(a.X, c.bottom)).dash = []float64{9, 3, 2, 3}
	c.words(muted, c.size, vec(a.X, c.top-8), middleAt, "hinge")
}

// sectionPicture draws the section at the tip rib with its departures enlarged, as a builder sees it on the
// drawing: nose to the left.
func sectionPicture(res *fit.Result, width float64) *picture {
	p := &picture{title: "The section at the tip rib, departures enlarged", width: width}
	chord := chordOf(res)
	const margin = 14.0
	scale := (width - 2*margin) / chord
	top, bottom, most := 0.0, 0.0, 0.1
	for _, t := range res.Sections {
		top, bottom = math.Max(top, t.Z), math.Min(bottom, t.Z)
		most = math.Max(most, math.Abs(faired(&t)))
	}
	room := math.Max(0.026*width, 18)
	times := 1.0
	for _, k := range []float64{2, 5, 10, 20, 50, 100, 200} {
		if k*most*scale <= room {
			times = k
		}
	}
	const barRoom = 18.0
	p.height = (top-bottom)*scale + 2*room + 2*margin + barRoom
	s := &sectionDrawing{picture: p, scale: scale, origin: vec(margin, margin+room+top*scale), times: times}
	s.draw(res)
	return p
}

// sectionDrawing places the section frame on a picture.
type sectionDrawing struct {
	*picture
	scale  float64
	origin r2.Vec
	times  float64
}

func (s *sectionDrawing) at(x, z float64) r2.Vec {
	return vec(s.origin.X+x*s.scale, s.origin.Y-z*s.scale)
}

func (s *sectionDrawing) draw(res *fit.Result) {
	traces := res.Sections
	if len(traces) < 3 {
		return
	}
	base, moved := make([]r2.Vec, len(traces)), make([]r2.Vec, len(traces))
	for i, t := range traces {
		a, b := traces[max(i-1, 0)], traces[min(i+1, len(traces)-1)]
		along := r2.Unit(vec(b.X-a.X, b.Z-a.Z))
		d := s.times * faired(&t)
		base[i] = s.at(t.X, t.Z)
		moved[i] = s.at(t.X+d*along.Y, t.Z-d*along.X) // the outline runs forward over the top
	}
	chord := res.Survey.Loft.Chord
	s.line(rule, 1, s.at(0, 0), s.at(chord, 0)).dash = []float64{9, 3, 2, 3}
	s.bar()
	for _, side := range []struct {
		t    tone
		sign float64
	}{{low(3), -1}, {high(3), 1}} {
		s.between(side.t, side.sign, traces, base, moved)
	}
	s.line(muted, 1.2, base...)
	for _, seen := range []bool{false, true} {
		for _, r := range runs(seenOf(traces, seen)) {
			m := s.line(ink, 1.8, moved[max(r[0]-1, 0):r[1]]...)
			if !seen {
				m.stroke, m.dash = muted, []float64{4, 3}
			}
		}
	}
	if l := &res.Survey.Loft; l.Hinge > 0 {
		h := s.at(l.Hinge*l.Chord, l.HingeZ*l.Chord)
		s.area(ground, disc(h, 4))
		s.add(mark{loops: [][]r2.Vec{disc(h, 4)}, closed: true, stroke: ink, width: 1.2})
	}
}

// bar draws how large a departure of a round size looks.
func (s *sectionDrawing) bar() {
	const size = 13.0
	length := 0.2
	for _, k := range []float64{0.5, 1, 2, 5, 10} {
		if k*s.times*s.scale <= 26 {
			length = k
		}
	}
	h := length * s.times * s.scale
	x, y := s.width-18, s.height-8-h
	for _, l := range [][]r2.Vec{{vec(x, y), vec(x, y+h)}, {vec(x-4, y), vec(x+4, y)}, {vec(x-4, y+h), vec(x+4, y+h)}} {
		s.line(ink, 1.4, l...)
	}
	s.words(muted, size, vec(x-9, y+h/2+0.35*size), endAt, fmt.Sprintf("%s mm of departure, drawn × %s", fixed(length, 1), fixed(s.times, 0)))
}

// between fills the strips between nominal and skin where the departure has a sign.
func (s *sectionDrawing) between(t tone, sign float64, traces []fit.Trace, base, moved []r2.Vec) {
	var outer, inner []r2.Vec
	flush := func() {
		if len(outer) > 1 {
			slices.Reverse(inner)
			s.area(t, slices.Concat(outer, inner)).alpha = 0.75
		}
		outer, inner = nil, nil
	}
	for i := range traces {
		if faired(&traces[i])*sign <= 0 || !traces[i].Seen {
			flush()
			continue
		}
		outer, inner = append(outer, moved[i]), append(inner, base[i])
	}
	flush()
}

// seenOf marks the traces that were seen, or those that were not.
func seenOf(traces []fit.Trace, seen bool) []sample {
	out := make([]sample, len(traces))
	for i, t := range traces {
		out[i] = sample{t.X, t.Z, t.Seen == seen}
	}
	return out
}

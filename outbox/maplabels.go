package outbox

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// spots outlines, numbers and labels the spots of one skin, as the report's tables do.
func (p *skinPanel) spots() {
	for i, s := range p.res.LowSpots {
		p.spot(s, fmt.Sprintf("L%d", i+1))
	}
	for i, s := range p.res.HighSpots {
		p.spot(s, fmt.Sprintf("H%d", i+1))
	}
}

func (p *skinPanel) spot(s fit.Spot, name string) {
	if s.Surface != p.surface {
		return
	}
	nose := p.res.Map.NoseArc
	c := p.place(math.Abs(s.Arc-nose), math.Min(math.Max(s.Station, 0), p.band))
	const radius = 1.05 * mapSmall
	lo, hi := vec(c.X-radius, c.Y-radius), vec(c.X+radius, c.Y+radius)
	if len(s.Outline) > 2 {
		loop := p.outline(s)
		for _, q := range loop {
			lo, hi = corners(lo, hi, q)
		}
		p.add(mark{loops: [][]r2.Vec{loop}, closed: true, stroke: ink, width: 1.1, dash: []float64{5, 4}})
	}
	p.add(mark{loops: [][]r2.Vec{disc(c, radius)}, closed: true, fill: ground, stroke: ink, width: 1.2})
	p.words(ink, 0.95*mapSmall, vec(c.X, c.Y+0.34*mapSmall), middleAt, name).bold = true
	p.label(c, lo, hi, spotWords(s, name[0] == 'L'))
}

// corners widens the box lo, hi to hold q.
func corners(lo, hi, q r2.Vec) (r2.Vec, r2.Vec) {
	return vec(math.Min(lo.X, q.X), math.Min(lo.Y, q.Y)), vec(math.Max(hi.X, q.X), math.Max(hi.Y, q.Y))
}

// spotWords says what a spot comes to, for the map.
func spotWords(s fit.Spot, isLow bool) string {
	depth := fixed(s.Depth.Value, 1) + " mm"
	switch {
	case isLow && s.Act:
		return depth + " · " + fixed(s.Volume.Value*millilitres, 0) + " ml"
	case isLow:
		return depth + ", leave"
	case s.Act:
		return depth + " high, do not cut"
	}
	return depth + " high, may be sanded"
}

// label writes text beside a spot that reaches from lo to hi and is numbered at c, where it runs over no
// other label and not off the skin.
func (p *skinPanel) label(c, lo, hi r2.Vec, text string) {
	w, h := textWidth(text, mapText), mapText
	places := []struct {
		at    r2.Vec
		where anchor
		x0    float64
	}{
		{vec(hi.X+8, c.Y+0.35*h), startAt, hi.X + 8},
		{vec(lo.X-8, c.Y+0.35*h), endAt, lo.X - 8 - w},
		{vec(c.X, lo.Y-8), middleAt, c.X - w/2},
		{vec(c.X, hi.Y+h+2), middleAt, c.X - w/2},
		{vec(c.X+20, c.Y+0.35*h), startAt, c.X + 20},
	}
	best := places[0]
	for _, t := range places {
		if p.free([4]float64{t.x0, t.at.Y - h, t.x0 + w, t.at.Y + 0.3*h}) {
			best = t
			break
		}
	}
	p.taken = append(p.taken,
		[4]float64{best.x0, best.at.Y - h, best.x0 + w, best.at.Y + 0.3*h}, [4]float64{lo.X, lo.Y, hi.X, hi.Y})
	m := p.words(ink, mapText, best.at, best.where, text)
	m.bold, m.halo = true, skin
}

// free reports whether a box lies on the skin and clear of all words.
func (p *skinPanel) free(b [4]float64) bool {
	top, bottom := p.tip, p.tip+p.inboard*p.band
	if top > bottom {
		top, bottom = bottom, top
	}
	if b[0] < mapTail || b[2] > p.width-mapTail || b[1] < top || b[3] > bottom {
		return false
	}
	for _, t := range p.taken {
		if b[0] < t[2] && b[2] > t[0] && b[1] < t[3] && b[3] > t[1] {
			return false
		}
	}
	return true
}

// legend explains the colours and patterns under the lower skin.
func (s *mapSheet) legend() {
	y := s.underneath + 52
	x := mapTail
	swatch := func(text string, paint func(r []r2.Vec)) {
		w := 34 + textWidth(text, mapSmall) + 26
		if x+w > s.width-mapTail/2 {
			x, y = mapTail, y+34
		}
		r := box(x, y-14, x+26, y+4)
		paint(r)
		s.add(mark{loops: [][]r2.Vec{r}, closed: true, stroke: ink, width: 0.8})
		s.words(ink, mapSmall, vec(x+34, y), startAt, text)
		x += w
	}
	bands := func(levels []float64, of func(int) tone, first string) {
		for k, level := range levels {
			text := levelText(level)
			if k+1 < len(levels) {
				text += " to " + levelText(levels[k+1])
			} else {
				text = "over " + text
			}
			if k == 0 {
				text = first + text + " mm"
			}
			swatch(text, func(r []r2.Vec) { s.area(levelTone(of, k, len(levels)), r) })
		}
	}
	bands(s.lows, low, "low: ")
	bands(s.highs, highBand, "proud of the finished surface: ")
	limit := levelText(math.Ceil(math.Max(s.res.DetectionLimit, 0.05)*100-1e-9) / 100)
	if len(s.res.HighSpots) > 0 {
		swatch("high spot", func(r []r2.Vec) { s.area(high(0), r) })
	}
	swatch("nothing over "+limit+" mm shows", func(r []r2.Vec) { s.area(skin, r) })
	swatch("cannot be told: too few points", func(r []r2.Vec) {
		s.area(skin, r)
		s.area(muted, dots([][]r2.Vec{r}, 9, 1.7)...)
	})
	swatch("not seen", func(r []r2.Vec) {
		s.area(ground, r)
		s.lines(muted, 1.2, hatch([][]r2.Vec{r}, 7))
	})
	swatch("edge of a spot", func(r []r2.Vec) {
		s.area(ground, r)
		s.line(ink, 1.1, vec(r[0].X, (r[0].Y+r[2].Y)/2), vec(r[1].X, (r[0].Y+r[2].Y)/2)).dash = []float64{5, 4}
	})
	s.height = y + 30
	s.marks[0].loops = [][]r2.Vec{box(0, 0, s.width, s.height)}
}

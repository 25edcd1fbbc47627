package outbox

import (
	"fmt"
	"math"
	"strings"

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
	radius := 1.05 * p.small()
	lo, hi := vec(c.X-radius, c.Y-radius), vec(c.X+radius, c.Y+radius)
	if len(s.Outline) > 2 {
		loop := p.outline(s)
		for _, q := range loop {
			lo, hi = corners(lo, hi, q)
		}
		p.add(mark{loops: [][]r2.Vec{loop}, closed: true, stroke: ink, width: 1.1, dash: []float64{5, 4}})
	}
	p.add(mark{loops: [][]r2.Vec{disc(c, radius)}, closed: true, fill: ground, stroke: ink, width: 1.2})
	p.words(ink, 0.95*p.small(), vec(c.X, c.Y+0.34*p.small()), middleAt, name).bold = true
	text := spotWords(s, name[0] == 'L')
	if p.upright { // there is no room for more than the figures
		text, _, _ = strings.Cut(text, ", ")
	}
	p.label(c, lo, hi, text)
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
	w, h := textWidth(text, p.text()), p.text()
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
	if p.upright {
		places = places[2:4]
		w *= 1.1 // bold letters run wider
		edge, far := extentOf(p.edge())
		for i := range places { // pushed in from the sides
			places[i].x0 = c.X - w/2
			push := math.Max(edge.X+14-places[i].x0, 0) + math.Min(far.X-14-w-places[i].x0, 0)
			places[i].at.X, places[i].x0 = places[i].at.X+push, places[i].x0+push
		}
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
	m := p.words(ink, p.text(), best.at, best.where, text)
	m.bold, m.halo = true, skin
}

// free reports whether a box lies on the skin and clear of all words.
func (p *skinPanel) free(b [4]float64) bool {
	lo, hi := extentOf(p.edge())
	if !p.upright { // words may run on beside nose and tail
		lo.X, hi.X = mapTail, p.width-mapTail
	}
	if b[0] < lo.X || b[2] > hi.X || b[1] < lo.Y || b[3] > hi.Y {
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
	l := mapLegendRow{mapSheet: s, left: mapTail, k: s.small() / mapSmall}
	l.y = s.underneath + 52
	if s.upright {
		l.left = uprightSide * s.larger()
	}
	l.x = l.left
	l.bands(s.lows, low, "low: ")
	l.bands(s.highs, highBand, "proud of the finished surface: ")
	if len(s.res.HighSpots) > 0 {
		l.swatch("high spot", func(r []r2.Vec) { s.area(high(0), r) })
	}
	limit := levelText(math.Ceil(math.Max(s.res.DetectionLimit, 0.05)*100-1e-9) / 100)
	l.swatch("nothing over "+limit+" mm shows", func(r []r2.Vec) { s.area(skin, r) })
	l.swatch("cannot be told: too few points", func(r []r2.Vec) {
		s.area(skin, r)
		s.area(muted, dots([][]r2.Vec{r}, 9, 1.7)...)
	})
	l.swatch("not seen", func(r []r2.Vec) {
		s.area(ground, r)
		s.lines(muted, 1.2, hatch([][]r2.Vec{r}, 7))
	})
	l.swatch("edge of a spot", func(r []r2.Vec) {
		s.area(ground, r)
		y := (r[0].Y + r[2].Y) / 2
		s.line(ink, 1.1, vec(r[0].X, y), vec(r[1].X, y)).dash = []float64{5, 4}
	})
	s.height = l.y + 30
	s.marks[0].loops = [][]r2.Vec{box(0, 0, s.width, s.height)}
}

// mapLegendRow sets swatches side by side and goes on in the next row when one is full.
type mapLegendRow struct {
	*mapSheet
	left, x, y float64
	k          float64 // size of swatches and words, 1 for the wide map
}

// swatch adds one, painted by paint into the rectangle that it is given.
func (l *mapLegendRow) swatch(text string, paint func(r []r2.Vec)) {
	w := (34+26)*l.k + textWidth(text, mapSmall*l.k)
	if l.x+w-20*l.k > l.width-l.left/2 && l.x > l.left {
		l.x, l.y = l.left, l.y+34*l.k
	}
	r := box(l.x, l.y-14*l.k, l.x+26*l.k, l.y+4*l.k)
	paint(r)
	l.add(mark{loops: [][]r2.Vec{r}, closed: true, stroke: ink, width: 0.8})
	l.words(ink, mapSmall*l.k, vec(l.x+34*l.k, l.y), startAt, text)
	l.x += w
}

// bands adds a swatch for each band of depth.
func (l *mapLegendRow) bands(levels []float64, of func(int) tone, first string) {
	for k, level := range levels {
		text := "over " + levelText(level)
		if k+1 < len(levels) {
			text = levelText(level) + " to " + levelText(levels[k+1])
		}
		if k == 0 {
			text = first + text + " mm"
		}
		l.swatch(text, func(r []r2.Vec) { l.area(levelTone(of, k, len(levels)), r) })
	}
}

package outbox

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
)

// The filler map shows both skins of the filler band at full size, folded open along the tip's edge: the
// upper skin upwards, the lower one downwards, both seen from outside, as they lie before a builder who
// stands at the tip and looks inboard. On a left wing the nose is then to the left, on a right wing to the
// right. Lengths from the nose are taped round the skin. All mm.
const (
	mapPixels = 2000 // width of the PNG

	mapText   = 17.0 // size of the words
	mapSmall  = 14.0
	mapTop    = 84.0  // above the upper skin: title and how to hold it
	mapGap    = 104.0 // between the skins: the ruler from the nose
	mapNose   = 112.0 // beside the nose: the ruler from the tip
	mapTail   = 46.0  // beside the tail
	mapLegend = 150.0 // below the lower skin
)

// mapSheet is a filler map while it is drawn.
type mapSheet struct {
	picture
	res        *fit.Result
	right      bool    // of a right wing: the nose is to the right
	upright    bool    // turned by a quarter, for a narrow screen
	reach      float64 // longest way from the nose to a tail
	band       float64 // greatest station
	lows       []float64
	highs      []float64
	taken      [][4]float64 // boxes of words that are placed already
	underneath float64      // Y of the lower skin's far edge
}

// newFillerMap draws the filler map of one side.
func newFillerMap(res *fit.Result, side string) *picture {
	s := &mapSheet{res: res, right: side == "right"}
	m := &res.Map
	s.title = "Filler map of the " + side + " wing: where the skin lies below or above the finished surface, and what the scan cannot tell"
	if len(m.Arc) < 2 || len(m.Station) == 0 {
		s.width, s.height = 900, 120
		s.add(mark{fill: ground, closed: true, loops: [][]r2.Vec{box(0, 0, s.width, s.height)}})
		s.words(ink, mapText, vec(30, 66), startAt, "There is no filler map: the scan shows nothing of the filler band.")
		return &s.picture
	}
	s.measure()
	s.words(ink, 1.3*mapText, vec(mapTail, 34), startAt, "Filler map, "+side+" wing").bold = true
	s.words(muted, mapText, vec(mapTail, 60), startAt,
		"Stand at the tip and look inboard: upper skin folded up, lower skin folded down, both seen from outside. Depths in mm.")
	upper, lower := s.panel(fit.Upper), s.panel(fit.Lower)
	for _, p := range []*skinPanel{upper, lower} {
		p.draw()
	}
	s.noseRuler(upper, lower)
	for _, p := range []*skinPanel{upper, lower} {
		p.stationRuler()
		p.spots()
	}
	s.legend()
	return &s.picture
}

// measure finds the extent of the drawing and the levels of its contours.
func (s *mapSheet) measure() {
	m := &s.res.Map
	s.band = bandEnd(m)
	ratio := math.Max(1, grown(&s.res.Survey.Loft, s.band))
	s.reach = ratio * math.Max(m.NoseArc, m.Length-m.NoseArc)
	deepest, highest := 0.0, 0.0
	for k, d := range m.Depth {
		if m.Seen[k] && math.Abs(d) > m.U[k] {
			deepest, highest = math.Max(deepest, d), math.Max(highest, -d)
		}
	}
	least := typicalU(m)
	s.lows, s.highs = depthLevels(least, deepest), depthLevels(least, highest)
	s.width = mapNose + s.reach + mapTail
	s.underneath = mapTop + 2*s.band + mapGap
	if s.upright {
		k := s.larger()
		s.width = 2*(uprightSide*k+s.band) + uprightGap*k
		s.underneath = uprightTop*k + s.reach + 20*k
	}
	s.height = s.underneath + mapLegend
	s.add(mark{fill: ground, closed: true, loops: [][]r2.Vec{box(0, 0, s.width, s.height)}})
}

// text and small are the sizes of the words.
func (s *mapSheet) text() float64 {
	if s.upright {
		return uprightText * s.larger()
	}
	return mapText
}

func (s *mapSheet) small() float64 {
	if s.upright {
		return uprightSmall * s.larger()
	}
	return mapSmall
}

// bandEnd returns the station of the map's inboard edge, half a row beyond its last row.
func bandEnd(m *fit.FillerMap) float64 {
	n := len(m.Station)
	if n < 2 {
		return m.Station[0] + 5
	}
	return m.Station[n-1] + (m.Station[n-1]-m.Station[n-2])/2
}

// typicalU returns the median uncertainty of the cells that were seen.
func typicalU(m *fit.FillerMap) float64 {
	var us []float64
	for k, u := range m.U {
		if m.Seen[k] {
			us = append(us, u)
		}
	}
	if len(us) == 0 {
		return 0
	}
	slices.Sort(us)
	return us[len(us)/2]
}

// depthLevels returns at most fillTones levels from the least depth that shows, rounded up to tenths, to a
// greatest depth, in even steps.
func depthLevels(least, greatest float64) []float64 {
	least = math.Max(math.Ceil(least*10-1e-9)/10, 0.1)
	if greatest <= least {
		return nil
	}
	step := 0.0
	for _, step = range []float64{0.1, 0.2, 0.25, 0.5, 1, 2, 5, 10, 20, 50} {
		if step*(fillTones-1) >= greatest {
			break
		}
	}
	levels := []float64{least}
	for k := 1; k < fillTones; k++ {
		if v := float64(k) * step; v > levels[0]+0.2*step && v < greatest {
			levels = append(levels, v)
		}
	}
	return levels
}

// levelTone spreads n levels over the tones; few levels keep to the paler ones.
func levelTone(of func(int) tone, k, n int) tone {
	return of((k*(fillTones-1) + n/2) / max(n-1, 3))
}

// noseRuler draws the ruler from the nose between the two skins, and what the edges are.
func (s *mapSheet) noseRuler(upper, lower *skinPanel) {
	middle := (upper.base.Y+lower.base.Y)/2 + 0.35*mapSmall
	for _, p := range []*skinPanel{upper, lower} {
		away := -p.in.Y // from the skin's tip edge into the gap
		for d := 0.0; d <= p.length()+0.5; d += 50 {
			tick := 6.0
			at := p.place(d, 0)
			if math.Mod(d, 100) == 0 {
				tick = 11
				base := at.Y + away*(tick+4)
				if away > 0 {
					base += 0.75 * mapSmall
				}
				s.words(muted, mapSmall, vec(at.X, base), middleAt, fmt.Sprintf("%.0f", d))
			}
			s.line(muted, 1, at, vec(at.X, at.Y+away*tick))
		}
	}
	nose, tail := upper.place(0, 0), upper.place(s.reach, 0)
	s.words(ink, mapSmall, vec((nose.X+tail.X)/2, middle), middleAt, "TIP EDGE · mm taped round the skin from the nose")
	noseSide, tailSide := endAt, endAt
	if s.right {
		noseSide, tailSide = startAt, startAt
	}
	s.words(ink, mapText, vec(s.beside(nose.X, -18), middle), noseSide, "NOSE").bold = true
	s.words(ink, mapSmall, vec(s.beside(tail.X, 0), middle), tailSide, "TRAILING EDGE")
}

// beside moves an X aft by d, on a right wing to the left.
func (s *mapSheet) beside(x, d float64) float64 {
	if s.right {
		return x - d
	}
	return x + d
}

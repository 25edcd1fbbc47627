package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// Doubled skins. Where a scanner's track drifts between two passes, the scan shows the skin twice, some millimetres
// apart, and a mean of the two lies on neither. The points of a tile of skin then gather about two depths with few
// between them, and those of single cells lie at both; at a step or beside a strip each cell lies at one. Passes that
// slid along the skin show so only where it turns, at the nose.

const (
	tileRows       = 10   // of the map in a tile
	tileColumns    = 4    // few, for the gap changes fast round the nose
	tileSample     = 4    // points of each of its cells that are looked at, at most
	leastTile      = 30   // points of a tile that tell
	leastMixed     = 6    // cells of a tile with two points or more
	mixedShare     = 0.6  // of as many as there would be by chance that lie at both depths
	leastDoubleGap = 1.2  // mm: of two passes that lie closer together the mean is off by less than most scans' uncertainty
	leastPassShare = 0.15 // of a tile's points that either pass must have
	gapSpreads     = 3.5  // robust standard deviations of either between their middles ...
	valley         = 0.4  // ... and so many times the points of the thinner midway between them, at most
	doubledBand    = 0.4  // share of the tiles at one place of the arc from which on it is said ...
	leastBandTiles = 3    // ... and so many of them
	gapSlope       = 0.02 // by which the gap may open along the arc, besides what the skin turns
	noseBandTurn   = 0.4  // radians from one band to the next from which on a single band may be doubled by itself
	doubledTail    = 0.85 // chords aft of which one skin's points may be taken for the other's
	doubledHinge   = 20.0 // mm about the hinge line that are left out: points lie in its gap
	doubledTip     = 20.0 // mm from the tip rib that are left out: points may lie on its face
)

// doubled is what a map shows of a skin that was seen twice.
type doubled struct {
	share float64 // of the skin that could be judged; 0: it was not seen twice
	gap   float64 // mm, the middle one of the tiles'
	x     float64 // chords, the middle tile's place
}

// twice looks for a doubled skin in an even share of the cells' points.
func (f *fitter) twice(m *Map, some rowsOf) doubled {
	bands := f.tileGaps(m, some)
	var gaps, xs []float64
	judged, told := 0, false
	for b, band := range bands {
		of, n := 0, 0
		for r, gap := range band {
			if !math.IsNaN(gap) {
				of++
			}
			if gap > 0 && f.drifted(m, bands, b, r) {
				n++
				x, _ := f.field.point(m.bandArc(b) / f.Chord)
				gaps, xs = append(gaps, gap), append(xs, x.X)
			}
		}
		judged += of
		told = told || n >= leastBandTiles && float64(n) >= doubledBand*float64(of)
	}
	if !told {
		return doubled{}
	}
	return doubled{float64(len(gaps)) / float64(judged), median(gaps), median(xs)}
}

// tileGaps returns how far apart two depths lie in the tiles of each band of columns, mm: 0 where there is one depth, NaN
// where it cannot be told.
func (f *fitter) tileGaps(m *Map, some rowsOf) [][]float64 {
	columns := f.plainColumns(m)
	first := int(doubledTip / stationStep)
	rows := max(len(m.Station)-first, 0) / tileRows
	bands := make([][]float64, len(m.Arc)/tileColumns)
	scan.OnAllProcessors(len(bands), func(b int) {
		left := b * tileColumns
		plain := !slices.Contains(columns[left:left+tileColumns], false)
		var t tile
		for r := range rows {
			gap := math.NaN()
			if plain {
				gap = t.gap(some, first+r*tileRows, left)
			}
			bands[b] = append(bands[b], gap)
		}
	})
	return bands
}

// bandArc returns the arc in the middle of a band, mm.
func (m *Map) bandArc(b int) float64 { return m.Arc[b*tileColumns+tileColumns/2] }

// drifted reports whether the gap of a tile is one between two passes of one skin: from one band to the next it changes
// no more than the skin turns. What something else leaves to the skin, such as a table, opens faster.
func (f *fitter) drifted(m *Map, bands [][]float64, b, r int) bool {
	gap, turns, alike := bands[b][r], false, false
	_, here := f.field.point(m.bandArc(b) / f.Chord)
	for _, n := range []int{b - 1, b + 1} {
		if n < 0 || n >= len(bands) {
			continue
		}
		_, there := f.field.point(m.bandArc(n) / f.Chord)
		turn := r2.Norm(r2.Sub(there, here))
		turns = turns || turn > noseBandTurn
		if other := bands[n][r]; other > 0 {
			if math.Abs(other-gap) > gapSlope*tileColumns*arcStep+turn*math.Max(gap, other) {
				return false
			}
			alike = true
		}
	}
	return alike || turns
}

// tile has room for the points of one.
type tile struct {
	all, sorted []float64 // distances, cell by cell
	lengths     []int     // of the cells
}

// gap returns how far apart the two depths are at which the tile's points lie, mm: 0 where it is one depth, NaN where
// there are too few points to tell.
func (t *tile) gap(some rowsOf, top, left int) float64 {
	t.all, t.lengths = t.all[:0], t.lengths[:0]
	for i := top; i < top+tileRows; i++ {
		for j := left; j < left+tileColumns; j++ {
			from, all := len(t.all), some.columns(i, j, j)
			n := min(len(all), tileSample)
			for k := range n {
				t.all = append(t.all, float64(all[k*len(all)/n]))
			}
			t.lengths = append(t.lengths, len(t.all)-from)
		}
	}
	if len(t.all) < leastTile {
		return math.NaN()
	}
	t.sorted = append(t.sorted[:0], t.all...)
	gap, between, share := twoDepths(t.sorted)
	if gap > 0 && !t.mixed(between, share) {
		return 0
	}
	return gap
}

// mixed reports whether single cells hold points from both sides of a depth about as often as they would if the two
// were shuffled. share is that of the points below it.
func (t *tile) mixed(between, share float64) bool {
	cells, both, chance := 0, 0, 0.0
	at := 0
	for _, n := range t.lengths {
		cell := t.all[at : at+n]
		at += n
		if n < 2 {
			continue
		}
		cells++
		chance += 1 - math.Pow(share, float64(n)) - math.Pow(1-share, float64(n))
		if slices.Min(cell) < between && slices.Max(cell) >= between {
			both++
		}
	}
	return cells >= leastMixed && float64(both) >= mixedShare*chance
}

// plainColumns marks the columns of the map that lie off the tail and the hinge line.
func (f *fitter) plainColumns(m *Map) []bool {
	plain := make([]bool, len(m.Arc))
	for j, arc := range m.Arc {
		x, _ := f.field.point(arc / m.Length * f.field.length())
		plain[j] = x.X < doubledTail && !(math.Abs(arc-m.HingeArc[0]) < doubledHinge || math.Abs(arc-m.HingeArc[1]) < doubledHinge)
	}
	return plain
}

// twoDepths returns how far apart the two depths are about which distances gather, mm, the depth that parts them, and
// the share of the distances that lie below that; gap is 0 where they gather about one. It sorts them.
func twoDepths(v []float64) (gap, between, share float64) {
	slices.Sort(v)
	at := parting(v)
	if least := max(int(leastPassShare*float64(len(v))), 2); at < least || len(v)-at < least {
		return 0, 0, 0
	}
	lower, upper := v[at/2], v[at+(len(v)-at)/2]
	gap, between = upper-lower, (lower+upper)/2
	quartiles := func(s []float64) float64 { return s[len(s)*3/4] - s[len(s)/4] }
	const normalQuartiles = 1.349 // between the quartiles of a normal distribution, standard deviations
	if gap < leastDoubleGap || gap < gapSpreads/normalQuartiles*math.Max(quartiles(v[:at]), quartiles(v[at:])) {
		return 0, 0, 0
	}
	about := func(middle float64) float64 {
		from, _ := slices.BinarySearch(v, middle-gap/6)
		to, _ := slices.BinarySearch(v, middle+gap/6)
		return float64(to - from)
	}
	if about(between) > valley*math.Min(about(lower), about(upper)) {
		return 0, 0, 0
	}
	return gap, v[at], float64(at) / float64(len(v))
}

// parting returns the index at which sorted values part into the two groups that lie closest about their means (Otsu,
// IEEE Transactions on Systems, Man and Cybernetics 9 (1979) 62, from memory).
func parting(v []float64) (at int) {
	var sum, before, most float64
	for _, d := range v {
		sum += d
	}
	n := float64(len(v))
	for i := 1; i < len(v); i++ {
		before += v[i-1]
		k := float64(i)
		apart := before/k - (sum-before)/(n-k)
		if between := k * (n - k) * apart * apart; between > most {
			at, most = i, between
		}
	}
	return at
}

// checkTwice warns of a skin that was seen twice.
func (w *work) checkTwice(d doubled) {
	if d.share == 0 {
		return
	}
	w.say(scan.Cautionf("skin-doubled", "Over %.0f %% of the skin, most of it about %.0f mm aft of the nose, the scan shows two surfaces about %.1f mm apart: the scanner's track drifted between two passes, or something lies close over the skin. What was measured there lies between the two, and may be off by as much as %.1f mm; chord and scale may be, too, for passes that slid along the chord show at the nose alone. Scan again in one pass, or keep one pass only, before you cut.", math.Ceil(100*d.share), d.x*w.best.Chord, d.gap, d.gap))
}

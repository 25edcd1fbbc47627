package section

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"tipwright/scan"
)

// A scan that is bent as a whole, as drift of the phone's own place bends it, turns one end of the panel against the other
// and stretches the chord. Neither shows in the scan: a twist that is bent in cannot be told from one that is built in.
// But what bends a scan so also bends it in ways that a wing does not: both skins rise and fall together along the
// span, as a straight wing's skins do not. How far they do says how far twist, scale and the aileron are in doubt.
const (
	warpTwist = 6.0  // mm that the corners may be twisted by a bend of 1 mm (k = 2; simulated, a warp as long as the panel)
	warpScale = 10.0 // mm that a chord may be stretched by it, or the aileron's tail raised (k = 2; simulated)
	warpTurns = 4    // of Tukey's biweight, which leaves spots out
	warpRows  = 6    // stations of a column that must be seen
	warpNose  = 0.1  // chords of arc from the leading edge on which up and down is not outward and inward
	warpTerms = 9    // Legendre polynomials 1 to 3 of the station times 0 to 2 of the place along the chord
	warpFewer = 20   // cells a term without which nothing is told
	warpLeast = 0.01 // mm: a smaller bend is what noise alone makes of many points
)

// warpCell is one cell of the map: how far its skin lies above where its column usually does, mm.
type warpCell struct {
	up    float64
	value [warpTerms]float64
}

// warp returns how far the scan is bent along the span, mm: the root of the sum of squares of the three shapes that a bend
// makes and a change of the loft's parameters does not. What noise makes of a shape on one skin it does not make on the
// other, nor does form that changes along the span, so that the products of both skins' shapes count. 0 where too little
// was seen, and where it is no more than noise.
func (m *Map) warp(l *Loft) float64 {
	var skins [2][warpTerms]float64
	var seen [2]bool
	scan.OnAllProcessors(len(skins), func(i int) { skins[i], seen[i] = warpShapes(m.warpCells(l, float64(1-2*i))) })
	upper, lower := &skins[0], &skins[1]
	if !seen[0] || !seen[1] {
		return 0
	}
	sum := 0.0
	for _, k := range [3]int{2, 3, 4} { // slope times bend of the chord, bend of the span, bend times slope of the chord
		sum += upper[k] * lower[k]
	}
	bend := math.Sqrt(math.Max(sum, 0))
	if bend < warpLeast {
		return 0
	}
	return bend
}

// warpShapes fits the products of polynomials to the cells of one skin; it reports false where there are too few.
func warpShapes(cells []warpCell) (x [warpTerms]float64, ok bool) {
	if len(cells) < warpFewer*warpTerms {
		return x, false
	}
	for range warpTurns {
		lhs, rhs := warpNormal(cells, warpWeights(cells, &x))
		var normal mat.Cholesky
		var solved mat.VecDense
		if !normal.Factorize(lhs) || normal.SolveVecTo(&solved, rhs) != nil {
			return x, false
		}
		copy(x[:], solved.RawVector().Data)
	}
	return x, true
}

// warpCells gathers the cells of the upper (up is 1) or lower skin (-1), ahead of the hinge line and clear of the leading
// edge.
func (m *Map) warpCells(l *Loft, up float64) (cells []warpCell) {
	first := slices.IndexFunc(m.Station, func(s float64) bool { return s >= 0 })
	if first < 0 {
		return nil
	}
	lo, hi := m.Station[first], m.Station[len(m.Station)-1]
	least, most, n := warpNose*l.Chord, l.Chord, 0
	if l.Hinge > 0 {
		most = l.Hinge * l.Chord
	}
	for _, arc := range m.Arc {
		if away := up * (m.NoseArc - arc); away >= least && away <= most {
			n++
		}
	}
	cells = make([]warpCell, 0, n*(len(m.Station)-first))
	for j, arc := range m.Arc {
		away := up * (m.NoseArc - arc)
		if away < least || away > most || arc < m.HingeArc[0] || arc > m.HingeArc[1] { // false for NaN
			continue
		}
		middle, ok := m.columnMiddle(j, first)
		if !ok {
			continue
		}
		t := 2*(away-least)/(most-least) - 1
		for i := first; i < len(m.Station); i++ {
			c := m.At(i, j)
			if c.N == 0 {
				continue
			}
			s := 2*(m.Station[i]-lo)/(hi-lo) - 1
			cells = append(cells, warpCell{up * (c.Departure - middle), warpValues(s, t)})
		}
	}
	return cells
}

// columnMiddle returns the median departure of a column from a row on: what the form makes of it, the same at all stations.
func (m *Map) columnMiddle(column, first int) (float64, bool) {
	var v []float64
	for i := first; i < len(m.Station); i++ {
		if c := m.At(i, column); c.N > 0 {
			v = append(v, c.Departure)
		}
	}
	if len(v) < warpRows {
		return 0, false
	}
	return Nth(v, len(v)/2), true
}

// warpValues returns the products of the polynomials at a station and a place along the chord, both from -1 to 1.
func warpValues(s, t float64) (v [warpTerms]float64) {
	along := [3]float64{s, (3*s*s - 1) / 2, s * (5*s*s - 3) / 2}
	chord := [3]float64{1, t, (3*t*t - 1) / 2}
	for i, a := range along {
		for j, b := range chord {
			v[3*i+j] = a * b
		}
	}
	return v
}

// left returns what a fit leaves of a cell.
func (c *warpCell) left(x *[warpTerms]float64) float64 {
	e := c.up
	for k, v := range c.value {
		e -= x[k] * v
	}
	return e
}

// warpNormal returns the normal equations.
func warpNormal(cells []warpCell, weights []float64) (*mat.SymDense, *mat.VecDense) {
	var lhs [warpTerms][warpTerms]float64
	rhs := make([]float64, warpTerms)
	for i := range cells {
		c, w := &cells[i], weights[i]
		if w == 0 {
			continue
		}
		for a, v := range c.value {
			v *= w
			rhs[a] += v * c.up
			for b := a; b < warpTerms; b++ {
				lhs[a][b] += v * c.value[b]
			}
		}
	}
	out := mat.NewSymDense(warpTerms, nil)
	for a := range lhs {
		for b := a; b < warpTerms; b++ {
			out.SetSym(a, b, lhs[a][b])
		}
	}
	return out, mat.NewVecDense(warpTerms, rhs)
}

func warpWeights(cells []warpCell, x *[warpTerms]float64) []float64 {
	w, off := make([]float64, len(cells)), make([]float64, len(cells))
	for i := range cells {
		w[i] = cells[i].left(x)
		off[i] = math.Abs(w[i])
	}
	cut := biweight * madScale * Nth(off, len(off)/2)
	for i, e := range w {
		if t := e / cut; math.Abs(t) < 1 {
			w[i] = (1 - t*t) * (1 - t*t)
		} else {
			w[i] = 0
		}
	}
	return w
}

package section

import (
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
)

// The step at the nose. However a skin departs from the drawing, it runs round the nose without a break. Where two
// passes of a scan were put together wrongly, the upper half of the nose is shifted against the lower, and the two do not
// meet. The shift that makes them meet again is fitted together with a smooth form of the nose. Along the chord it tells
// well, for the nose stands square to it; what it tells across the chord mixes with the form.

const (
	stepReach   = 0.04   // chords of arc either side of the nose that tell the step
	stepMargin  = 0.005  // chords of arc about the nose that are left out: there either pass may show both skins
	stepPowers  = 6      // of the arc in the form of the nose
	stepSample  = 12_000 // points, about
	stepLeast   = 150    // points of either skin
	stepRounds  = 15
	stepSettled = 2e-3 // mm
	stepSpan    = 800  // mm from the tip rib over which it is told: farther inboard the form of the nose may be another
	stepBands   = 10   // of stations and
	stepArcs    = 8    // arcs, blocks in which points may err together
	stepForm    = 1e3  // mm: the form of the nose is free, but for what no point holds
	stepFloor   = 0.06 // mm, standard uncertainty that no number of points takes away, and
	stepShare   = 0.02 // share of the shift: how the points are told apart depends on it (by simulated scans)

	// The unknowns: the shift aft and up, the same growing with the station, and the form's powers, each with one that
	// grows with the station.
	stepShifts   = 4
	stepUnknowns = stepShifts + 2*stepPowers
)

// nosePoint is a point near the nose in the unit section times its chord, mm.
type nosePoint struct {
	at      r2.Vec
	chord   float64
	station float64
	upper   bool
}

// nosePoints lists an even share of the points near the nose between two stations.
func (f *fitter) nosePoints(lo, hi float64) []nosePoint {
	nose := f.field.arc[f.field.nose]
	all := joined(len(f.points), func(first, last int) (out []nosePoint) {
		for i := first; i < last; i++ {
			p, station, near := f.nearNose(i, lo, hi, 2*stepReach*f.Chord)
			if !near {
				continue
			}
			l := f.place(p)
			ft, ok := f.field.at(l.neutral)
			off := math.Abs(ft.arc - nose)
			if ok && off > stepMargin && off < stepReach && math.Abs(ft.distance-f.offset/l.chord) < mapReach {
				out = append(out, nosePoint{r2.Scale(l.chord, l.neutral), l.chord, station, ft.arc < nose})
			}
		}
		return out
	})
	few := make([]nosePoint, 0, min(len(all), stepSample))
	for k := range cap(few) {
		few = append(few, all[k*len(all)/cap(few)])
	}
	return few
}

// nearNose brings point i to the wing frame if it lies between two stations and no farther along the chord from the leading
// edge than reach, mm. Most do not.
func (f *fitter) nearNose(i int, lo, hi, reach float64) (p r3.Vec, station float64, near bool) {
	point, t := f.points.at(i), &f.wingFromPoints
	station = t.y(point) * f.inboard
	if station < lo || station > hi || math.Abs(t.row(0, point)+t.T.X-f.Sweep*station) > reach {
		return p, station, false
	}
	return t.apply(point), station, true
}

// noseStep returns how far aft the upper skin is shifted at the nose against the lower, a line over the stations, mm, as
// points between two stations show it. It reports false where too little of either was seen there.
func (f *fitter) noseStep(lo, hi float64) (step straight, ok bool) {
	points := f.nosePoints(lo, hi)
	var n [2]int
	middle := 0.0
	for i := range points {
		middle += points[i].station / float64(len(points))
		if points[i].upper {
			n[0]++
		} else {
			n[1]++
		}
	}
	if min(n[0], n[1]) < stepLeast {
		return step, false
	}
	fit := noseFit{f: f, points: points, middle: middle, reach: (hi - lo) / 2, rows: make([]noseRow, len(points))}
	for range stepRounds {
		moved, ok := fit.round()
		if !ok {
			return step, false
		}
		if moved < stepSettled {
			break
		}
	}
	u := fit.certainty()
	step = straight{middle: middle, value: fit.x[0], slope: fit.x[2] / fit.reach, uSlope: u[2] / fit.reach}
	step.uValue = math.Hypot(math.Hypot(u[0], stepFloor), stepShare*step.value)
	return step, true
}

// noseFit is the fit of a step under way.
type noseFit struct {
	f             *fitter
	points        []nosePoint
	middle, reach float64 // mm of station
	x             [stepUnknowns]float64
	rows          []noseRow
	scale         float64 // mm, robust standard deviation of the residuals
	cov           mat.SymDense
}

// noseRow is what one point says: its residual, mm, and how that depends on the unknowns.
type noseRow struct {
	left  float64
	along float64 // place along the arc, from -1 to 1
	by    [stepUnknowns]float64
}

// round makes one step of Gauss and Newton with Tukey's biweight. It returns by how much the shift changed, mm.
func (n *noseFit) round() (moved float64, ok bool) {
	n.compare()
	normal, rhs := mat.NewSymDense(stepUnknowns, nil), mat.NewVecDense(stepUnknowns, nil)
	var lhs [stepUnknowns][stepUnknowns]float64
	var right [stepUnknowns]float64
	type weighed struct {
		row    *noseRow
		weight float64
	}
	used := make([]weighed, 0, len(n.rows)+1)
	for i := range n.rows {
		t := n.rows[i].left / (biweight * n.scale)
		if math.Abs(t) < 1 {
			used = append(used, weighed{&n.rows[i], (1 - t*t) * (1 - t*t)})
		}
	}
	if len(used)%2 == 1 {
		used = append(used, weighed{row: &noseRow{}}) // adds nothing
	}
	// Each sum has its own processor, which adds in the order of the points: the first unknowns have the shorter rows.
	shares := [...]struct{ from, to int }{{0, stepUnknowns * 11 / 16}, {stepUnknowns * 11 / 16, stepUnknowns}}
	scan.OnAllProcessors(len(shares), func(k int) {
		for i := 0; i < len(used); i += 2 {
			p, q := &used[i], &used[i+1]
			for a := shares[k].from; a < shares[k].to; a++ {
				v, w := p.weight*p.row.by[a], q.weight*q.row.by[a]
				right[a] = right[a] + v*p.row.left + w*q.row.left
				row := lhs[a][:a+1]
				with, by := p.row.by[:len(row)], q.row.by[:len(row)]
				for b := range row {
					row[b] = row[b] + v*with[b] + w*by[b]
				}
			}
		}
	})
	for a := range lhs {
		rhs.SetVec(a, right[a])
		for b := range a + 1 {
			normal.SetSym(a, b, lhs[a][b])
		}
		normal.SetSym(a, a, lhs[a][a]+n.scale*n.scale/(stepForm*stepForm))
	}
	var factors mat.Cholesky
	var step mat.VecDense
	if !factors.Factorize(normal) || factors.SolveVecTo(&step, rhs) != nil || factors.InverseTo(&n.cov) != nil {
		return 0, false
	}
	for k := range n.x {
		n.x[k] += step.AtVec(k)
		if k < stepShifts {
			moved = math.Max(moved, math.Abs(step.AtVec(k)))
		}
	}
	return moved, true
}

// compare works out what each point says, either skin moved by half the shift.
func (n *noseFit) compare() {
	nose := n.f.field.arc[n.f.field.nose]
	abs := joined(len(n.points), func(lo, hi int) []float64 {
		abs := make([]float64, 0, hi-lo)
		for i := lo; i < hi; i++ {
			if n.compareOne(i, nose) {
				abs = append(abs, math.Abs(n.rows[i].left))
			}
		}
		return abs
	})
	n.scale = math.Inf(1)
	if len(abs) > 0 {
		n.scale = math.Max(madScale*median(abs), leastSE)
	}
}

// compareOne works out what point i says; it reports false for one too far off to be compared.
func (n *noseFit) compareOne(i int, nose float64) bool {
	p, row := &n.points[i], &n.rows[i]
	t, half := (p.station-n.middle)/n.reach, 0.5
	if !p.upper {
		half = -0.5
	}
	shift := r2.Vec{X: n.x[0] + t*n.x[2], Y: n.x[1] + t*n.x[3]}
	ft, ok := n.f.field.at(r2.Scale(1/p.chord, r2.Sub(p.at, r2.Scale(half, shift))))
	if !ok {
		row.left = math.Inf(1)
		return false
	}
	row.by = [stepUnknowns]float64{half * ft.normal.X, half * ft.normal.Y, half * ft.normal.X * t, half * ft.normal.Y * t}
	u, power, form := (ft.arc-nose)/stepReach, 1.0, 0.0
	for k := range stepPowers {
		row.by[stepShifts+k], row.by[stepShifts+stepPowers+k] = power, power*t
		form += power * (n.x[stepShifts+k] + t*n.x[stepShifts+stepPowers+k])
		power *= u
	}
	row.along = u
	row.left = ft.distance*p.chord - form
	return true
}

// certainty returns the standard uncertainty of each unknown. Noise grows towards the nose, neighbours err together, and the
// form changes along the span in ways that the fit does not know: the scores are summed over blocks before they are squared
// (the cluster-robust covariance of Liang and Zeger, Biometrika 73 (1986) 13, from memory). It is never less than what the
// points' own scatter leaves.
func (n *noseFit) certainty() (u [stepUnknowns]float64) {
	var blocks [stepBands * stepArcs][stepUnknowns]float64
	for i := range n.rows {
		r, p := &n.rows[i], &n.points[i]
		t := r.left / (biweight * n.scale)
		if !(math.Abs(t) < 1) {
			continue
		}
		w := (1 - t*t) * (1 - t*t) * r.left
		band := int((p.station - n.middle + n.reach) / (2 * n.reach) * stepBands)
		arc := int((r.along + 1) / 2 * stepArcs)
		b := &blocks[min(max(band, 0), stepBands-1)*stepArcs+min(max(arc, 0), stepArcs-1)]
		for k, v := range r.by {
			b[k] += w * v
		}
	}
	filled := 0.0
	meat := mat.NewSymDense(stepUnknowns, nil)
	for i := range blocks {
		if blocks[i] != ([stepUnknowns]float64{}) {
			filled++
			meat.SymRankOne(meat, 1, mat.NewVecDense(stepUnknowns, blocks[i][:]))
		}
	}
	var half, all mat.Dense
	half.Mul(&n.cov, meat)
	all.Mul(&half, &n.cov)
	widen := 1.0 // few blocks leave few degrees of freedom
	if filled > stepUnknowns+1 {
		widen = filled / (filled - stepUnknowns)
	}
	for k := range u {
		u[k] = math.Sqrt(math.Max(widen*all.At(k, k), n.scale*n.scale*n.cov.At(k, k)))
	}
	return u
}

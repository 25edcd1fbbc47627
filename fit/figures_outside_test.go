package fit_test

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/outside"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// taped returns what a tape measures of a slice: the longest distance from the middle of its tail.
func (c cut) taped() (longest float64) {
	aft := 0.0
	for _, p := range c {
		aft = math.Max(aft, math.Max(p[0].X, p[1].X))
	}
	lo, hi := math.Inf(1), math.Inf(-1) // of the tail's end face
	for _, p := range c {
		for _, q := range p {
			if q.X > aft-1 {
				lo, hi = math.Min(lo, q.Y), math.Max(hi, q.Y)
			}
		}
	}
	for _, p := range c {
		longest = math.Max(longest, math.Hypot(p[0].X-aft, p[0].Y-(lo+hi)/2))
	}
	return longest
}

// laid lets scipy lay the part of a slice for which take reports true on an outline, by a shift and a turn, once it is
// multiplied by a scale about the origin.
func laid(t *testing.T, c cut, scale float64, outline []r2.Vec, take func(x float64) bool) (turn float64) {
	t.Helper()
	var question struct {
		Points  [][2]float64 `json:"points"`
		Weights []float64    `json:"weights"`
		Line    [][2]float64 `json:"line"`
	}
	for i, p := range c {
		if q := r2.Scale(scale/2, r2.Add(p[0], p[1])); i%3 == 0 && take(q.X) {
			question.Points, question.Weights = append(question.Points, [2]float64{q.X, q.Y}), append(question.Weights, 1)
		}
	}
	for _, q := range outline {
		question.Line = append(question.Line, [2]float64{q.X, q.Y})
	}
	var answer struct{ Turn float64 }
	outside.Script(t, "testdata/laid.py", question, &answer, "numpy", "scipy", "shapely")
	return answer.Turn
}

// figuresWing has an aileron off neutral, twist and taper, a low and a high spot; without spots it is what a fair skin
// would be. Both are scanned into meshes without noise whose points lie alike.
func figuresWing(t *testing.T, spots bool) (*scan.Scan, *simulate.Truth) {
	t.Helper()
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		t.Fatal(err)
	}
	w := simulate.Wing{
		Airfoil: a, Side: section.Left, Chord: 1200, Span: 450, Overhang: 60, Taper: 0.05, Twist: 2.5e-5,
		TailThickness: 4, Hinge: 0.78, HingeZ: 0.004, Deflection: 0.02,
		Form: []simulate.Wave{{Surface: simulate.Upper, Amplitude: 0.3, Length: 820, Phase: 1.1}},
	}
	if spots {
		w.Spots = []simulate.Bump{
			{Surface: simulate.Upper, X: 430, Station: 130, Length: 180, Width: 150, Height: -1.2},
			{Surface: simulate.Lower, X: 640, Station: 190, Length: 140, Width: 120, Height: 0.9},
		}
	}
	s, truth, err := simulate.Scan(w, simulate.Scanner{Seed: 9, Points: 150_000, Mesh: true, RandomPose: true, Unit: scan.Millimetre, ScaleError: 0.003})
	if err != nil {
		t.Fatal(err)
	}
	return s, truth
}

// The chord, taper, twist, aileron and scale that the program finds are those of VTK's slices, laid on each other by
// scipy; depth and volume of the spots are those between VTK's slices of the wing with and without them.
func TestOutsideFiguresFromSlices(t *testing.T) {
	outside.Slow(t)
	t.Parallel()
	s, truth := figuresWing(t, true)
	v, err := section.Measure(s, section.Options{Airfoil: truth.Wing.Airfoil, Chord: truth.Taped, Side: section.Left, TipRib: 60, Hinge: 0.78})
	if err != nil {
		t.Fatal(err)
	}
	opt := wishes()
	opt.SandLimit = 2 // else the target is raised over the high spot, and only what stands above that would count
	r, err := fit.Fit(v, opt)
	if err != nil {
		t.Fatal(err)
	}
	var stations []float64
	for st := 0.0; st <= 300; st += 10 {
		stations = append(stations, st)
	}
	cuts := vtkCuts(t, s, v.WingFromScan, section.Left, stations)
	fair, _ := figuresWing(t, false)
	without := vtkCuts(t, fair, v.WingFromScan, section.Left, stations)

	deflection := r.Deflection
	if deflection == nil {
		t.Fatal("no aileron was found")
	}
	hinge := 0.78 * v.Loft.Chord
	turn := laid(t, without[0], 1, r.Target, func(x float64) bool { return x > hinge+15 && x < v.Loft.Chord-8 })
	holds(t, "deflection, rad", *deflection, -turn, 0.0035)

	wing := func(x float64) bool { return x < hinge-15 }
	last := len(stations) - 1
	base := make([]r2.Vec, 0, len(without[0]))
	for _, q := range r.AsBuilt {
		if wing(q.X) {
			base = append(base, q)
		}
	}
	ratio := without[last].taped() / without[0].taped()
	turned := laid(t, without[last], 1/ratio, base, func(x float64) bool { return x < hinge-40 })
	zero := laid(t, without[0], 1, base, func(x float64) bool { return x < hinge-40 })
	holds(t, "twist, rad/mm", v.Twist, -(turned-zero)/stations[last], 1e-6)
	holds(t, "taper, mm/mm", v.Taper, v.Chord.Value*(ratio-1)/stations[last], 0.002)

	// The slices are taken with the aileron down, which brings the tail nearer to the nose: by the lever's sagitta.
	factor, _ := truth.Wing.Airfoil.Tape()
	lever := 0.22 * truth.Taped
	down := truth.Taped - math.Hypot(0.78*truth.Taped+lever*math.Cos(turn), lever*math.Sin(turn))
	holds(t, "chord, mm", v.Chord, (without[0].taped()+down)/factor, 0.6)
	holds(t, "scale", section.Measured{Value: v.Correction}, 1/1.003, 5e-4)

	if len(r.LowSpots) != 1 || len(r.HighSpots) != 1 {
		t.Fatalf("low spots %+v, high spots %+v", r.LowSpots, r.HighSpots)
	}
	for k, spot := range []fit.Spot{r.LowSpots[0], r.HighSpots[0]} {
		d := between(cuts, without, stations, k == 0, r.DetectionLimit)
		what := []string{"low spot's ", "high spot's "}[k]
		holds(t, what+"depth, mm", spot.Depth, d.depth, 0.12)
		holds(t, what+"volume, mm3", spot.Volume, d.volume, 0.12*d.volume)
		holds(t, what+"x, mm", section.Measured{Value: spot.X}, d.x, 8)
		holds(t, what+"station, mm", section.Measured{Value: spot.Station}, d.station, 8)
		holds(t, what+"length, mm", section.Measured{Value: spot.Length}, d.length, 0.12*d.length)
		holds(t, what+"width, mm", section.Measured{Value: spot.Width}, d.width, 0.12*d.width)
		holds(t, what+"area, mm2", section.Measured{Value: spot.Area}, d.area, 0.15*d.area)
	}
}

// holds wants a figure within its own uncertainty and within a limit of what others found.
func holds(t *testing.T, what string, got section.Measured, others, limit float64) {
	t.Helper()
	t.Logf("%s: %.6g ± %.2g, by others %.6g", what, got.Value, got.U, others)
	if off := math.Abs(got.Value - others); off > limit || got.U > 0 && off > got.U {
		t.Errorf("%s: %.6g ± %.2g, by others %.6g", what, got.Value, got.U, others)
	}
}

// dip is a spot as it lies between slices with and without it, mm.
type dip struct {
	depth, volume, x, station float64
	length, width             float64 // of what is deeper than a tenth of the depth, where an edge is drawn
	area                      float64 // of what is deeper than a limit
}

// between returns the spot of one skin between slices: the low spot lies on the upper skin, the high one on the
// lower.
func between(with, without []cut, stations []float64, upper bool, limit float64) (d dip) {
	step := stations[1] - stations[0]
	var depths [][]float64
	for i := range stations {
		a, b := with[i].skin(upper), without[i].skin(upper)
		var row []float64
		for x := 300.0; x < 800; x++ {
			v := math.Abs(a.height(x) - b.height(x))
			row = append(row, v)
			d.volume += v * step
			if v > limit {
				d.area += step
			}
			if v > d.depth {
				d.depth, d.x, d.station = v, x, stations[i]
			}
		}
		depths = append(depths, row)
	}
	for _, row := range depths {
		deep := 0.0
		for _, v := range row {
			if v > d.depth/10 {
				deep++
			}
		}
		d.length = math.Max(d.length, deep)
		if at := int(d.x) - 300; row[at] > d.depth/10 {
			d.width += step
		}
	}
	return d
}

// heights are the heights of a skin at even steps of 1 mm along the chord.
type heights map[int]float64

// skin returns the heights of a slice's upper or lower skin.
func (c cut) skin(upper bool) heights {
	h := heights{}
	for _, p := range c {
		a, b := p[0], p[1]
		if a.X > b.X {
			a, b = b, a
		}
		for k := int(math.Ceil(a.X)); float64(k) <= b.X && b.X > a.X; k++ {
			z := a.Y + (b.Y-a.Y)*(float64(k)-a.X)/(b.X-a.X)
			if old, ok := h[k]; !ok || (z > old) == upper {
				h[k] = z
			}
		}
	}
	return h
}

func (h heights) height(x float64) float64 { return h[int(x)] }

package airfoil

import (
	"fmt"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// near fails unless got lies within tolerance of want; all three in the unit of the caller's table.
func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.6f, want %.6f within %g", what, got, want, tolerance)
	}
}

// tableRow is one station of a published table, per cent of the chord: the value by the equation and the value
// as printed for both surfaces. NaN where the source gives none.
type tableRow struct{ x, upper, upperPrinted, lower, lowerPrinted float64 }

// The tables of facts.md 1.2. "By the equation": the combined section cut at the round x, to three decimals.
// Printed: Abbott & von Doenhoff 1959, appendix III (2412 and 4412 read in copies of an open collection of
// coordinates; 0012 and 23012 from memory).
func published() map[string][]tableRow {
	nan := math.NaN()
	return map[string][]tableRow{
		"NACA 0012": {
			{0.5, 1.221, nan, -1.221, nan}, {1.25, 1.894, 1.894, -1.894, -1.894}, {2.5, 2.615, 2.615, -2.615, -2.615},
			{5, 3.555, 3.555, -3.555, -3.555}, {7.5, 4.200, 4.200, -4.200, -4.200}, {10, 4.683, 4.683, -4.683, -4.683},
			{15, 5.345, 5.345, -5.345, -5.345}, {20, 5.738, 5.737, -5.738, -5.737}, {25, 5.941, 5.941, -5.941, -5.941},
			{30, 6.002, 6.002, -6.002, -6.002}, {40, 5.803, 5.803, -5.803, -5.803}, {50, 5.294, 5.294, -5.294, -5.294},
			{60, 4.563, 4.563, -4.563, -4.563}, {70, 3.664, 3.664, -3.664, -3.664}, {80, 2.623, 2.623, -2.623, -2.623},
			{90, 1.448, 1.448, -1.448, -1.448}, {95, 0.807, 0.807, -0.807, -0.807}, {100, 0.126, 0.126, -0.126, -0.126},
		},
		"NACA 2412": {
			{1.25, 2.160, 2.15, -1.652, -1.65}, {2.5, 2.986, 2.99, -2.268, -2.27}, {5, 4.131, 4.13, -3.005, -3.01},
			{7.5, 4.968, 4.96, -3.458, -3.46}, {10, 5.629, 5.63, -3.761, -3.75}, {15, 6.607, 6.61, -4.102, -4.10},
			{20, 7.261, 7.26, -4.228, -4.23}, {25, 7.670, 7.67, -4.221, -4.22}, {30, 7.879, 7.88, -4.129, -4.12},
			{40, 7.803, 7.80, -3.803, -3.80}, {50, 7.243, 7.24, -3.346, -3.34}, {60, 6.351, 6.36, -2.778, -2.76},
			{70, 5.178, 5.18, -2.154, -2.14}, {80, 3.750, 3.75, -1.502, -1.50}, {90, 2.071, 2.08, -0.829, -0.82},
			{95, 1.134, 1.14, -0.482, -0.48}, {100, 0.128, 0.13, -0.126, -0.13},
		},
		"NACA 4412": {
			{1.25, 2.448, 2.44, -1.434, -1.43}, {2.5, 3.381, 3.39, -1.947, -1.95}, {5, 4.732, 4.73, -2.483, -2.49},
			{7.5, 5.760, 5.76, -2.743, -2.74}, {10, 6.598, 6.59, -2.864, -2.86}, {15, 7.888, 7.89, -2.879, -2.88},
			{20, 8.797, 8.80, -2.732, -2.74}, {25, 9.405, 9.41, -2.509, -2.50}, {30, 9.759, 9.76, -2.259, -2.26},
			{40, 9.803, 9.80, -1.803, -1.80}, {50, 9.192, 9.19, -1.399, -1.40}, {60, 8.140, 8.14, -0.996, -1.00},
			{70, 6.696, 6.69, -0.648, -0.65}, {80, 4.882, 4.89, -0.386, -0.39}, {90, 2.699, 2.71, -0.215, -0.22},
			{95, 1.465, 1.47, -0.161, -0.16}, {100, 0.130, 0.13, -0.125, -0.13},
		},
		"NACA 23012": {
			{1.25, 2.673, 2.67, -1.260, -1.23}, {2.5, 3.617, 3.61, -1.728, -1.71}, {5, 4.916, 4.91, -2.262, -2.26},
			{7.5, 5.806, 5.80, -2.626, -2.61}, {10, 6.437, 6.43, -2.938, -2.92}, {15, 7.184, 7.19, -3.507, -3.50},
			{20, 7.498, 7.50, -3.980, -3.97}, {25, 7.596, 7.60, -4.290, -4.28}, {30, 7.549, 7.55, -4.457, -4.46},
			{40, 7.134, 7.14, -4.475, -4.48}, {50, 6.407, 6.41, -4.184, -4.17}, {60, 5.456, 5.47, -3.673, -3.67},
			{70, 4.335, 4.36, -2.994, -3.00}, {80, 3.072, 3.08, -2.176, -2.16}, {90, 1.673, 1.68, -1.223, -1.23},
			{95, 0.920, 0.92, -0.694, -0.70}, {100, 0.126, 0.13, -0.126, -0.13},
		},
	}
}

func TestOrdinatesAgreeWithPublishedTables(t *testing.T) {
	// Of the printed tables, per cent of the chord: facts.md 1.2, which notes slips in the printed book.
	printedWithin := map[string]float64{"NACA 0012": 0.0011, "NACA 2412": 0.02, "NACA 4412": 0.012, "NACA 23012": 0.03}
	const rounding = 0.0006 // of three decimals, and 1e-4 for the equation itself
	for name, rows := range published() {
		a := must(t, name)
		for _, r := range rows {
			upper, lower := 100*a.Upper(r.x/100), 100*a.Lower(r.x/100)
			at := fmt.Sprintf("%s at %g %%", name, r.x)
			near(t, at+", upper by the equation", upper, r.upper, rounding)
			near(t, at+", lower by the equation", lower, r.lower, rounding)
			if !math.IsNaN(r.upperPrinted) {
				near(t, at+", upper as printed", upper, r.upperPrinted, printedWithin[name])
				near(t, at+", lower as printed", lower, r.lowerPrinted, printedWithin[name])
			}
		}
	}
}

func TestSurfacePointsAtMeanLineStations(t *testing.T) {
	// facts.md 1.2, per cent of the chord: x_u, z_u, x_l, z_l laid off from the mean line's x.
	stations := []float64{1.25, 5, 30, 70}
	for name, rows := range map[string][4][4]float64{
		"NACA 2412": {{1.0674, 2.0081, 1.4326, -1.7620}, {4.6901, 4.0099, 5.3099, -3.0724},
			{29.8500, 7.8749, 30.1500, -4.1249}, {70.1221, 5.1619, 69.8779, -2.1619}},
		"NACA 4412": {{0.8898, 2.1054, 1.6102, -1.6132}, {4.3872, 4.4390, 5.6128, -2.5640},
			{29.7003, 9.7442, 30.2997, -2.2442}, {70.2437, 6.6558, 69.7563, -0.6558}},
		"NACA 23012": {{0.7633, 2.1869, 1.7367, -1.4737}, {4.4265, 4.6629, 5.5735, -2.3534},
			{30.1325, 7.5461, 29.8675, -4.4544}, {70.0809, 4.3255, 69.9191, -3.0005}},
	} {
		a := must(t, name)
		for i, want := range rows {
			s := math.Sqrt(stations[i] / 100)
			u, l := r2.Scale(100, a.curve.point(s)), r2.Scale(100, a.curve.point(-s))
			for j, got := range []float64{u.X, u.Y, l.X, l.Y} {
				near(t, fmt.Sprintf("%s at mean-line %g %%, value %d", name, stations[i], j), got, want[j], 1e-4)
			}
		}
	}
}

func TestModifiedSections(t *testing.T) {
	// facts.md 1.2, half thickness in per cent of the chord. 0012-63 is not 0012.
	for name, rows := range map[string][][2]float64{
		"NACA 0012-64": {{1.25, 1.808}, {10, 4.241}, {30, 5.828}, {40, 6.000}, {50, 5.827}, {70, 4.478}, {90, 1.868}, {100, 0.120}},
		"NACA 0012-63": {{10, 4.764}, {50, 5.407}, {70, 3.810}},
		"NACA 0012":    {{10, 4.683}, {50, 5.294}, {70, 3.664}},
	} {
		a := must(t, name)
		for _, r := range rows {
			near(t, fmt.Sprintf("%s at %g %%", name, r[0]), 100*a.Upper(r[0]/100), r[1], 0.0006)
		}
	}
}

func TestModifiedBranchesMeet(t *testing.T) {
	for i := range 10 {
		for m := 2; m <= 6; m++ {
			f := newModified(0.12, i, m)
			x := float64(m) / 10
			ahead, slopeAhead := f.at(math.Sqrt(x - 1e-9))
			behind, slopeBehind := f.at(math.Sqrt(x))
			name := fmt.Sprintf("0012-%d%d", i, m)
			near(t, name+" half thickness", ahead, 0.06, 1e-8)
			near(t, name+" half thickness, rear", behind, 0.06, 1e-8)
			near(t, name+" slope, front", slopeAhead, 0, 1e-7)
			near(t, name+" slope, rear", slopeBehind, 0, 1e-7)
			const h = 1e-4 // equal curvature: second differences of both branches
			bend := func(f0, f1, f2 float64) float64 { return (f0 - 2*f1 + f2) / (h * h) }
			y := func(x float64) float64 { v, _ := f.at(math.Sqrt(x)); return v }
			fore := bend(y(x-1e-9), y(x-1e-9-h), y(x-1e-9-2*h))
			aft := bend(y(x), y(x+h), y(x+2*h))
			near(t, name+" curvature", fore, aft, 0.01*math.Abs(aft)+0.01)
		}
	}
}

// TestRearSlope holds the slope at the tail to the table of NACA Rep. 492 as facts.md gives it: 1.000t, 1.170t,
// 1.575t, 2.325t, 3.500t.
func TestRearSlope(t *testing.T) {
	for m, want := range map[int]float64{2: 1.000, 3: 1.170, 4: 1.575, 5: 2.325, 6: 3.500} {
		_, dy := newModified(0.12, 6, m).at(1)
		near(t, fmt.Sprintf("0012-6%d", m), -dy/2/0.12, want, 1e-9) // d/ds is 2 d/dx at the tail
	}
}

func TestNoseRadius(t *testing.T) {
	// facts.md 1.2, per cent of the chord; the modified ones by 1.1019 (I t/6)^2, index 9 by three times index 6.
	for name, want := range map[string]float64{
		"NACA 0006": 0.397, "NACA 0009": 0.893, "NACA 2412": 1.587, "NACA 4415": 2.479, "NACA 23018": 3.570, "NACA 0021": 4.859,
		"NACA 0012-64": 1.587, "NACA 0012-34": 1.587 / 4, "NACA 0012-94": 3 * 1.587, "NACA 0012-04": 0,
	} {
		near(t, name, 100*must(t, name).NoseRadius(), want, 0.0011)
	}
	// The radius is that of the curve itself: z^2 -> 2 r x at the nose.
	for _, name := range []string{"NACA 0012", "NACA 0018-43"} {
		a := must(t, name)
		p := a.curve.point(1e-4)
		near(t, name+" from the curve", p.Y*p.Y/2/p.X, a.NoseRadius(), 1e-3*a.NoseRadius())
	}
}

func TestNoseSlope(t *testing.T) {
	// Slope of the radius through the leading edge, facts.md 1.2.
	for name, want := range map[string]float64{"NACA 2412": 0.10, "NACA 4412": 0.20, "NACA 23012": 0.305} {
		_, slope, _ := must(t, name).formula.line.at(0)
		near(t, name, slope, want, 5e-4)
	}
}

func TestMeanLines(t *testing.T) {
	// Greatest camber (per cent of the chord) and its place: facts.md 1.1 for a lift of 0.3; the 4-digit name
	// says its own. The reflexed ones fall on P exactly only with the ratio of NACA Rep. 537, page 522.
	for name, want := range map[string][2]float64{
		"NACA 21012": {1.113, 0.05}, "NACA 22012": {1.534, 0.10}, "NACA 23012": {1.839, 0.15},
		"NACA 24012": {2.080, 0.20}, "NACA 25012": {2.263, 0.25},
		"NACA 22112": {1.646, 0.10}, "NACA 23112": {2.079, 0.15}, "NACA 24112": {2.408, 0.20}, "NACA 25112": {2.736, 0.25},
		"NACA 2412": {2, 0.4}, "NACA 4412": {4, 0.4}, "NACA 6309": {6, 0.3},
		"NACA 43012": {2 * 1.839, 0.15}, "NACA 63112": {3 * 2.079, 0.15}, // k1 grows with the lift
	} {
		camber, at := must(t, name).Camber()
		near(t, name+" camber", 100*camber, want[0], 0.0016)
		near(t, name+" place", at, want[1], 3e-4)
	}
}

func TestReflexRatio(t *testing.T) {
	// facts.md 1.1, the column "kappa by the equation".
	for _, c := range []struct{ m, p, want float64 }{
		{.1300, .10, .000764}, {.2170, .15, .006767}, {.3180, .20, .030309}, {.4410, .25, .135547},
	} {
		near(t, fmt.Sprintf("m = %g", c.m), reflexRatio(c.m, c.p), c.want, 5e-7)
	}
}

func TestReflexedMeanLineIsSmoothAndEndsOnTheChord(t *testing.T) {
	for _, name := range []string{"NACA 22112", "NACA 23112", "NACA 24112", "NACA 25112", "NACA 23012"} {
		l := must(t, name).formula.line.(threeDigit)
		start, _, _ := l.at(0)
		end, _, _ := l.at(1)
		near(t, name+" at the nose", start, 0, 1e-12)
		near(t, name+" at the tail", end, 0, 1e-12)
		za, sa, ba := l.at(l.m - 1e-9)
		zb, sb, bb := l.at(l.m)
		near(t, name+" height", za, zb, 1e-8)
		near(t, name+" slope", sa, sb, 1e-7)
		near(t, name+" bend", ba, bb, 1e-5)
	}
}

func TestTape(t *testing.T) {
	// Factor and angle: facts.md 1.2, whose angles (-0.092, -0.175, -0.258) came from a coarse grid; on two million
	// points the farthest point lies at -0.0908, -0.1768, -0.2561 degrees.
	for name, want := range map[string][2]float64{
		"NACA 0012": {1, 0}, "NACA 2412": {1.00008, -0.0908}, "NACA 4412": {1.000305, -0.1768}, "NACA 23012": {1.00066, -0.2561},
	} {
		factor, angle := must(t, name).Tape()
		near(t, name+" factor", factor, want[0], 6e-6)
		near(t, name+" angle", angle*180/math.Pi, want[1], 2e-4)
	}
}

func TestTraits(t *testing.T) {
	a := must(t, "NACA 0012")
	thickness, at := a.Thickness()
	near(t, "thickness", thickness, 2*0.50014*0.12, 1e-6) // facts.md 1.1
	near(t, "its place", at, 0.2998, 1e-4)
	near(t, "tail", a.TailThickness(), 2*0.0105*0.12, 1e-12)
	u1, l1 := a.Upper(1), a.Upper(1-1e-4)
	near(t, "tail slope", (l1-u1)/1e-4, 1.16925*0.12, 1e-4)
	if !a.Symmetric() || must(t, "NACA 2412").Symmetric() {
		t.Error("0012 is symmetric, 2412 is not")
	}
	if camber, place := a.Camber(); camber != 0 || place != 0 {
		t.Errorf("camber of 0012: %g at %g", camber, place)
	}
}

package simulate

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
	"tipwright/section/airfoil"
)

// thickness12 is the half thickness of NACA 0012 (NACA Rep. 460, 1933), chord 1, written down here again so
// that the skin is held to the formula and not to the package that it is made from.
func thickness12(x float64) float64 {
	return 0.6 * (0.2969*math.Sqrt(x) - 0.1260*x - 0.3516*x*x + 0.2843*x*x*x - 0.1015*x*x*x*x)
}

func parse(t testing.TB, name string) *airfoil.Airfoil {
	t.Helper()
	a, err := airfoil.Parse(name)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// lofted is a wing with every slope and no departure.
func lofted(t testing.TB, side section.Side) Wing {
	return Wing{
		Airfoil: parse(t, "NACA 0012"), Side: side, Chord: 1000, Span: 500,
		Taper: 0.1, TaperAbout: 0.25, Twist: 1e-4, TwistAbout: 0.25, Sweep: 0.05, Dihedral: -0.08,
	}
}

// unloft takes a point of the lofted wing back to chord 1 by the words of Wing's comment.
func unloft(p r3.Vec, inboard float64) (x, z float64) {
	station := p.Y * inboard
	chord := 1000 + 0.1*station
	quarter := r2.Vec{X: 250 + 0.05*station, Y: -0.08 * station} // sweep and dihedral are those of the quarter-chord line
	d := r2.Sub(r2.Vec{X: p.X, Y: p.Z}, quarter)
	a := 1e-4 * station // nose up: turn it nose down again, aft goes up
	d = r2.Vec{X: d.X*math.Cos(a) - d.Y*math.Sin(a), Y: d.X*math.Sin(a) + d.Y*math.Cos(a)}
	return 0.25 + d.X/chord, d.Y / chord
}

func TestPointsLieOnTheFormula(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		w := lofted(t, side)
		b := newBuilder(&w, &Scanner{Points: 20000})
		b.cloud()
		worst := 0.0
		for _, v := range b.vertices {
			if v.on == Both {
				continue // the tail's aft face
			}
			x, z := unloft(v.p, side.Inboard())
			// Near the nose a height says little about the distance; there the thickness is inverted instead.
			d := math.Abs(math.Abs(z) - thickness12(math.Max(x, 0)))
			if slope := 0.6 * 0.5 * 0.2969 / math.Sqrt(math.Max(x, 1e-12)); slope > 1 {
				d /= slope
			}
			worst = math.Max(worst, d*1050)
		}
		// 1e-6 mm: the cubic through 4001 points and the inversion above.
		if worst > 1e-6 {
			t.Errorf("%v: a point lies %.2g mm off the formula", side, worst)
		}
	}
}

func TestTwistSweepAndTaper(t *testing.T) {
	w := lofted(t, section.Left)
	k := newSkin(&w)
	truth := newTruth(k, section.Identity(), 0)
	incidence := func(station float64) float64 {
		o := truth.TargetAt(station, 0)
		nose, tail := truth.LeadingEdge(station), r2.Scale(0.5, r2.Add(o[0], o[len(o)-1]))
		return math.Atan2(nose.Y-tail.Y, tail.X-nose.X)
	}
	if got := incidence(400) - incidence(0); math.Abs(got-0.04) > 1e-6 {
		t.Errorf("400 mm inboard the nose is %.5f rad up, want 0.04", got)
	}
	if got := truth.LeadingEdge(0); r2.Norm(got) > 1e-12 {
		t.Errorf("the frame's origin is not the leading edge but %v", got)
	}
	for _, s := range []float64{100, 500} {
		o := truth.TargetAt(s, 0)
		tail := r2.Scale(0.5, r2.Add(o[0], o[len(o)-1]))
		if got := r2.Norm(r2.Sub(truth.LeadingEdge(s), tail)); math.Abs(got-(1000+0.1*s)) > 1e-6 {
			t.Errorf("chord %.4f at station %g, want %.4f", got, s, 1000+0.1*s)
		}
	}
}

func TestDeflectionLowersTheTail(t *testing.T) {
	w := lofted(t, section.Left)
	w.Hinge, w.HingeZ, w.Deflection = 0.75, 0.01, 0.03
	truth := newTruth(newSkin(&w), section.Identity(), 0)
	// About (750, 10): the middle of the tail, 250 mm aft and 10 mm below, by hand.
	tail := r2.Scale(0.5, r2.Add(truth.AsBuilt[0], truth.AsBuilt[outlineEven-1]))
	want := r2.Vec{X: 750 + 250*math.Cos(0.03) - 10*math.Sin(0.03), Y: 10 - 250*math.Sin(0.03) - 10*math.Cos(0.03)}
	if d := r2.Norm(r2.Sub(tail, want)); d > 1e-6 {
		t.Errorf("the tail stands at %v, want %v", tail, want)
	}
	if d := r2.Norm(r2.Sub(truth.Target[0], truth.Nominal[0])); d > 1e-9 {
		t.Errorf("the target's aileron is off neutral by %g mm", d)
	}
}

// spotted is a cambered wing with one spot.
func spotted(t testing.TB, b Bump) Wing {
	return Wing{Airfoil: parse(t, "NACA 4412"), Side: section.Left, Chord: 1000, Span: 400, SkinOffset: 0.3, Spots: []Bump{b}}
}

func TestSpotVolumeByIntegration(t *testing.T) {
	for _, b := range []Bump{
		{Surface: Upper, X: 400, Station: 150, Length: 160, Width: 120, Height: -1.2},
		{Surface: Lower, X: 300, Station: 200, Length: 100, Width: 180, Height: 0.6},
		{Surface: Upper, X: 500, Station: 20, Length: 150, Width: 100, Height: -0.9}, // cut by the tip
		{Surface: Lower, X: 600, Station: 390, Length: 120, Width: 90, Height: -0.9}, // cut by the inboard end
	} {
		w := spotted(t, b)
		truth := newTruth(newSkin(&w), section.Identity(), 0)
		volume, area := 0.0, 0.0
		height := w.Airfoil.Upper
		if b.Surface == Lower {
			height = w.Airfoil.Lower
		}
		const step = 2.0 // mm
		for x := b.X - b.Length; x < b.X+b.Length; x += step {
			rise := height((x+step/2)/1000) - height((x-step/2)/1000)
			arc := math.Hypot(step, 1000*rise)
			for s := step / 2; s < w.Span; s += step {
				d := truth.Departure(b.Surface, x, s) - truth.FormDeparture(b.Surface, x, s)
				volume += math.Abs(d) * arc * step
				if d != 0 {
					area += arc * step
				}
			}
		}
		got := truth.Spots[0]
		if math.Abs(got.Volume/volume-1) > 0.003 || math.Abs(got.Area/area-1) > 0.01 {
			t.Errorf("%+v: volume %.1f area %.0f, integrated %.1f and %.0f", b, got.Volume, got.Area, volume, area)
		}
		if d := truth.Departure(b.Surface, b.X, b.Station); math.Abs(d-b.Height-0.3) > 1e-9 {
			t.Errorf("%+v: departs by %g in its middle", b, d)
		}
	}
}

func TestOutlinesAtTheTipRib(t *testing.T) {
	w := spotted(t, Bump{Surface: Upper, X: 400, Station: 0, Length: 160, Width: 120, Height: -1.2})
	w.Spots = append(w.Spots, Bump{Surface: Lower, X: 500, Station: 0, Length: 160, Width: 120, Height: 0.7})
	truth := newTruth(newSkin(&w), section.Identity(), 0)
	for name, c := range map[string]struct {
		a, b []r2.Vec
		want float64 // greatest distance between the two
	}{
		"as built":          {truth.AsBuilt, truth.Target, 1.2},
		"target":            {truth.Target, truth.Nominal, 0.3},
		"target with highs": {truth.TargetWithHigh, truth.Target, 0.7},
	} {
		worst := 0.0
		for i := range c.a {
			worst = max(worst, r2.Norm(r2.Sub(c.a[i], c.b[i])))
		}
		if math.Abs(worst-c.want) > 1e-3 {
			t.Errorf("%s: %.4f mm, want %g", name, worst, c.want)
		}
	}
}

func TestSpotReachesRoundTheNose(t *testing.T) {
	w := spotted(t, Bump{Surface: Upper, X: 4, Station: 100, Length: 120, Width: 80, Height: -1})
	k := newSkin(&w)
	for _, off := range []float64{-1e-9, 1e-9} {
		if d := k.departure(k.foot(k.c.nose+off), 100, lowPart); d > -0.7 || d < -0.95 {
			t.Errorf("beside the nose the spot is %.3f mm high", d)
		}
	}
}

func TestAreaDeeper(t *testing.T) {
	b := Bump{Length: 100, Width: 80, Height: -1}
	n, deep := 0, 0
	for x := -50.0; x < 50; x += 0.25 {
		for y := -40.0; y < 40; y += 0.25 {
			n++
			if b.height(x, y) < -0.4 {
				deep++
			}
		}
	}
	if got, want := b.AreaDeeper(0.4), float64(deep)/float64(n)*8000; math.Abs(got/want-1) > 0.01 {
		t.Errorf("%.0f mm² are deeper than 0.4 mm, counted %.0f", got, want)
	}
	if b.AreaDeeper(1.1) != 0 {
		t.Error("something is deeper than the deepest point")
	}
}

func TestSkinIsWholeAtTheNose(t *testing.T) {
	w := spotted(t, Bump{Surface: Upper, X: 1, Station: 100, Length: 1, Width: 1, Height: -1})
	w.Spots = nil
	w.Form = []Wave{{Upper, 0.5, 700, 1, 0}, {Lower, 0.4, 900, 2, 3000}}
	w.RibPitch, w.RibSag = 200, 0.8
	k := newSkin(&w)
	before := k.departure(k.foot(k.c.nose-1e-9), 130, wholeSkin)
	after := k.departure(k.foot(k.c.nose+1e-9), 130, wholeSkin)
	if math.Abs(before-after) > 1e-9 {
		t.Errorf("the skin tears at the nose: %g above, %g below", before, after)
	}
	s := k.c.arcOf(Lower, 0.5)
	w.Form = nil
	if got := []float64{k.form(k.foot(s), 0), k.form(k.foot(s), 100), k.form(k.foot(s), 200)}; math.Abs(got[0]-0.3)+math.Abs(got[1]+0.5)+math.Abs(got[2]-0.3) > 1e-9 {
		t.Errorf("at a rib, midway and at the next rib the skin lies at %v", got)
	}
}

func TestTailThickness(t *testing.T) {
	w := spotted(t, Bump{Surface: Upper, X: 1, Station: 100, Length: 1, Width: 1})
	w.TailThickness, w.SkinOffset = 4, 0
	truth := newTruth(newSkin(&w), section.Identity(), 0)
	if got := r2.Norm(r2.Sub(truth.AsBuilt[0], truth.AsBuilt[outlineEven-1])); math.Abs(got-4) > 0.02 {
		t.Errorf("the tail is %.3f mm thick, want 4", got) // square to two surfaces 16 degrees apart
	}
	if d := truth.Departure(Upper, 500, 100); math.Abs(d) > 1e-9 {
		t.Errorf("the skin is thickened by %g mm before its aft half", d)
	}
}

func TestImpossibleWingsAreRefused(t *testing.T) {
	good := spotted(t, Bump{Surface: Upper, X: 400, Station: 100, Length: 100, Width: 100, Height: -1})
	for name, spoil := range map[string]func(*Wing){
		"chord":       func(w *Wing) { w.Chord = math.NaN() },
		"span":        func(w *Wing) { w.Span = 0 },
		"inboard end": func(w *Wing) { w.Taper = -4 },
		"airfoil":     func(w *Wing) { w.Airfoil = nil },
		"side":        func(w *Wing) { w.Side = section.NoSide },
		"hinge":       func(w *Wing) { w.Hinge = 78 },
		"sweep":       func(w *Wing) { w.Sweep = math.Inf(1) },
		"spot 0":      func(w *Wing) { w.Spots = []Bump{{Surface: Both, X: 1, Length: 1, Width: 1}} },
		"wave 0":      func(w *Wing) { w.Form = []Wave{{Length: 0}} },
	} {
		w := good
		spoil(&w)
		if _, _, err := Scan(w, Scanner{Points: 1000}); err == nil || !strings.Contains(err.Error(), name) {
			t.Errorf("a wing without a good %s: %v", name, err)
		}
	}
	for _, s := range []Scanner{
		{Points: 0}, {Points: 1 << 40}, {Points: 1000, Noise: -1}, {Points: 1000, HoleShare: 1},
		{Points: 1000, CorrelatedNoise: 1}, {Points: 1000, SplitUpper: Split{Shift: r3.Vec{X: math.NaN()}}},
		{Points: 1000, Pose: section.Transform{R: section.Identity().R, Scale: 2}},
	} {
		if _, _, err := Scan(good, s); err == nil {
			t.Errorf("accepted %s", fmt.Sprintf("%+v", s)[:60])
		}
	}
}

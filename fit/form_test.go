package fit

import (
	"math"
	"strings"
	"testing"
)

// transmission is what the form's filter passes of a wave by its doc comment: once fitted, once more on
// what is left.
func transmission(cut, length float64) float64 {
	once := 1 / (1 + math.Pow(cut/length, 8))
	return 1 - (1-once)*(1-once)
}

// passed fits the bare form, no regions taken out, to a wave without noise and returns what it keeps of it
// on a stretch away from the tail.
func passed(t *testing.T, length float64) float64 {
	t.Helper()
	w := small()
	w.noise, w.points = 0.01, 1e7
	w.form = func(arc, _ float64) float64 { return math.Cos(2 * math.Pi * arc / length) }
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	cut := formCut * w.chord
	f := newForm(p, cut)
	f.nose, f.shifted = -10*w.chord, false // the filter itself, without its freedom at the nose
	if !f.solve(p, p.w, cut) {
		t.Fatal("the form's equations cannot be solved")
	}
	var both, wave float64
	for arc := 0.5 * w.chord; arc < 1.5*w.chord; arc++ {
		both += f.at(arc, 150) * w.form(arc, 0)
		wave += w.form(arc, 0) * w.form(arc, 0)
	}
	return both / wave
}

func TestFormTransmission(t *testing.T) {
	t.Parallel()
	chord := small().chord
	for _, c := range []struct{ length, least, most float64 }{
		{0.10, -0.01, 0.01},
		{0.15, 0, 0.04},
		{0.20, 0.12, 0.20},
		{0.242, 0.45, 0.55}, // the half
		{0.30, 0.87, 0.95},
		{0.40, 0.98, 1.01},
		{0.80, 0.999, 1.001},
		{2.00, 0.999, 1.001},
	} {
		got := passed(t, c.length*chord)
		if got < c.least || got > c.most {
			t.Errorf("a wave of %.3f chords passes by %.3f, want %.3f to %.3f", c.length, got, c.least, c.most)
		}
		if want := transmission(formCut, c.length); math.Abs(got-want) > 0.03 {
			t.Errorf("a wave of %.3f chords passes by %.3f, by the formula %.3f", c.length, got, want)
		}
	}
}

// A single spot leaks into the form at its middle by less than a hundredth of its depth; left in, it would leak
// by a tenth or two.
func TestSpotLeak(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ width, left, taken float64 }{
		{100, 0.10, 0.006}, {150, 0.18, 0.006}, {200, 0.30, 0.010},
	} {
		w := small()
		w.noise = 0.05
		w.dents = []dent{{700, 150, c.width, c.width, -2}}
		p, err := newPanel(w.survey(t, 3), 300)
		if err != nil {
			t.Fatal(err)
		}
		cut := formCut * w.chord
		bare := newForm(p, cut)
		if !bare.solve(p, p.w, cut) {
			t.Fatal("the form's equations cannot be solved")
		}
		out, err := part(p, cut)
		if err != nil {
			t.Fatal(err)
		}
		truth := w.form(700, 150)
		left, taken := (truth-bare.at(700, 150))/2, (truth-out.form.at(700, 150))/2
		t.Logf("%.0f mm wide: left in %.3f of its depth leaks, taken out %.4f", c.width, left, taken)
		if left > c.left || math.Abs(taken) > c.taken {
			t.Errorf("%.0f mm wide: left in %.3f of its depth leaks (want below %.2f), taken out %.4f (want below %.3f)",
				c.width, left, c.left, taken, c.taken)
		}
	}
}

// The figures of the form and of the skin at station 0 on whole panels: 400 thousand points with 0.5 mm
// noise, a quarter of the band low or high.
func TestFormAndSkinAtTheRib(t *testing.T) {
	t.Parallel()
	var rms2, count float64
	for seed := range uint64(3) {
		w := crowded(seed)
		r := fitted(t, &w, seed, wishes())
		e := errorsAtRib(&w, r)
		t.Logf("seed %d, %d spots: form %.3f mm rms, worst %.3f; skin %.3f mm rms, worst %.3f",
			seed, len(w.dents), e.form, e.worstForm, e.skin, e.worstSkin)
		if e.form > 0.05 || e.worstForm > 0.3 {
			t.Errorf("seed %d: form off by %.3f mm rms, %.3f at worst", seed, e.form, e.worstForm)
		}
		if e.skin > 0.042 {
			t.Errorf("seed %d: skin off by %.3f mm rms", seed, e.skin)
		}
		rms2, count = rms2+square(e.skin), count+1
	}
	if rms := math.Sqrt(rms2 / count); rms > 0.03 {
		t.Errorf("skin off by %.3f mm rms over all seeds, want 0.03", rms)
	}
}

func TestFormWithoutSpots(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		w := small()
		w.form = waves(seed, w.chord, 1)
		e := errorsAtRib(&w, fitted(t, &w, seed, wishes()))
		if e.form > 0.03 || e.worstForm > 0.1 || e.skin > 0.03 {
			t.Errorf("seed %d: %+v", seed, e)
		}
	}
}

// A low spot right across the panel is told from the form by its length along the arc alone.
func TestSpotAcrossThePanel(t *testing.T) {
	t.Parallel()
	w := small()
	w.dents = []dent{{600, 150, 150, 1e6, -1}}
	r := fitted(t, &w, 1, wishes())
	if len(r.LowSpots) != 1 || math.Abs(r.LowSpots[0].Depth.Value-1) > 0.12 {
		t.Fatalf("got %+v, want one spot 1 mm deep", r.LowSpots)
	}
	if e := errorsAtRib(&w, r); e.form > 0.03 {
		t.Errorf("form off by %.3f mm rms", e.form)
	}
}

// Without an airfoil nothing is said about a drawing.
func TestStandInIsNoNominal(t *testing.T) {
	t.Parallel()
	w := small()
	s := w.survey(t, 1)
	s.StandIn = true
	r, err := Fit(s, wishes())
	if err != nil {
		t.Fatal(err)
	}
	if r.Nominal != nil || r.NominalRMS != 0 || r.WorstLow != 0 || r.WorstHigh != 0 || r.OffsetMean != 0 {
		t.Error("a stand-in is shown as the nominal")
	}
}

// A skin that sags between its ribs keeps its form, and a spot in a bay is still found.
func TestRibSag(t *testing.T) {
	t.Parallel()
	w := small()
	flat, nose := w.form, w.survey(t, 1).Map.NoseArc
	limit := fitted(t, &w, 1, wishes()).DetectionLimit
	const pitch, deep = 200.0, 0.8
	w.form = func(arc, station float64) float64 {
		fade := math.Min(math.Abs(arc-nose)/(0.1*w.chord), 1)
		s := math.Sin(math.Pi * station / pitch)
		return flat(arc, station) - deep*s*s*fade*fade*(3-2*fade)
	}
	d := dent{500, 100, 130, 130, -1}
	w.dents = []dent{d}
	r := fitted(t, &w, 1, wishes())
	if e := errorsAtRib(&w, r); e.form > 0.05 || e.skin > 0.05 {
		t.Errorf("form off by %.3f mm rms, skin by %.3f", e.form, e.skin)
	}
	s, ok := find(r, d)
	if !ok || len(r.LowSpots)+len(r.HighSpots) != 1 || !within(s.Depth, 1) {
		t.Errorf("low spots %+v, high spots %+v", r.LowSpots, r.HighSpots)
	}
	if r.DetectionLimit > 1.3*limit {
		t.Errorf("detection limit %.2f mm, without sag %.2f", r.DetectionLimit, limit)
	}
	if text, n := message(r, "skin-sags"); n != 1 || !strings.Contains(text, "0.8 mm") {
		t.Errorf("the sag is told %d times: %s", n, text)
	}
	w.form, w.dents = flat, nil
	if r := fitted(t, &w, 2, wishes()); r.work.parted.form.sags {
		t.Error("a skin that does not sag is given a sag")
	}
}

func TestHingeStep(t *testing.T) {
	t.Parallel()
	for name, step := range map[string]float64{"step": -0.6, "none": 0} {
		w := small()
		w.hinge = 0.75
		s := w.survey(t, 1)
		smooth, hinge := w.form, s.Map.HingeArc[0]
		w.form = func(arc, station float64) float64 {
			if arc < hinge {
				return smooth(arc, station) + step
			}
			return smooth(arc, station)
		}
		w.dents = []dent{{1700, 100, 150, 150, -1}}
		r := fitted(t, &w, 1, wishes())
		if got := r.work.parted.form.breaks[0]; got != (step != 0) {
			t.Errorf("%s: break on the upper surface %v", name, got)
		}
		if r.work.parted.form.breaks[1] {
			t.Errorf("%s: break on the lower surface, where there is none", name)
		}
		var sum, n float64
		for _, tr := range r.Sections {
			if math.Abs(tr.Arc-hinge) > 8 {
				sum, n = sum+square(tr.Form-w.form(tr.Arc, 0)), n+1
			}
		}
		if rms := math.Sqrt(sum / n); rms > 0.04 {
			t.Errorf("%s: form off by %.3f mm rms", name, rms)
		}
	}
}

// gains fits the form, its freedom at the nose included, to a cosine and a sine of a length and returns what it keeps of
// them together in bands of distance from the leading edge, chords.
func gains(t *testing.T, length float64, bands []float64) []float64 {
	t.Helper()
	kept, sums := make([]float64, len(bands)-1), make([]float64, len(bands)-1)
	for _, phase := range []float64{0, math.Pi / 2} {
		w := small()
		w.noise, w.points = 0.01, 1e7
		w.form = func(arc, _ float64) float64 { return math.Cos(2*math.Pi*arc/length + phase) }
		p, err := newPanel(w.survey(t, 1), 300)
		if err != nil {
			t.Fatal(err)
		}
		cut := formCut * w.chord
		f := newForm(p, cut)
		if !f.solve(p, p.w, cut) {
			t.Fatal("the form's equations cannot be solved")
		}
		for b := range kept {
			for d := bands[b] * w.chord; d < bands[b+1]*w.chord; d++ {
				for _, arc := range []float64{f.nose - d, f.nose + d} {
					kept[b] += f.at(arc, 150) * w.form(arc, 0)
					sums[b] += square(w.form(arc, 0))
				}
			}
		}
	}
	for b := range kept {
		kept[b] /= sums[b]
	}
	return kept
}

// Near the leading edge ever shorter waves pass, as the form's doc comment says: of a wave of 0.15 chords all within 0.03
// chords of it, a half 0.12 chords from it and nothing beyond a quarter.
func TestFormTransmissionAtTheNose(t *testing.T) {
	t.Parallel()
	bands := []float64{0, 0.03, 0.06, 0.1, 0.15, 0.2, 0.3, 0.5}
	for length, want := range map[float64][]float64{
		0.05: {0.35, -0.05, 0, 0, 0, 0, 0},
		0.10: {1.05, 0.5, 0.35, 0.15, 0, 0, 0},
		0.15: {1.1, 0.8, 0.7, 0.5, 0.35, 0.1, 0},
		0.20: {1, 1.1, 1, 0.85, 0.65, 0.45, 0.2},
		0.30: {1, 1, 1, 1.05, 1.05, 0.95, 0.9},
		0.40: {1, 1, 1, 1, 1, 1, 1},
	} {
		for b, got := range gains(t, length*small().chord, bands) {
			if math.Abs(got-want[b]) > 0.07 {
				t.Errorf("a wave of %.2f chords passes by %.2f from %.2f to %.2f chords off the leading edge, want %.2f", length, got, bands[b], bands[b+1], want[b])
			}
		}
	}
}

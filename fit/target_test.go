package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan"
)

// The target is the form where nothing stands proud, and nowhere cuts into the skin by more than the sand
// limit; it comes down from a high spot without a corner.
func TestTargetNeverCutsTheSkin(t *testing.T) {
	t.Parallel()
	w := small()
	w.dents = []dent{{500, 20, 150, 150, 1.2}, {900, 0, 120, 120, -1.5}, {1500, 60, 100, 180, 0.6}}
	r := fitted(t, &w, 1, wishes())
	const sand = 0.2
	var last, slope float64
	for i, tr := range r.Sections {
		if cut := w.truth(tr.Arc, 0) - tr.Target; cut > sand+2*tr.Departure.U {
			t.Errorf("arc %.0f: the target cuts %.2f mm into the skin", tr.Arc, cut)
		}
		far := true
		for _, d := range w.dents {
			far = far && (d.depth < 0 || math.Abs(tr.Arc-d.arc) > 300)
		}
		if far && tr.Target != tr.Form {
			t.Errorf("arc %.0f: the target leaves the form by %.3f mm far from any high spot", tr.Arc, tr.Target-tr.Form)
		}
		if i > 0 {
			now := (tr.Target - tr.Form - last) / (w.columns)
			if math.Abs(now) > 0.02 || math.Abs(now-slope) > 0.006 {
				t.Errorf("arc %.0f: the rise has slope %.4f after %.4f", tr.Arc, now, slope)
			}
			slope = now
		}
		last = tr.Target - tr.Form
	}
	if _, n := message(r, "target-raised"); n != 1 {
		t.Error("a raised target is not told")
	}
}

// All over the band the target lies no deeper under the skin than the sand limit.
func TestTargetInTheBand(t *testing.T) {
	t.Parallel()
	for _, nominal := range []bool{false, true} {
		w := small()
		w.scatter(3, 0.2, 250)
		opt := wishes()
		opt.TargetNominal = nominal
		r := fitted(t, &w, 1, opt)
		for k, d := range r.Map.Depth {
			if r.Map.Seen[k] && -d > opt.SandLimit+1e-9+r.Map.U[k] {
				t.Fatalf("nominal %v: the target lies %.3f mm under the skin", nominal, -d)
			}
		}
		if !nominal {
			continue
		}
		worst := math.Inf(1)
		for k, d := range r.Map.Depth {
			if r.Map.Seen[k] {
				worst = math.Min(worst, d)
			}
		}
		if worst < -opt.SandLimit-1e-9 || worst > -opt.SandLimit+0.1 {
			t.Errorf("the constant offset leaves %.3f mm to sand, want %.3f", -worst, opt.SandLimit)
		}
		first := r.Sections[0].Target
		for _, tr := range r.Sections {
			if tr.Target != first {
				t.Fatal("the nominal target's offset is not constant")
			}
		}
		if _, n := message(r, "target-nominal"); n != 1 {
			t.Error("the nominal target is not told")
		}
		if r.Filler.Volume.Value < 1e5 {
			t.Errorf("filler %.0f mm3: the band up to the nominal takes far more", r.Filler.Volume.Value)
		}
	}
}

func TestTemplates(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge, w.deflect, w.taper = 0.75, 0.03, 0.04
	opt := wishes()
	r := fitted(t, &w, 1, opt)
	if len(r.Templates) != 2 || r.Templates[0].Name != "inboard-block" || r.Templates[1].Name != "outboard-block" ||
		r.Templates[0].Station != 0 || r.Templates[1].Station != -opt.TipLength {
		t.Fatalf("templates %+v", r.Templates)
	}
	for i, tm := range r.Templates {
		if want := (1.5-0.5)/2 - 0.8; math.Abs(tm.Offset-want) > 1e-12 {
			t.Errorf("%s: offset %g, want %g", tm.Name, tm.Offset, want)
		}
		for _, p := range tm.Outline {
			if d := distanceTo(r.Target, p); math.Abs(d-0.3) > 0.01 {
				t.Fatalf("%s: a point lies %.4f mm from the target", tm.Name, d)
			}
		}
		if enclosed(tm.Outline) >= enclosed(r.Target) {
			t.Errorf("%s is not smaller than the target", tm.Name)
		}
		if i > 0 && len(tm.Outline) != len(r.Templates[0].Outline) {
			t.Error("the two blocks differ")
		}
		if !(tm.U > 0.005 && tm.U < 0.25) {
			t.Errorf("%s: uncertainty %.3f mm", tm.Name, tm.U)
		}
	}
	if len(r.Gauges) != gaugeCount+1 || r.Gauges[0].Station != 0 || r.Gauges[gaugeCount].Station != 300 {
		t.Fatalf("%d gauges", len(r.Gauges))
	}
	// The panel's chord grows by 0.04 mm per mm of station.
	lo, hi := corners(r.Gauges[gaugeCount].Outline)
	if c := hi.X - lo.X; math.Abs(c-1012) > 3 {
		t.Errorf("the gauge at 300 mm is %.1f mm long, want 1012", c)
	}
	all := [][]r2.Vec{r.AsBuilt, r.Target, r.Nominal, r.Templates[0].Outline}
	for _, g := range r.Gauges {
		all = append(all, g.Outline)
	}
	for i, p := range all {
		if len(p) < leastPoints || len(p) > mostPoints {
			t.Errorf("outline %d has %d points", i, len(p))
		}
		if len(crossings(p, false)) > 0 {
			t.Errorf("outline %d crosses itself", i)
		}
		if e := chordError(p); e > 0.01 {
			t.Errorf("outline %d: chords stand off the curve by %.4f mm", i, e)
		}
	}
}

// chordError estimates by how much the chords of a polyline stand off the smooth curve through its points:
// an eighth of the turn of direction times the length. Corners of more than 3 degrees are corners.
func chordError(p []r2.Vec) (worst float64) {
	for i := 1; i+1 < len(p); i++ {
		a, b := r2.Sub(p[i], p[i-1]), r2.Sub(p[i+1], p[i])
		turn := math.Abs(math.Atan2(r2.Cross(a, b), r2.Dot(a, b)))
		if turn < 0.05 {
			worst = math.Max(worst, turn*math.Min(r2.Norm(a), r2.Norm(b))/8)
		}
	}
	return worst
}

// The aileron is drawn as it stood in the as-built outline and at the designer's neutral in the target.
func TestAileron(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		deflect, droop float64
		code           string
		level          scan.Level
	}{
		{0.035, 0, "aileron-off-neutral", scan.Caution},
		{-0.02, 0, "aileron-off-neutral", scan.Caution},
		{0.003, 0, "aileron-neutral", scan.Note},
		{0.035, 0.035, "aileron-neutral", scan.Note},
		{0, 0.035, "aileron-off-neutral", scan.Caution},
	} {
		w := small()
		w.hinge, w.deflect = 0.75, c.deflect
		opt := wishes()
		opt.Droop = c.droop
		r := fitted(t, &w, 1, opt)
		if _, n := message(r, c.code); n != 1 || r.Verdict != c.level {
			t.Errorf("%+v: verdict %s, messages %+v", c, r.Verdict, r.Messages)
		}
		tail := w.chord * (1 - w.hinge)
		for name, p := range map[string]struct {
			outline []r2.Vec
			angle   float64
		}{"as built": {r.AsBuilt, c.deflect}, "target": {r.Target, c.droop}, "nominal": {r.Nominal, 0}} {
			end := mix(p.outline[0], p.outline[len(p.outline)-1], 0.5)
			a, _ := r.work.contour.at(0)
			b, _ := r.work.contour.at(1)
			middle := r2.Scale(w.chord/2, r2.Add(a, b))
			if sunk := middle.Y - end.Y; math.Abs(sunk-tail*math.Sin(p.angle)) > 1.5 {
				t.Errorf("%+v, %s: the tail has sunk by %.2f mm, want %.2f", c, name, sunk, tail*math.Sin(p.angle))
			}
		}
	}
}

// The filler map, added up over a spot, gives the spot's volume; what was not seen is not told.
func TestFillerMap(t *testing.T) {
	t.Parallel()
	w := small()
	w.dents = []dent{{700, 130, 160, 160, -1.4}, {1500, 150, 150, 150, -0.35}}
	w.hole = func(arc, station float64) bool { return arc > 1100 && arc < 1200 && station > 50 }
	opt := wishes()
	r := fitted(t, &w, 1, opt)
	m := &r.Map
	if len(m.Depth) != len(m.Arc)*len(m.Station) || len(m.U) != len(m.Depth) || len(m.Seen) != len(m.Depth) || len(m.X) != len(m.Arc) {
		t.Fatal("the map's parts have different sizes")
	}
	sum := 0.0
	for i, st := range m.Station {
		if st > opt.Band {
			t.Fatalf("a row at %.0f mm lies outside the band", st)
		}
		for j, arc := range m.Arc {
			k := i*len(m.Arc) + j
			inHole := arc > 1120 && arc < 1180 && st > 80
			clear := arc < 1100 || arc > 1200 || st < 50
			if inHole && m.Seen[k] || clear && !m.Seen[k] {
				t.Fatalf("arc %.0f, station %.0f: seen %v", arc, st, m.Seen[k])
			}
			if math.Hypot(arc-700, st-130) < 90 {
				sum += m.Depth[k] * r.work.panel.area(i)
			}
			if want := -w.dents[0].at(arc, st) - w.dents[1].at(arc, st); m.Seen[k] && math.Abs(m.Depth[k]-want) > 0.05+1.7*m.U[k] {
				t.Errorf("arc %.0f, station %.0f: %.2f ± %.2f mm to fill, want %.2f", arc, st, m.Depth[k], m.U[k], want)
			}
		}
	}
	if want := w.dents[0].volume(); math.Abs(sum/want-1) > 0.08 {
		t.Errorf("the map adds up to %.0f mm3 over the spot, want %.0f", sum, want)
	}
	// Only the deep spot is to be filled.
	if !within(r.Filler.Volume, w.dents[0].volume()) {
		t.Errorf("filler %+v mm3, want %.0f", r.Filler.Volume, w.dents[0].volume())
	}
	if want := r.Filler.Volume.Value * 450e-6; math.Abs(r.Filler.Mass-want) > 1e-9 {
		t.Errorf("mass %.3f g, want %.3f", r.Filler.Mass, want)
	}
	if m.NoseArc != r.Survey.Map.NoseArc || m.Length != r.Survey.Map.Length {
		t.Error("the map's nose or length is not the survey's")
	}
}

func TestUnseenIsTold(t *testing.T) {
	t.Parallel()
	w := small()
	w.hole = func(arc, _ float64) bool { return arc > 1200 && arc < 1500 }
	r := fitted(t, &w, 1, wishes())
	if _, n := message(r, "outline-unseen"); n != 1 || r.Verdict != scan.Caution {
		t.Errorf("a gap of 300 mm: verdict %s, messages %+v", r.Verdict, r.Messages)
	}
	gap, beside := r.work.parted.form.u(1350, 0), r.work.parted.form.u(800, 0)
	if gap < 5*beside || gap < 0.1 {
		t.Errorf("the form is said to be known to %.3f mm in the gap, %.3f beside it", gap, beside)
	}
	for _, tr := range r.Sections {
		if e := math.Abs(tr.Departure.Value - w.truth(tr.Arc, 0)); e > math.Max(1.6*tr.Departure.U, 0.1) {
			t.Errorf("arc %.0f, seen %v: off by %.2f mm with U %.2f", tr.Arc, tr.Seen, e, tr.Departure.U)
		}
		if inGap, clear := tr.Arc > 1225 && tr.Arc < 1475, tr.Arc < 1200 || tr.Arc > 1500; inGap && tr.Seen || clear && !tr.Seen {
			t.Errorf("arc %.0f: seen %v", tr.Arc, tr.Seen)
		}
	}
}

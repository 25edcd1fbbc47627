package fit

import (
	"math"
	"slices"
	"strings"
	"testing"

	"tipwright/section"
)

// seen is the volume of that part of a dent that lies on the panel, mm³, by adding up square millimetres.
func (d dent) seen(span float64) (sum float64) {
	for a := math.Max(d.arc-d.length/2, 0.5); a < d.arc+d.length/2; a++ {
		from := math.Max(0.5, math.Floor(d.station-d.width/2)+0.5)
		for st := from; st < math.Min(span, d.station+d.width/2); st++ {
			sum += math.Abs(d.at(a, st))
		}
	}
	return sum
}

// find returns the spot that belongs to a dent.
func find(r *Result, d dent) (Spot, bool) {
	spots := r.LowSpots
	if d.depth > 0 {
		spots = r.HighSpots
	}
	i := slices.IndexFunc(spots, func(s Spot) bool {
		return math.Hypot((d.arc-s.Arc)/d.length, (d.station-s.Station)/d.width) < 0.4
	})
	if i < 0 {
		return Spot{}, false
	}
	return spots[i], true
}

func message(r *Result, code string) (text string, n int) {
	for _, m := range r.Messages {
		if m.Code == code {
			text, n = m.Text, n+1
		}
	}
	return text, n
}

func within(m section.Measured, truth float64) bool { return math.Abs(m.Value-truth) <= m.U }

// The usual spot, 150 mm wide and 1 mm deep: its figures over eight scans.
func TestUsualSpot(t *testing.T) {
	t.Parallel()
	d := dent{600, 150, 150, 150, -1}
	var depth, volume2, n float64
	for seed := range uint64(8) {
		w := small()
		w.dents = []dent{d}
		r := fitted(t, &w, seed, wishes())
		s, ok := find(r, d)
		if !ok || len(r.LowSpots)+len(r.HighSpots) != 1 {
			t.Fatalf("seed %d: %d low and %d high spots", seed, len(r.LowSpots), len(r.HighSpots))
		}
		depth, volume2, n = depth+s.Depth.Value-1, volume2+square(s.Volume.Value/d.volume()-1), n+1
		if !s.Act || s.Surface != Upper {
			t.Errorf("seed %d: act %v, surface %s", seed, s.Act, s.Surface)
		}
		// At a tenth of its depth the dent is 0.8 of its width.
		if math.Abs(s.Length-120) > 22 || math.Abs(s.Width-120) > 22 {
			t.Errorf("seed %d: %.0f x %.0f mm, want 120", seed, s.Length, s.Width)
		}
		// Where it is deeper than the detection limit: within the radius at which (1+cos)/2 comes to it.
		radius := 150 / (2 * math.Pi) * math.Acos(2*r.DetectionLimit-1)
		if want := math.Pi * radius * radius; math.Abs(s.Area/want-1) > 0.15 {
			t.Errorf("seed %d: area %.0f mm2, want %.0f", seed, s.Area, want)
		}
		p, _ := r.work.contour.at(s.Arc / r.Survey.Map.Length)
		if math.Abs(s.X-p.X*w.chord) > 0.01 || math.Abs(s.Arc-600) > 15 || math.Abs(s.Station-150) > 15 {
			t.Errorf("seed %d: at x %.1f, arc %.1f, station %.1f", seed, s.X, s.Arc, s.Station)
		}
	}
	if bias := depth / n; math.Abs(bias) > 0.06 {
		t.Errorf("the depth is off by %+.3f mm on average", bias)
	}
	if rms := math.Sqrt(volume2 / n); rms > 0.08 {
		t.Errorf("the volume is off by %.1f %% rms", 100*rms)
	}
}

// The truth lies within ± U in 92 to 99 % of cases, for everything that carries a U.
func TestCoverage(t *testing.T) {
	t.Parallel()
	var depth, volume, form, skin, filler [2]float64
	tally := func(c *[2]float64, hit bool) {
		c[1]++
		if hit {
			c[0]++
		}
	}
	for seed := range uint64(20) {
		w := small()
		w.form = waves(seed, w.chord, 0.7)
		w.scatter(seed, 0.15, 240)
		r := fitted(t, &w, seed, wishes())
		toFill := 0.0
		for _, d := range w.dents {
			if s, ok := find(r, d); ok {
				deepest := math.Abs(d.at(d.arc, math.Max(d.station, 0)))
				tally(&depth, within(s.Depth, deepest))
				if d.depth < 0 {
					tally(&volume, within(s.Volume, d.seen(w.span)))
					if s.Act {
						toFill += d.seen(w.span)
					}
				}
			}
		}
		tally(&filler, within(r.Filler.Volume, toFill))
		e := errorsAtRib(&w, r)
		form[0], form[1] = form[0]+e.formHits, form[1]+e.count
		skin[0], skin[1] = skin[0]+e.skinHits, skin[1]+e.count
	}
	for _, c := range []struct {
		name  string
		count [2]float64
	}{{"depth", depth}, {"volume", volume}, {"filler", filler}, {"form", form}, {"skin", skin}} {
		share := c.count[0] / c.count[1]
		t.Logf("%s: %.3f of %.0f", c.name, share, c.count[1])
		// Few cases scatter about the share: two standard deviations of the binomial are allowed.
		slack := 2 * math.Sqrt(0.05*0.95/c.count[1])
		if share < 0.92-slack || share > 0.99+slack {
			t.Errorf("%s: the truth lies within U in %.3f of %.0f cases", c.name, share, c.count[1])
		}
	}
}

// Every spot of twice the detection limit, and every one 1 mm deep and 120 mm wide, is found; a panel
// without spots shows none.
func TestDetection(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		w := small()
		w.form = waves(seed+50, w.chord, 0.7)
		clean := fitted(t, &w, seed, wishes())
		if n := len(clean.LowSpots) + len(clean.HighSpots); n > 0 {
			t.Errorf("seed %d: %d spots on a clean panel", seed, n)
		}
		limit := clean.DetectionLimit
		w.dents = []dent{
			{200, 80, 100, 100, -2 * limit}, {500, 200, 100, 100, 2 * limit}, {800, 60, 120, 120, -1},
			{1000, 180, 100, 100, -2 * limit}, {1300, 60, 120, 120, 1}, {1600, 150, 100, 100, 2 * limit},
			{1850, 40, 120, 120, -1},
		}
		r := fitted(t, &w, seed, wishes())
		for _, d := range w.dents {
			if _, ok := find(r, d); !ok {
				t.Errorf("seed %d, detection limit %.2f: %+v was not found", seed, limit, d)
			}
		}
		if n := len(r.LowSpots) + len(r.HighSpots); n != len(w.dents) {
			t.Errorf("seed %d: %d spots, want %d", seed, n, len(w.dents))
		}
	}
}

// A spot at the detection limit is found about 19 times in 20, one at half of it seldom.
func TestDetectionLimitMeansWhatItSays(t *testing.T) {
	t.Parallel()
	found, half, n := 0, 0, 0
	for seed := range uint64(5) {
		w := small()
		limit := fitted(t, &w, seed, wishes()).DetectionLimit
		for _, c := range []struct {
			share float64
			count *int
		}{{1, &found}, {0.5, &half}} {
			w.dents = nil
			for i := range 3 {
				w.dents = append(w.dents, dent{253 + 650*float64(i), 75 + 73*float64(i), 100, 100, -c.share * limit})
			}
			r := fitted(t, &w, seed, wishes())
			for _, d := range w.dents {
				if _, ok := find(r, d); ok {
					*c.count++
				}
			}
		}
		n += 3
	}
	if found < n*8/10 {
		t.Errorf("at the limit %d of %d were found", found, n)
	}
	if half > n/2 {
		t.Errorf("at half the limit %d of %d were found", half, n)
	}
}

// Noise that neighbouring cells share, and that their standard errors do not show, raises the detection
// limit instead of false spots.
func TestDriftRaisesTheLimit(t *testing.T) {
	t.Parallel()
	for seed := range uint64(4) {
		w := small()
		clean := fitted(t, &w, seed, wishes()).DetectionLimit
		w.drift = 0.08
		r := fitted(t, &w, seed, wishes())
		if n := len(r.LowSpots) + len(r.HighSpots); n > 0 {
			t.Errorf("seed %d: %d false spots", seed, n)
		}
		if r.DetectionLimit < 1.5*clean {
			t.Errorf("seed %d: detection limit %.2f mm, without drift %.2f", seed, r.DetectionLimit, clean)
		}
	}
}

// Spots that touch are told apart; one spot is not torn by noise.
func TestTouchingSpots(t *testing.T) {
	t.Parallel()
	for seed := range uint64(3) {
		w := small()
		w.dents = []dent{{600, 120, 150, 150, -1}, {730, 120, 150, 150, -1.3}, {1500, 150, 200, 200, -0.6}}
		r := fitted(t, &w, seed, wishes())
		if len(r.LowSpots) != len(w.dents) {
			t.Errorf("seed %d: %d spots, want %d", seed, len(r.LowSpots), len(w.dents))
		}
		sum := 0.0
		for _, s := range r.LowSpots {
			sum += s.Volume.Value
		}
		if want := w.dents[0].volume() + w.dents[1].volume() + w.dents[2].volume(); math.Abs(sum/want-1) > 0.08 {
			t.Errorf("seed %d: volume %.0f mm3 in all, want %.0f", seed, sum, want)
		}
		for _, d := range w.dents {
			if s, ok := find(r, d); !ok || math.Abs(s.Depth.Value+d.depth) > 0.15 {
				t.Errorf("seed %d: %+v was measured as %+v", seed, d, s.Depth)
			}
		}
	}
}

func TestWhereSpotsMayLie(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge = 0.75
	s := w.survey(t, 1)
	nose, hinge := s.Map.NoseArc, s.Map.HingeArc[0]
	for name, c := range map[string]struct {
		dents []dent
		low   int
	}{
		"at the tip rib":         {[]dent{{700, 0, 150, 150, -1.2}}, 1},
		"round the nose":         {[]dent{{nose, 120, 150, 150, -1.2}}, 1},
		"over the band's end":    {[]dent{{700, 240, 150, 150, -1.2}}, 1},
		"beyond the band":        {[]dent{{700, 250, 80, 80, -1.2}}, 0},
		"at the tail":            {[]dent{{10, 120, 120, 150, -1.2}}, 1},
		"over the hinge line":    {[]dent{{hinge, 120, 180, 150, -1.2}}, 2},
		"at the end of the scan": {[]dent{{1500, 190, 150, 150, -1.2}}, 1},
	} {
		w := w
		w.dents = c.dents
		opt := wishes()
		opt.Band = 200
		r := fitted(t, &w, 2, opt)
		if len(r.LowSpots) != c.low || len(r.HighSpots) != 0 {
			t.Errorf("%s: %d low and %d high spots, want %d and none", name, len(r.LowSpots), len(r.HighSpots), c.low)
			continue
		}
		sum, u := 0.0, 0.0
		for _, s := range r.LowSpots {
			sum, u = sum+s.Volume.Value, u+s.Volume.U
			lo, hi := corners(s.Outline)
			if lo.Y < 0 || lo.X < 0 || hi.X > r.Survey.Map.Length || s.Arc < lo.X-1 || s.Arc > hi.X+1 ||
				s.Station < lo.Y-1 || s.Station > hi.Y+1 {
				t.Errorf("%s: deepest at arc %.0f, station %.0f, outline from %v to %v", name, s.Arc, s.Station, lo, hi)
			}
			if n := len(s.Outline); n < 8 || s.Outline[0] != s.Outline[n-1] || len(crossings(s.Outline, true)) > 0 {
				t.Errorf("%s: an outline of %d points is open or crosses itself", name, n)
			}
		}
		if want := c.dents[0].seen(w.span); c.low > 0 && math.Abs(sum-want) > 1.5*u {
			t.Errorf("%s: volume %.0f ± %.0f mm3, want %.0f", name, sum, u, want)
		}
		_, far := message(r, "spots-inboard")
		if (far > 0) != (name == "beyond the band") {
			t.Errorf("%s: spots beyond the band told: %v", name, far > 0)
		}
		if _, n := message(r, "low-spot-at-rib"); (n > 0) != (name == "at the tip rib") {
			t.Errorf("%s: told of a spot at the rib: %v", name, n > 0)
		}
		_, balance := message(r, "filler-on-aileron")
		if (balance > 0) != strings.Contains("at the tail over the hinge line", name) {
			t.Errorf("%s: told of the aileron's balance: %v", name, balance > 0)
		}
	}
}

// Tape, strips and clamps are named, not taken for skin; high spots of the skin are not taken for them.
func TestThingsOnTheSkin(t *testing.T) {
	t.Parallel()
	w := small()
	w.plateaux = []dent{
		{400, 100, 25, 180, 2}, {700, 150, 60, 60, 5}, {1400, 150, 180, 30, 1.9},
	}
	w.dents = []dent{{1100, 120, 110, 110, 3}, {1750, 150, 80, 80, 1.8}, {200, 150, 150, 150, -1}}
	r := fitted(t, &w, 1, wishes())
	text, n := message(r, "on-the-skin")
	if n != len(w.plateaux) {
		t.Errorf("%d things told, want %d; the last: %s", n, len(w.plateaux), text)
	}
	if len(r.HighSpots) != 2 || len(r.LowSpots) != 1 {
		t.Errorf("%d high and %d low spots, want 2 and 1", len(r.HighSpots), len(r.LowSpots))
	}
	for i, arc := range r.Map.Arc {
		for k, st := range r.Map.Station {
			if math.Abs(arc-700) < 25 && math.Abs(st-150) < 25 && r.Map.Seen[k*len(r.Map.Arc)+i] {
				t.Fatal("the skin under a thing passes for seen")
			}
		}
	}
	if top := r.work.target.at(700/r.Survey.Map.Length, 150) - w.form(700, 150); top > 0.1 {
		t.Errorf("the target is raised by %.2f mm over a thing", top)
	}
}

// A narrow board hides the skin; the few points that are left lie high. It is told, and the target does not
// follow it. A patch that is only thinly seen is no board.
func TestBoardHidesTheSkin(t *testing.T) {
	t.Parallel()
	for _, lift := range []float64{0.9, 0} {
		w := small()
		w.boards = []dent{{600, 102, 180, 26, lift}}
		r := fitted(t, &w, 1, wishes())
		if _, n := message(r, "on-the-skin"); (n == 1) != (lift > 0) {
			t.Errorf("lift %.1f: told %d times", lift, n)
		}
		if len(r.HighSpots) > 0 {
			t.Errorf("lift %.1f: the board passes for %d high spots", lift, len(r.HighSpots))
		}
		if top := r.work.target.at(600/r.Survey.Map.Length, 100) - w.form(600, 100); math.Abs(top) > 0.05 {
			t.Errorf("lift %.1f: the target stands %.2f mm off the form over the board", lift, top)
		}
	}
}

// A hole in the scan at a spot's deepest point widens its uncertainty.
func TestHoleInSpot(t *testing.T) {
	t.Parallel()
	w := small()
	d := dent{700, 150, 160, 160, -1.5}
	w.dents = []dent{d}
	whole, _ := find(fitted(t, &w, 1, wishes()), d)
	w.hole = func(arc, station float64) bool { return math.Hypot(arc-700, station-150) < 26 }
	r := fitted(t, &w, 1, wishes())
	holed, ok := find(r, d)
	if !ok || !within(holed.Depth, 1.5) || holed.Depth.U < 1.5*whole.Depth.U {
		t.Errorf("depth %.2f ± %.2f mm, without the hole %.2f ± %.2f", holed.Depth.Value, holed.Depth.U, whole.Depth.Value, whole.Depth.U)
	}
	if math.Abs(holed.Volume.Value/d.volume()-1) > 0.12 {
		t.Errorf("volume %.0f mm3, want %.0f", holed.Volume.Value, d.volume())
	}
}

// The depth of a spot with a flat bottom and of one as sharp as a Gaussian bell is no more biased than that of a cosine
// dent, neither by the choice of the deepest of many places nor by what the kernel flattens. What is left of the bell is
// what its wide skirts leave to the form.
func TestDepthOfShapes(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name  string
		depth func(r float64) float64 // r is 1 at the edge
	}{
		{"flat", func(r float64) float64 { return (1 + math.Cos(math.Pi*math.Min(math.Max((r-0.55)/0.45, 0), 1))) / 2 }},
		{"bell", func(r float64) float64 { return math.Exp(-2.3 * r * r) }},
	} {
		var sum, n, hits float64
		for seed := range uint64(4) {
			w := small()
			dents := []dent{{300, 120, 150, 150, -1.5}, {700, 140, 200, 160, -1.5}, {1400, 130, 130, 170, -1.5}}
			form := w.form
			w.form = func(arc, station float64) float64 {
				v := form(arc, station)
				for _, d := range dents {
					v += d.depth * c.depth(2*math.Hypot((arc-d.arc)/d.length, (station-d.station)/d.width))
				}
				return v
			}
			r := fitted(t, &w, seed, wishes())
			for _, d := range dents {
				s, ok := find(r, d)
				if !ok {
					t.Fatalf("%s, seed %d: the spot at %.0f was not found", c.name, seed, d.arc)
				}
				if sum, n = sum+s.Depth.Value-1.5, n+1; within(s.Depth, 1.5) {
					hits++
				}
			}
		}
		if bias := sum / n; math.Abs(bias) > 0.055 || hits < 0.8*n {
			t.Errorf("%s: %.0f of %.0f spots within their uncertainty, %+.3f mm off in the mean", c.name, hits, n, bias)
		}
	}
}

package simulate

import (
	"math"
	"strconv"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/section"
)

func ftoa(v float64) string { return strconv.FormatFloat(v, 'f', 7, 64) }

// flat drops the station.
func flat(p r3.Vec) r2.Vec { return r2.Vec{X: p.X, Y: p.Z} }

// extras returns the builder and what it scanned besides the bare wing.
func extras(t *testing.T, w Wing, s Scanner) (*builder, []vertex) {
	t.Helper()
	if s.Points == 0 {
		s.Points = 20000
	}
	b := newBuilder(&w, &s)
	b.clutter()
	return b, b.vertices
}

// box12 is a plain wing with an aileron.
func box12(t *testing.T, side section.Side) Wing {
	return Wing{Airfoil: parse(t, "NACA 0012"), Side: side, Chord: 1000, Span: 600, Hinge: 0.75, HingeGap: 4, Deflection: 0.03}
}

func TestClutterStandsOutsideTheWing(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		for name, s := range map[string]Scanner{
			"floor": {Floor: true}, "wall": {Wall: true}, "stand": {Stand: true}, "person": {Person: true},
			"hand": {Hand: true}, "strips": {Strips: true}, "clamps": {Clamps: true},
		} {
			w := box12(t, side)
			b, points := extras(t, w, s)
			if len(points) < 40 {
				t.Errorf("%s: %d points", name, len(points))
			}
			outline := b.skin.outline(300, w.Deflection, wholeSkin)
			for _, v := range points {
				station := v.p.Y * side.Inboard()
				if station < 0 || station > w.Span {
					continue
				}
				if inside(flat(v.p), outline) && offOutline(flat(v.p), outline) > 0.5 {
					t.Errorf("%s on the %v: a point inside the wing at %v", name, side, v.p)
					break
				}
			}
		}
	}
}

// inside reports whether q lies within a closed polygon, by the number of edges to its right.
func inside(q r2.Vec, polygon []r2.Vec) bool {
	in := false
	for i, a := range polygon {
		b := polygon[(i+1)%len(polygon)]
		if (a.Y > q.Y) != (b.Y > q.Y) && q.X < a.X+(q.Y-a.Y)/(b.Y-a.Y)*(b.X-a.X) {
			in = !in
		}
	}
	return in
}

func TestStandBearsOnTheSkinAndHidesIt(t *testing.T) {
	w := box12(t, section.Left)
	b, points := extras(t, w, Scanner{Stand: true})
	top, foot := math.Inf(-1), math.Inf(1)
	for _, v := range points {
		top, foot = max(top, v.p.Z), min(foot, v.p.Z)
	}
	// NACA 0012 is thickest, 60 mm below the chord line here, over the beam.
	if math.Abs(top+60) > 1.5 || foot > -600 {
		t.Errorf("the stand reaches from %.1f to %.1f mm", foot, top)
	}
	b.vertices = nil
	b.cloud()
	hidden := 0
	for _, v := range b.vertices {
		if v.on == Lower && math.Abs(v.p.Y-360) < 29 && math.Abs(v.p.X-300) < 100 {
			hidden++
		}
	}
	if hidden > 0 {
		t.Errorf("%d points are seen through the beam", hidden)
	}
}

func TestBoardsBridgeTheHinge(t *testing.T) {
	w := box12(t, section.Left)
	b, points := extras(t, w, Scanner{Strips: true, ClutterDensity: 2})
	over := 0
	for _, v := range points {
		if math.Abs(v.p.X-750) < 2 {
			over++ // the bare wing has a gap here
		}
	}
	if over == 0 {
		t.Error("no board lies over the gap")
	}
	// A board clears the skin and lies closer to it than its own thickness and a millimetre or so.
	for _, side := range []Surface{Upper, Lower} {
		board := b.board(side, 90)
		nearest := math.Inf(1)
		for i := range 100 {
			s := b.skin.c.arcOf(side, 0.65+0.002*float64(i))
			d := r3.Dot(r3.Sub(b.skin.at(s, 90).p, board.middle), board.axis[2])
			nearest = min(nearest, -d-boardThick/2)
		}
		if nearest < -1e-3 || nearest > 0.5 {
			t.Errorf("the %v board lies %.3f mm off the skin", side, nearest)
		}
	}
}

func TestClampsPressOnTheTailAndHideIt(t *testing.T) {
	w := box12(t, section.Right)
	b, points := extras(t, w, Scanner{Clamps: true, ClutterDensity: 4})
	for _, side := range []Surface{Upper, Lower} {
		nearest, at := math.Inf(1), b.skin.at(b.skin.c.arcOf(side, 1-clampReach/w.ChordAt(0.3*w.Span)), 0.3*w.Span)
		for _, v := range points {
			d := r3.Sub(v.p, at.p)
			if math.Abs(d.Y) < 5 && math.Abs(r3.Dot(d, r3.Cross(r3.Vec{Y: 1}, at.n))) < 5 && r3.Dot(d, at.n) > -3 {
				nearest = min(nearest, math.Abs(r3.Dot(d, at.n)))
			}
		}
		if nearest > 1 {
			t.Errorf("the jaw on the %v skin stands %.1f mm off", side, nearest)
		}
		if !b.shadowed(at.p) {
			t.Errorf("the %v skin is seen through the jaw", side)
		}
	}
	behind := 0
	for _, v := range points {
		if v.p.X > w.Chord+10 {
			behind++
		}
	}
	if behind == 0 {
		t.Error("no bow behind the tail")
	}
}

func TestTapeCoversTheGap(t *testing.T) {
	w := box12(t, section.Left)
	count := func(s Scanner) (gap int, lift float64) {
		s.Points = 40000
		b := newBuilder(&w, &s)
		b.cloud()
		for _, v := range b.vertices {
			if math.Abs(v.p.X-750) < 0.9 { // the aileron, 0.03 rad down, narrows the lower gap by 1 mm
				gap++
			}
			if v.on == Upper && v.p.X > 727 && v.p.X < 740 {
				lift = v.p.Z - 1000*thickness12(v.p.X/1000)
			}
		}
		return gap, lift
	}
	if gap, lift := count(Scanner{}); gap != 0 || math.Abs(lift) > 1e-6 {
		t.Errorf("without tape %d points in the gap, lift %g", gap, lift)
	}
	if gap, lift := count(Scanner{Tape: true}); gap < 25 || math.Abs(lift-tapeThickness) > 0.002 {
		t.Errorf("with tape %d points over the gap, lift %g", gap, lift)
	}
}

func TestWhatIsNotSeen(t *testing.T) {
	w := box12(t, section.Left)
	for name, c := range map[string]struct {
		s      Scanner
		unseen func(v vertex, station float64) bool
	}{
		"lower skin":  {Scanner{OneSurface: Upper}, func(v vertex, _ float64) bool { return v.on != Upper }},
		"upper skin":  {Scanner{OneSurface: Lower}, func(v vertex, _ float64) bool { return v.on != Lower }},
		"nose":        {Scanner{NoseMissed: 40}, func(v vertex, _ float64) bool { return r3.Norm(r3.Vec{X: v.p.X, Z: v.p.Z}) < 15 }},
		"tail":        {Scanner{TailMissed: 30}, func(v vertex, _ float64) bool { return v.p.X > 975 }},
		"outboard":    {Scanner{RibFace: Ragged, Ragged: 10}, func(_ vertex, station float64) bool { return station < 0 }},
		"the far end": {Scanner{Falloff: 1}, func(v vertex, s float64) bool { return s > 599 && v.p.X > 999 }},
	} {
		c.s.Points = 10000
		b := newBuilder(&w, &c.s)
		b.cloud()
		for _, v := range b.vertices {
			if c.unseen(v, v.p.Y) {
				t.Errorf("%s is seen at %v", name, v.p)
				break
			}
		}
		if len(b.vertices) < 4000 {
			t.Errorf("%s: only %d points left", name, len(b.vertices))
		}
	}
}

func TestRaggedEdgeIsIrregular(t *testing.T) {
	w := box12(t, section.Left)
	b := newBuilder(&w, &Scanner{Points: 1000, RibFace: Ragged, Ragged: 6})
	lo, hi := math.Inf(1), math.Inf(-1)
	for i := range 500 {
		e := b.edge(b.skin.c.length() * float64(i) / 499)
		lo, hi = min(lo, e), max(hi, e)
	}
	if lo < 0 || lo > 1.5 || hi > 6 || hi < 4.5 {
		t.Errorf("the edge runs between %.2f and %.2f mm", lo, hi)
	}
}

func TestClosedFaceFillsTheSection(t *testing.T) {
	w := box12(t, section.Right)
	s := Scanner{Points: 30000, RibFace: Closed, InboardClosed: true}
	b := newBuilder(&w, &s)
	b.cloud()
	var ends [2]int
	outline := b.skin.outline(0, w.Deflection, wholeSkin)
	for _, v := range b.vertices {
		if v.n.Y == 0 {
			continue
		}
		if v.p.Y > -1 && v.n.Y != 1 || v.p.Y < -1 && v.n.Y != -1 {
			t.Fatalf("the face at %g looks along %g", v.p.Y, v.n.Y)
		}
		if !inside(flat(v.p), outline) && offOutline(flat(v.p), outline) > 0.1 {
			t.Fatalf("a point of the face lies outside the section: %v", v.p)
		}
		ends[min(1, int(-v.p.Y))]++
	}
	// 0.0822 m² of section at the density of 30000 points on 2.05 m by 0.6 m.
	want := 30000 * 0.0822 / (2.0386 * 0.6)
	for _, n := range ends {
		if math.Abs(float64(n)/want-1) > 0.03 {
			t.Errorf("the faces hold %v points, want about %.0f each", ends, want)
		}
	}
}

func TestInsideIsSeenThroughAnOpenEnd(t *testing.T) {
	w := box12(t, section.Left)
	_, points := extras(t, w, Scanner{InsideSeen: 20, SkinThickness: 0.8})
	n := 0
	for _, v := range points {
		if v.n.Y != 0 {
			if math.Abs(v.p.Y) > 1e-9 {
				t.Fatalf("the edge strays to %g", v.p.Y)
			}
			continue
		}
		n++
		if v.p.X > 300 && v.p.X < 700 {
			d := offOutline(flat(v.p), newSkin(&w).outline(v.p.Y, w.Deflection, wholeSkin))
			if math.Abs(d-0.8) > 0.01 {
				t.Fatalf("the inner side lies %g mm under the outer", d)
			}
		}
	}
	if n < 100 {
		t.Errorf("%d points on the inner side", n)
	}
}

func TestSplitMovesTheUpperSkinAlone(t *testing.T) {
	w := box12(t, section.Left)
	s := Scanner{Points: 3000, SplitUpper: Split{Shift: r3.Vec{Z: 3}, Turn: r3.Vec{Y: 0.002}}}
	b := newBuilder(&w, &s)
	b.cloud()
	before := append([]vertex(nil), b.vertices...)
	b.distort()
	for i, v := range b.vertices {
		d := r3.Sub(v.p, before[i].p)
		want := 0.0
		if v.on == Upper {
			want = 3 - 0.002*(before[i].p.X-500) // a turn about Y takes what is aft down
		}
		if math.Abs(d.Z-want) > 1e-3 {
			t.Fatalf("on the %v surface at %v: moved by %v, want %g up", v.on, before[i].p, d, want)
		}
	}
}

func TestStrays(t *testing.T) {
	w := box12(t, section.Left)
	bare, _ := mustScan(t, w, Scanner{Points: 5000})
	more, _ := mustScan(t, w, Scanner{Points: 5000, Strays: 0.02})
	if n := len(more.Points) - len(bare.Points); n != 100 {
		t.Errorf("2 %% of 5000 strays are %d", n)
	}
	bare, _ = mustScan(t, w, Scanner{Points: 5000, Mesh: true})
	more, _ = mustScan(t, w, Scanner{Points: 5000, Strays: 0.02, Mesh: true})
	if n := len(more.Points) - len(bare.Points); n != 99 {
		t.Errorf("2 %% of 5000 strays in a mesh are %d", n)
	}
}

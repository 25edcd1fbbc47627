package accuracy

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// disc is a circle of a radius about a point, against the clock, not quite closed.
func disc(middle r2.Vec, radius float64, n int) []r2.Vec {
	out := make([]r2.Vec, n)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
		out[i] = r2.Add(middle, r2.Scale(radius, r2.Vec{X: cos, Y: sin}))
	}
	return out
}

// oval is an ellipse with a flat at its right end, as a section's tail is.
func oval(n int) []r2.Vec {
	out := make([]r2.Vec, n)
	for i := range out {
		sin, cos := math.Sincos(0.1 + (2*math.Pi-0.2)*float64(i)/float64(n-1))
		out[i] = r2.Vec{X: 600 + 600*cos, Y: 70 * sin}
	}
	return out
}

func TestSignedDistance(t *testing.T) {
	square := []r2.Vec{{X: 1, Y: 1}, {X: -1, Y: 1}, {X: -1, Y: -1}, {X: 1, Y: -1}, {X: 1, Y: 1}}
	for _, c := range []struct {
		p    r2.Vec
		want float64
	}{{r2.Vec{}, -1}, {r2.Vec{X: 3}, 2}, {r2.Vec{X: 0.9, Y: 0.2}, -0.1}, {r2.Vec{X: 4, Y: 5}, 5}, {r2.Vec{X: 1, Y: 0}, 0}} {
		l := line{points: square}
		got, n := l.distance(c.p, r2.Vec{})
		if math.Abs(got-c.want) > 1e-12 || math.Abs(r2.Norm(n)-1) > 1e-12 {
			t.Errorf("%v lies %g off, want %g; normal %v", c.p, got, c.want, n)
		}
	}
}

// Looking near the last point first changes nothing.
func TestNearbyFindsTheNearest(t *testing.T) {
	l := line{points: oval(1500)}
	rapid.Check(t, func(t *rapid.T) {
		p := r2.Vec{X: rapid.Float64Range(-50, 1250).Draw(t, "x"), Y: rapid.Float64Range(-90, 90).Draw(t, "z")}
		l.last = rapid.IntRange(0, 1499).Draw(t, "last")
		got, _ := l.distance(p, r2.Vec{})
		// Of a thin oval the nearest place near the last point may be on the other side; then points would not come in order.
		whole := line{points: l.points}
		_, best := whole.nearest(p, r2.Vec{}, 0, len(l.points)-1)
		if math.Abs(got) < math.Sqrt(best)-1e-9 {
			t.Fatalf("%v: %g, and the least distance is %g", p, got, math.Sqrt(best))
		}
	})
	for _, p := range evenSteps(oval(900), 2) {
		got, _ := l.distance(p, r2.Vec{})
		if _, best := l.nearest(p, r2.Vec{}, 0, len(l.points)-1); math.Abs(math.Abs(got)-math.Sqrt(best)) > 1e-9 {
			t.Fatalf("%v: %g, the least distance is %g", p, got, math.Sqrt(best))
		}
	}
}

func TestEvenSteps(t *testing.T) {
	got := evenSteps(disc(r2.Vec{}, 50, 4000), 2)
	if n := len(got); n < 156 || n > 158 {
		t.Errorf("%d points every 2 mm on a circle of 314 mm", n)
	}
	for i := 1; i < len(got); i++ {
		if d := r2.Norm(r2.Sub(got[i], got[i-1])); math.Abs(d-2) > 1e-3 {
			t.Errorf("a step of %g mm", d)
		}
	}
}

// However an outline lies, its misfit to itself is nothing, and what the frame was off shows apart.
func TestMisfitIsOfTheShape(t *testing.T) {
	truth := oval(1500)
	rapid.Check(t, func(t *rapid.T) {
		turn := rapid.Float64Range(-0.01, 0.01).Draw(t, "turn")
		shift := r2.Vec{X: rapid.Float64Range(-2, 2).Draw(t, "aft"), Y: rapid.Float64Range(-2, 2).Draw(t, "up")}
		grown := rapid.Float64Range(-0.4, 0.4).Draw(t, "grown")
		sin, cos := math.Sincos(turn)
		from := line{points: truth}
		moved := make([]r2.Vec, len(truth))
		for i, p := range truth {
			_, n := from.distance(p, r2.Vec{})
			p = r2.Add(p, r2.Scale(grown, n))
			moved[i] = r2.Add(shift, r2.Vec{X: cos*p.X - sin*p.Y, Y: sin*p.X + cos*p.Y})
		}
		m := misfit(truth, moved, grown, 0.05, 0, 0)
		// The corners of a grown outline are not square to either side.
		if m.RMS > 0.02 || m.Within < 0.98 {
			t.Fatalf("%+v", m)
		}
		if off := math.Abs(shift.Y); off > 0.5 && math.Abs(turn) < 1e-4 && m.Placed < off/4 {
			t.Fatalf("the frame's shift of %g does not show: %+v", off, m)
		}
	})
}

// An outline that lies farther off than its tail is thick is compared skin with skin all the same.
func TestMisfitKeepsToTheSkin(t *testing.T) {
	truth := parsed("NACA 0012").Outline(2000)
	for i := range truth {
		truth[i] = r2.Scale(1250, truth[i])
	}
	moved := make([]r2.Vec, len(truth))
	for i, p := range truth {
		moved[i] = r2.Add(p, r2.Vec{X: -8, Y: -5})
	}
	if m := misfit(truth, moved, 0, 1, 0, 0); m.Placed < 4 || m.Placed > 7 || math.Abs(m.Worst) > 0.05 {
		t.Errorf("5 mm low and 8 mm forward, the same shape: %+v", m)
	}
}

func TestMisfitSeesADent(t *testing.T) {
	truth := oval(1500)
	got := make([]r2.Vec, len(truth))
	for i, p := range truth {
		if p.Y > 0 && math.Abs(p.X-500) < 40 {
			p.Y -= 0.5 * (1 + math.Cos(math.Pi*(p.X-500)/40)) / 2
		}
		got[i] = p
	}
	m := misfit(truth, got, 0, 0.1, 0, 0)
	if math.Abs(m.Worst+0.5) > 0.05 || m.Within > 0.99 || m.Within < 0.93 {
		t.Errorf("a dent of 0.5 mm on a thirtieth of the outline: %+v", m)
	}
	if m := misfit(truth, got, 0, 0.1, 500, 0); math.Abs(m.Worst) > 0.45 {
		t.Errorf("what lies beside the hinge is compared: %+v", m)
	}
}

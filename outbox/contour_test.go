package outbox

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// evenOddArea returns the area inside loops whose holes run the other way round.
func evenOddArea(loops [][]r2.Vec) float64 {
	sum := 0.0
	for _, l := range loops {
		for i, b := range l {
			a := l[(i+len(l)-1)%len(l)]
			sum += r2.Cross(a, b) / 2
		}
	}
	return math.Abs(sum)
}

func gridOf(n int, step float64, value func(x, y float64) float64) *field {
	f := &field{}
	for i := range n {
		f.x, f.y = append(f.x, step*float64(i)), append(f.y, step*float64(i))
	}
	for _, y := range f.y {
		for _, x := range f.x {
			f.values = append(f.values, value(x, y))
		}
	}
	return f
}

// A cone of height 1 and radius 1: the region above h is a disc of radius 1 - h (geometry).
func TestContoursOfACone(t *testing.T) {
	f := gridOf(81, 0.04, func(x, y float64) float64 { return 1 - math.Hypot(x-1.6, y-1.6) })
	for _, h := range []float64{0.1, 0.35, 0.8} {
		loops := f.above(h)
		want := math.Pi * (1 - h) * (1 - h)
		if got := evenOddArea(loops); len(loops) != 1 || math.Abs(got-want) > 0.01*want+0.001 {
			t.Errorf("above %v: %d loops, area %.4f, want %.4f", h, len(loops), got, want)
		}
	}
	if loops := f.above(1.01); loops != nil {
		t.Errorf("above the top: %v", loops)
	}
	// A level below everything gives the grid's own edge.
	if loops := f.above(-9); len(loops) != 1 || math.Abs(evenOddArea(loops)-3.2*3.2) > 1e-9 {
		t.Errorf("above the bottom: %d loops, area %v", len(loops), evenOddArea(loops))
	}
}

// A ring keeps its hole.
func TestContoursKeepHoles(t *testing.T) {
	f := gridOf(121, 0.025, func(x, y float64) float64 { return 0.5 - math.Abs(math.Hypot(x-1.5, y-1.5)-1) })
	loops := f.above(0.2)
	want := math.Pi * (1.3*1.3 - 0.7*0.7)
	if got := evenOddArea(loops); len(loops) != 2 || math.Abs(got-want) > 0.01*want {
		t.Errorf("%d loops, area %.4f, want 2 and %.4f", len(loops), got, want)
	}
	for _, q := range []struct {
		at   r2.Vec
		want bool
	}{{vec(2.5, 1.5), true}, {vec(1.5, 1.5), false}, {vec(0.05, 0.05), false}} {
		n := 0
		for _, x := range crossings(loops, q.at.Y) {
			if x < q.at.X {
				n++
			}
		}
		if (n%2 == 1) != q.want {
			t.Errorf("%v inside: %v", q.at, !q.want)
		}
	}
}

// Where two opposite corners are inside, the cell's mean decides whether they hang together.
func TestContoursAtASaddle(t *testing.T) {
	for _, c := range []struct {
		inside, outside float64
		loops           int
	}{{1, -0.5, 1}, {0.5, -1, 2}} {
		f := &field{x: []float64{0, 1}, y: []float64{0, 1}, values: []float64{c.inside, c.outside, c.outside, c.inside}}
		if got := f.above(0); len(got) != c.loops {
			t.Errorf("corners %v and %v: %d loops, want %d", c.inside, c.outside, len(got), c.loops)
		}
	}
}

// What is above a level and what is below it make up the whole, whatever the field; no loop is left open.
func TestContoursShareTheGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(t, "n")
		values := rapid.SliceOfN(rapid.IntRange(-3, 3), n*n, n*n).Draw(t, "values")
		f, g := gridOf(n, 1, func(x, y float64) float64 { return 0 }), gridOf(n, 1, func(x, y float64) float64 { return 0 })
		for i, v := range values {
			// A little off the level and off each other: a tie belongs to both.
			f.values[i] = float64(v) + 0.01 + 0.001*math.Sqrt(float64(i+2))
			g.values[i] = -f.values[i]
		}
		whole := float64((n - 1) * (n - 1))
		if sum := signedSum(f.above(0)) + signedSum(g.above(0)); math.Abs(sum-whole) > 1e-6 {
			t.Fatalf("above and below are %v of %v", sum, whole)
		}
	})
}

// signedSum adds the loops' areas with their sign, which is that of a region's outer edge.
func signedSum(loops [][]r2.Vec) float64 {
	sum := 0.0
	for _, l := range loops {
		for i, b := range l {
			sum += r2.Cross(l[(i+len(l)-1)%len(l)], b) / 2
		}
	}
	return math.Abs(sum)
}

func TestHatchStaysInside(t *testing.T) {
	ring := [][]r2.Vec{box(0, 0, 100, 60), box(30, 20, 70, 40)}
	lines := hatch(ring, 5)
	if len(lines) < 30 {
		t.Fatalf("%d lines", len(lines))
	}
	length := 0.0
	outside := func(m r2.Vec) bool {
		return m.X < 0 || m.X > 100 || m.Y < 0 || m.Y > 60 || m.X > 30 && m.X < 70 && m.Y > 20 && m.Y < 40
	}
	for _, l := range lines {
		length += r2.Norm(r2.Sub(l[1], l[0]))
		if m := r2.Scale(0.5, r2.Add(l[0], l[1])); outside(m) {
			t.Errorf("a line runs through %v", m)
		}
	}
	// Lines 5 apart cover an area of their length times 5: 100 x 60 less 40 x 20.
	if want := (6000.0 - 800) / 5; math.Abs(length-want) > 0.03*want {
		t.Errorf("the lines are %.0f long in all, want about %.0f", length, want)
	}
	for _, d := range dots(ring, 7, 1) {
		if c := vec(d[0].X+1, d[0].Y); outside(c) {
			t.Errorf("a dot at %v", c)
		}
	}
}

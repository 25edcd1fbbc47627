package fit

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"
)

// Cubic B-splines add up to 1 and reproduce straight lines and parabolas (de Boor 1978).
func TestSplineReproducesParabolas(t *testing.T) {
	t.Parallel()
	b := bspline{1000, 20}
	h := b.spacing()
	for x := 0.0; x <= 1000; x += 7.3 {
		first, v := b.at(x)
		var one, line, square float64
		for i, u := range v {
			// Function k has its middle at (k-1)·h; the coefficient of x² there is ((k-1)² - 1/3)·h².
			k := float64(first + i - 1)
			one, line, square = one+u, line+u*k*h, square+u*(k*k-1.0/3)*h*h
		}
		if math.Abs(one-1) > 1e-12 || math.Abs(line-x) > 1e-9 || math.Abs(square-x*x) > 1e-6 {
			t.Fatalf("at %g: %g, %g, %g", x, one, line, square)
		}
	}
}

// The penalty is the integral of the squared derivative: for a straight line of slope s that is s²·length.
func TestRoughnessIsTheIntegral(t *testing.T) {
	t.Parallel()
	b := bspline{1000, 20}
	coef := make([]float64, b.size())
	for k := range coef {
		coef[k] = 0.3 * float64(k-1) * b.spacing()
	}
	even := func(float64) float64 { return 1 }
	energy := func(order int) (sum float64) {
		b.roughness(order, even, func(i, j int, v float64) {
			if i != j {
				v *= 2
			}
			sum += v * coef[i] * coef[j]
		})
		return sum
	}
	// There is one difference more than intervals on each side.
	if got, want := energy(1), 0.09*(1000+2*b.spacing()); math.Abs(got/want-1) > 1e-9 {
		t.Errorf("slope: %g, want %g", got, want)
	}
	if got := energy(4); math.Abs(got) > 1e-12 {
		t.Errorf("the fourth derivative of a straight line costs %g", got)
	}
	omega := 2 * math.Pi / 400
	for k := range coef {
		coef[k] = math.Sin(omega * float64(k-1) * b.spacing())
	}
	// The mean of cos² is a half; differences of a coarse spline see a little less than derivatives.
	if got, want := energy(4), math.Pow(omega, 8)*1000/2; math.Abs(got/want-1) > 0.25 {
		t.Errorf("wave: %g, want %g", got, want)
	}
}

func TestMatrix6(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		var m matrix6
		x := vector6{}
		for range 8 {
			for a := range x {
				x[a] = rapid.Float64Range(-3, 3).Draw(t, "x")
			}
			for a := range x {
				for b := range x {
					m[a][b] += x[a] * x[b]
				}
			}
		}
		for a := range m {
			m[a][a] += 0.5
		}
		b := vector6{1, -2, 3, 0, 5, 1}
		l := m
		if !l.factor() {
			t.Fatal("a positive definite matrix is refused")
		}
		s := l.solve(&b)
		for a := range m {
			sum := -b[a]
			for c := range m {
				sum += m[a][c] * s[c]
			}
			if math.Abs(sum) > 1e-8 {
				t.Fatalf("row %d is off by %g", a, sum)
			}
		}
	})
	if (&matrix6{}).factor() {
		t.Error("a matrix of noughts is factored")
	}
}

// Smoothing keeps a constant, never looks across the hinge line and gives the standard error of its means.
func TestSmooth(t *testing.T) {
	t.Parallel()
	w := small()
	w.hinge = 0.75
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	v := make([]float64, len(p.y))
	for k := range v {
		v[k] = float64(p.piece[k%p.columns()])
	}
	f := p.smooth(v, p.w, kernel{20, 20})
	for k, m := range f.mean {
		if !math.IsInf(f.se[k], 1) && math.Abs(m-v[k]) > 1e-9 {
			t.Fatalf("cell %d of piece %g: mean %g", k, v[k], m)
		}
	}
	// A Gaussian window averages over 4·pi·sigma² of area.
	mid := p.rows()/2*p.columns() + p.columns()/3
	cells := 4 * math.Pi * 20 * 20 / (p.dArc * p.meanHeight())
	if want := p.usualSE() / math.Sqrt(cells); math.Abs(f.se[mid]/want-1) > 0.15 {
		t.Errorf("standard error %.4f mm, want %.4f", f.se[mid], want)
	}
}

// A cover lies nowhere below what it covers, and nowhere above its greatest value.
func TestCover(t *testing.T) {
	t.Parallel()
	w := small()
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	n := newNodes(p, 150)
	rapid.Check(t, func(t *rapid.T) {
		v := make([]float64, len(n.spread))
		most := 0.0
		for range rapid.IntRange(1, 8).Draw(t, "peaks") {
			k := rapid.IntRange(0, len(v)-1).Draw(t, "k")
			v[k] = rapid.Float64Range(0, 3).Draw(t, "height")
		}
		for _, x := range v {
			most = math.Max(most, x)
		}
		for k, c := range n.cover(v, rapid.Float64Range(5, 120).Draw(t, "reach")) {
			if c < v[k]-1e-12 || c > most+1e-12 {
				t.Fatalf("node %d: %g covers %g, at most %g", k, c, v[k], most)
			}
		}
	})
}

// Interpolation between nodes goes through them and is exact for parabolas along the arc.
func TestNodesInterpolate(t *testing.T) {
	t.Parallel()
	w := small()
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	n := newNodes(p, 150)
	v := make([]float64, len(n.spread))
	f := func(arc, station float64) float64 { return 1e-5*arc*arc - 0.02*arc + 0.01*station }
	for i, st := range n.station {
		for j, arc := range p.arc {
			v[i*p.columns()+j] = f(arc, st)
		}
	}
	for arc := 20.0; arc < p.length-20; arc += 13.7 {
		for _, st := range []float64{0, 3, 50, 140} {
			if got := n.at(v, arc, st); math.Abs(got-f(arc, st)) > 1e-9 {
				t.Fatalf("arc %.1f, station %.0f: %g, want %g", arc, st, got, f(arc, st))
			}
		}
	}
	if a, b := n.at(v, -50, 0), n.at(v, p.arc[0], 0); a != b {
		t.Errorf("before the first node: %g, want %g", a, b)
	}
}

// Loops are cut off: a small one in the middle, and the ends beyond a crossing near them.
func TestUncross(t *testing.T) {
	t.Parallel()
	loop := []r2.Vec{{X: 0}, {X: 10}, {X: 10, Y: 1}, {X: 9, Y: 1}, {X: 9, Y: -1}, {X: 30, Y: -1}, {X: 30, Y: 20}, {X: 0, Y: 20}, {X: 0, Y: 5}}
	got := uncross(loop)
	if len(crossings(got, false)) > 0 || got[0] != loop[0] || got[len(got)-1] != loop[len(loop)-1] {
		t.Errorf("loop: %v", got)
	}
	tail := []r2.Vec{{X: 100, Y: -1}, {X: 50, Y: 10}, {}, {X: 50, Y: -10}, {X: 100, Y: 1}}
	got = uncross(tail)
	if n := len(got); got[0] != got[n-1] || math.Abs(got[0].Y) > 1e-9 || got[0].X < 90 || got[0].X > 100 {
		t.Errorf("tail: %v", got)
	}
	straight := []r2.Vec{{}, {X: 1}, {X: 1, Y: 1}}
	if got := uncross(straight); len(got) != 3 {
		t.Errorf("no crossing: %v", got)
	}
}

// A panel's cells: rows reach halfway to their neighbours and the first to the tip rib.
func TestPanelArea(t *testing.T) {
	t.Parallel()
	w := small()
	w.taper = 0.05
	p, err := newPanel(w.survey(t, 1), 300)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for i := range p.rows() {
		sum += p.area(i) * float64(p.columns())
	}
	if want := p.length * w.span * (1 + w.taper*w.span/2/w.chord); math.Abs(sum/want-1) > 0.002 {
		t.Errorf("area %.0f mm2, want %.0f", sum, want)
	}
}

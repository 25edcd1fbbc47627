package outbox

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r2"
)

// hatch returns lines at 45 degrees, spacing apart, that fill loops (even-odd). They are true lines and no
// pattern, so that every program draws them alike.
func hatch(loops [][]r2.Vec, spacing float64) [][]r2.Vec {
	const c = math.Sqrt2 / 2
	turned := make([][]r2.Vec, len(loops))
	lo, hi := math.Inf(1), math.Inf(-1)
	for i, l := range loops {
		for _, p := range l {
			q := vec(c*(p.X-p.Y), c*(p.X+p.Y))
			turned[i] = append(turned[i], q)
			lo, hi = math.Min(lo, q.Y), math.Max(hi, q.Y)
		}
	}
	var out [][]r2.Vec
	for k := math.Ceil(lo / spacing); k*spacing < hi; k++ {
		y := k * spacing
		xs := crossings(turned, y)
		for i := 0; i+1 < len(xs); i += 2 {
			out = append(out, []r2.Vec{
				vec(c*(xs[i]+y), c*(y-xs[i])),
				vec(c*(xs[i+1]+y), c*(y-xs[i+1])),
			})
		}
	}
	return out
}

// dots returns small lozenges on a staggered grid inside loops (even-odd).
func dots(loops [][]r2.Vec, spacing, size float64) [][]r2.Vec {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, l := range loops {
		for _, p := range l {
			lo, hi = math.Min(lo, p.Y), math.Max(hi, p.Y)
		}
	}
	var out [][]r2.Vec
	for k := math.Ceil(lo / spacing); k*spacing < hi; k++ {
		y := k * spacing
		shift := 0.5 * math.Abs(math.Mod(k, 2))
		xs := crossings(loops, y)
		for i := 0; i+1 < len(xs); i += 2 {
			for n := math.Ceil(xs[i]/spacing - shift); (n+shift)*spacing < xs[i+1]; n++ {
				x := (n + shift) * spacing
				out = append(out, []r2.Vec{vec(x-size, y), vec(x, y-size), vec(x+size, y), vec(x, y+size)})
			}
		}
	}
	return out
}

// crossings returns where the level y crosses the loops, rising.
func crossings(loops [][]r2.Vec, y float64) []float64 {
	var xs []float64
	for _, l := range loops {
		for i, b := range l {
			a := l[(i+len(l)-1)%len(l)]
			if (a.Y <= y) != (b.Y <= y) {
				xs = append(xs, a.X+(b.X-a.X)*(y-a.Y)/(b.Y-a.Y))
			}
		}
	}
	slices.Sort(xs)
	return xs
}

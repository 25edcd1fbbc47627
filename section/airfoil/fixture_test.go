package airfoil

import (
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

var update = flag.Bool("update", false, "write the coordinate files in testdata anew")

// must makes a section by formula or stops.
func must(t testing.TB, designation string) *Airfoil {
	t.Helper()
	a, err := Parse(designation)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// surfacesOf samples a section by formula at given stations of the mean line: two blocks from the nose.
func surfacesOf(a *Airfoil, xs []float64) (upper, lower []r2.Vec) {
	for _, x := range xs {
		s := math.Sqrt(x)
		upper = append(upper, a.curve.point(s))
		lower = append(lower, a.curve.point(-s))
	}
	return upper, lower
}

// cosine returns n stations that crowd at nose and tail.
func cosine(n int) []float64 {
	xs := make([]float64, n)
	for i := range xs {
		xs[i] = (1 - math.Cos(math.Pi*float64(i)/float64(n-1))) / 2
	}
	return xs
}

// printed returns the stations of the published tables as fractions of the chord.
func printed() []float64 {
	xs := stations()
	for i := range xs {
		xs[i] /= 100
	}
	return xs
}

// round joins two blocks to one outline from the upper tail round the nose.
func round(upper, lower []r2.Vec) []r2.Vec {
	up := slices.Clone(upper)
	slices.Reverse(up)
	return append(up, lower[1:]...)
}

// lines writes points, one a line, in a format such as "%.5f %.5f".
func lines(format string, points []r2.Vec) string {
	var b strings.Builder
	for _, p := range points {
		fmt.Fprintf(&b, format+"\n", p.X, p.Y)
	}
	return b.String()
}

// moved scales points and then shifts them.
func moved(points []r2.Vec, scale float64, by r2.Vec) []r2.Vec {
	out := make([]r2.Vec, len(points))
	for i, p := range points {
		out[i] = r2.Add(r2.Scale(scale, p), by)
	}
	return out
}

// reversed returns points in the other order.
func reversed(points []r2.Vec) []r2.Vec {
	out := slices.Clone(points)
	slices.Reverse(out)
	return out
}

// fixtures is the origin of every coordinate file in testdata: its name and its text.
func fixtures(t testing.TB) map[string]string {
	u, l := surfacesOf(must(t, "NACA 23012"), cosine(31))
	once := round(u, l)
	up, lp := surfacesOf(must(t, "NACA 2412"), printed())
	blocks := fmt.Sprintf("Marsh Wren root, 2412\n%8.0f. %8.0f.\n\n%s\n%s", float64(len(up)), float64(len(lp)),
		lines(" %.6f  %.6f", up), lines(" %.6f  %.6f", lp))
	messy := "\ufeff# Marsh Wren tip, made from the formula\r\nMarsh Wren tip\r\nx;z;y\r\n" +
		strings.ReplaceAll(lines("%.4f;\t%.4f;0.0", moved(reversed(once), 100, r2.Vec{})), "\n", "\r\n")
	crossed := slices.Clone(once)
	for i, p := range crossed {
		crossed[i].Y -= math.Copysign(0.0016*p.X*p.X, float64(30-i)) // thinner towards the tail, until it crosses
	}
	blunder := slices.Clone(once)
	blunder[12].Y += 0.02
	return map[string]string{
		"once-round.dat":   "Marsh Wren tip\n" + lines("%.6f %9.6f", once),
		"two-blocks.dat":   blocks,
		"messy.csv":        messy,
		"crossed-tail.dat": "Marsh Wren tip, tail crossed\n" + lines("%.6f %9.6f", crossed),
		"blunder.dat":      "Marsh Wren tip, one slip of the pen\n" + lines("%.6f %9.6f", blunder),
		"cut-off.dat":      blocks[:len(blocks)*3/4],
	}
}

// TestFixturesAreWhatTheirMakerMakes keeps the files in testdata and the formulas they come from together.
func TestFixturesAreWhatTheirMakerMakes(t *testing.T) {
	for name, text := range fixtures(t) {
		path := filepath.Join("testdata", name)
		if *update {
			if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if got, err := os.ReadFile(path); err != nil || string(got) != text {
			t.Errorf("%s is not what fixtures makes (%v); run go test -update", path, err)
		}
	}
}

package airfoil

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/scan"
)

// whole returns what is wrong with the answer to a file that may hold anything: a refusal must name the file, an
// accepted section must be one.
func whole(data []byte) error {
	a, err := Read(bytes.NewReader(data), "fuzz.dat")
	if err != nil {
		var format *scan.FormatError
		if a != nil || !errors.As(err, &format) || format.File != "fuzz.dat" || format.Msg == "" {
			return fmt.Errorf("%v is no refusal that names the file", err)
		}
		return nil
	}
	for _, p := range a.Outline(101) {
		if !(math.Abs(p.X) < 3 && math.Abs(p.Y) < 3) {
			return fmt.Errorf("a section of chord 1 has a point at %v", p)
		}
	}
	for i := range 101 {
		x := float64(i) / 100
		if a.Upper(x) < a.Lower(x)-1e-3 {
			return fmt.Errorf("surfaces cross at %g", x)
		}
	}
	factor, angle := a.Tape()
	thickness, at := a.Thickness()
	if !(factor > 0.9 && factor < 1.5 && math.Abs(angle) < 1 && thickness > 0 && thickness < 1 && at >= 0 && at <= 1 && a.NoseRadius() >= 0) {
		return fmt.Errorf("tape %g at %g, thickness %g at %g, nose %g", factor, angle, thickness, at, a.NoseRadius())
	}
	return Ordinates(&bytes.Buffer{}, a)
}

func FuzzRead(f *testing.F) {
	for _, text := range fixtures(f) {
		f.Add([]byte(text))
	}
	for _, c := range oddities(f, 20) {
		f.Add([]byte(c.text))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if err := whole(data); err != nil {
			t.Fatal(err)
		}
	})
}

// TestReadSurvivesDamage moves, drops, repeats and swaps points of a good file.
func TestReadSurvivesDamage(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, err := Parse(names(leastThickness).Draw(t, "name"))
		if err != nil {
			t.Fatal(err)
		}
		points := round(surfacesOf(a, cosine(rapid.IntRange(5, 50).Draw(t, "n"))))
		for range rapid.IntRange(0, 6).Draw(t, "slips") {
			i := rapid.IntRange(0, len(points)-1).Draw(t, "i")
			j := rapid.IntRange(0, len(points)-1).Draw(t, "j")
			size := math.Pow(10, rapid.Float64Range(-7, 1).Draw(t, "size"))
			switch rapid.IntRange(0, 6).Draw(t, "slip") {
			case 0:
				points[i].Y += size
			case 1:
				points[i].X -= size
			case 2:
				points[i], points[j] = points[j], points[i]
			case 3:
				points = slices.Insert(points, j, points[i])
			case 4:
				points = slices.Delete(points, min(i, j), min(max(i, j), min(i, j)+20))
			case 5:
				points = moved(points, size, r2.Vec{X: size, Y: -size})
			case 6:
				for k := range points {
					points[k].Y += size * math.Sin(float64(k*k))
				}
			}
			if len(points) < 2 {
				return
			}
		}
		if err := whole([]byte(lines("%.7g %.7g", points))); err != nil {
			t.Fatal(err)
		}
	})
}

package scan

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// areas returns the sum of the areas of a mesh's triangles seen along z, and the part of it that faces down.
func areas(s *Scan) (sum, down float64) {
	for _, t := range s.Triangles {
		a, b, c := s.At(int(t[0])), s.At(int(t[1])), s.At(int(t[2]))
		area := ((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])) / 2
		sum += math.Abs(area)
		down += max(0, -area)
	}
	return sum, down
}

// polygonIn writes one polygon in each format that has them.
func polygonIn(format string, points [][2]float64) string {
	var b strings.Builder
	n := len(points)
	switch format {
	case "obj":
		for _, p := range points {
			fmt.Fprintf(&b, "v %v %v 5\n", p[0], p[1])
		}
		b.WriteString("f")
		for i := range points {
			fmt.Fprintf(&b, " %d", i+1)
		}
		return b.String() + "\n"
	case "ply":
		b.WriteString(asciiHead(fmt.Sprint(n)) + "element face 1\nproperty list int int vertex_indices\nend_header\n")
	case "off":
		fmt.Fprintf(&b, "OFF\n%d 1 0\n", n)
	}
	for _, p := range points {
		fmt.Fprintf(&b, "%v %v 5\n", p[0], p[1])
	}
	fmt.Fprint(&b, n)
	for i := range points {
		fmt.Fprintf(&b, " %d", i)
	}
	return b.String() + "\n"
}

// TestPolygons lays polygons with corners that point inwards, beginning at each corner, in each format.
func TestPolygons(t *testing.T) {
	for name, c := range map[string]struct {
		points [][2]float64
		area   float64
	}{
		"quad":             {[][2]float64{{0, 0}, {4, 0}, {1, 1}, {0, 4}}, 4},
		"L":                {[][2]float64{{0, 0}, {3, 0}, {3, 1}, {1, 1}, {1, 3}, {0, 3}}, 5},
		"hole with a slit": {[][2]float64{{0, 0}, {4, 0}, {4, 4}, {0, 4}, {0, 0}, {1, 1}, {1, 3}, {3, 3}, {3, 1}, {1, 1}}, 12},
		"straight corners": {[][2]float64{{0, 0}, {1, 0}, {2, 0}, {2, 2}, {1, 2}, {1, 1}, {0, 1}}, 3},
	} {
		for _, format := range []string{"obj", "ply", "off"} {
			for turn := range c.points {
				points := append(append([][2]float64{}, c.points[turn:]...), c.points[:turn]...)
				s, err := Decode([]byte(polygonIn(format, points)), "cap."+format, Limits{})
				if err != nil {
					t.Fatalf("%s: %v", name, err)
				}
				if sum, down := areas(s); math.Abs(sum-c.area) > 1e-9 || down > 0 {
					t.Errorf("%s as %s from corner %d: area %g, %g of it turned over, want %g", name, format, turn, sum, down, c.area)
				}
			}
		}
	}
}

// TestAnyPolygon lays stars with any rays.
func TestAnyPolygon(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.IntRange(4, 60).Draw(rt, "n")
		var points [][2]float64
		want := 0.0
		for i := range n {
			r := float64(rapid.IntRange(1, 100).Draw(rt, "ray"))
			points = append(points, [2]float64{r * math.Cos(2*math.Pi*float64(i)/float64(n)), r * math.Sin(2*math.Pi*float64(i)/float64(n))})
		}
		for i, p := range points {
			q := points[(i+1)%n]
			want += (p[0]*q[1] - p[1]*q[0]) / 2
		}
		s, err := Decode([]byte(polygonIn("obj", points)), "cap.obj", Limits{})
		if err != nil {
			rt.Fatal(err)
		}
		if sum, down := areas(s); math.Abs(sum-want) > 1e-4*want || down > 1e-4*want {
			rt.Fatalf("area %g, %g of it turned over, want %g", sum, down, want)
		}
	})
}

// TestHopelessPolygons end soon, and are read all the same.
func TestHopelessPolygons(t *testing.T) {
	var comb [][2]float64
	for i := range 4000 {
		comb = append(comb, [2]float64{float64(i), float64(i % 2 * (50 + i%7))})
	}
	comb = append(comb, [2]float64{4000, 100}, [2]float64{0, 100})
	for name, points := range map[string][][2]float64{
		"crossing":     {{0, 0}, {2, 2}, {2, 0}, {0, 2}, {1, 3}},
		"to and fro":   {{0, 0}, {1, 0}, {2, 0}, {1, 0}, {0, 1}, {1, 0}},
		"not a number": {{0, 0}, {math.NaN(), 1}, {2, 0}, {1, 5}, {0, 1}},
		"a comb":       comb,
	} {
		s, err := Decode([]byte(polygonIn("obj", points)), "cap.obj", Limits{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		sound(t, s)
	}
}

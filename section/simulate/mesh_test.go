package simulate

import (
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
	"tipwright/section/airfoil"
)

// edges counts each directed edge of a mesh.
func edges(triangles [][3]uint32) map[[2]uint32]int {
	out := map[[2]uint32]int{}
	for _, t := range triangles {
		for i := range 3 {
			out[[2]uint32{t[i], t[(i+1)%3]}]++
		}
	}
	return out
}

// openEdges counts the edges without a neighbour; crossed ones are met twice in the same direction.
func openEdges(triangles [][3]uint32) (open, crossed int) {
	all := edges(triangles)
	for e, n := range all {
		if n > 1 {
			crossed++
		}
		if all[[2]uint32{e[1], e[0]}] == 0 {
			open++
		}
	}
	return open, crossed
}

// volume returns the volume in mm³ that a mesh encloses, positive if its triangles face out.
func volume(s *scan.Scan, truth *Truth) float64 {
	p := back(s, truth)
	sum := 0.0
	for _, t := range s.Triangles {
		sum += r3.Dot(p[t[0]], r3.Cross(p[t[1]], p[t[2]])) / 6
	}
	return sum
}

// sharp is NACA 0012 with its tail closed, as a coordinate file.
func sharp(t testing.TB) *airfoil.Airfoil {
	t.Helper()
	var b strings.Builder
	b.WriteString("sharp tail\n")
	const n = 60
	for i := -n; i <= n; i++ {
		u := 1 - math.Cos(math.Pi/2*float64(i)/n)
		z := thickness12(u) - 0.00126*u
		if i == -n || i == n {
			z = 0
		}
		if i > 0 {
			z = -z
		}
		b.WriteString(ftoa(u) + " " + ftoa(z) + "\n")
	}
	a, err := airfoil.Read(strings.NewReader(b.String()), "sharp.dat")
	if err != nil {
		t.Fatal(err)
	}
	return a
}

func TestClosedMeshIsWatertight(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		for name, a := range map[string]*airfoil.Airfoil{"open tail": parse(t, "NACA 0012"), "sharp tail": sharp(t)} {
			w := Wing{Airfoil: a, Side: side, Chord: 1000, Span: 400}
			if name == "open tail" {
				w.TailThickness = 25 // several rows
			}
			s := Scanner{Points: 6000, Mesh: true, RibFace: Closed, InboardClosed: true, MeshSmooth: 0, RandomPose: true}
			out, truth := mustScan(t, w, s)
			if open, crossed := openEdges(out.Triangles); open+crossed > 0 {
				t.Errorf("%v, %s: %d open edges, %d crossed", side, name, open, crossed)
			}
			// The area of a 4-digit section is 0.6851 t c² (integral of the thickness polynomial with its open tail).
			want := 0.6851 * 0.12 * 1e6 * 400
			if name == "sharp tail" {
				want -= 0.00126 * 1e6 * 400 // what closing it took off
			}
			if w.TailThickness > 0 {
				want += (25 - 2.52) / 4 * 1000 * 400 // a wedge over the aft half
			}
			if got := volume(out, truth); math.Abs(got/want-1) > 0.01 {
				t.Errorf("%v, %s: the mesh holds %.0f mm³, the wing %.0f", side, name, got, want)
			}
		}
	}
}

func TestOpenMeshIsOpenWhereTheWingIs(t *testing.T) {
	w := Wing{Airfoil: parse(t, "NACA 0012"), Side: section.Left, Chord: 1000, Span: 400, Hinge: 0.75, HingeGap: 6, Overhang: 12}
	s := Scanner{Points: 6000, Mesh: true}
	out, truth := mustScan(t, w, s)
	p := back(out, truth)
	all := edges(out.Triangles)
	kinds := map[string]int{}
	for e := range all {
		if all[[2]uint32{e[1], e[0]}] > 0 {
			continue
		}
		switch a, b := p[e[0]], p[e[1]]; {
		case math.Abs(a.Y+12)+math.Abs(b.Y+12) < 1e-3:
			kinds["tip"]++
		case math.Abs(a.Y-400)+math.Abs(b.Y-400) < 1e-3:
			kinds["inboard"]++
		case math.Abs(a.X-750) < 3.01 && math.Abs(b.X-750) < 3.01:
			kinds["hinge"]++
		default:
			t.Fatalf("an open edge at %v", a)
		}
	}
	if kinds["tip"] == 0 || kinds["tip"] != kinds["inboard"] || kinds["hinge"] == 0 {
		t.Errorf("open edges: %v", kinds)
	}
	s.RibFace = Closed
	out, truth = mustScan(t, w, s)
	face := 0
	for _, p := range back(out, truth) {
		if math.Abs(p.Y) < 1e-3 && math.Abs(p.Z) < 30 && p.X > 200 && p.X < 500 {
			face++
		}
	}
	if face < 20 {
		t.Errorf("the tip rib's face behind the overhang has %d points", face)
	}
}

func TestHolesAndShadowsLeaveTrianglesOut(t *testing.T) {
	w := Wing{Airfoil: parse(t, "NACA 0012"), Side: section.Left, Chord: 1000, Span: 400}
	hole := Hole{Upper, 400, 200, 60}
	for _, mesh := range []bool{false, true} {
		out, truth := mustScan(t, w, Scanner{Points: 20000, Mesh: mesh, Holes: []Hole{hole}})
		upper, lower := 0, 0
		for _, p := range back(out, truth) {
			if math.Hypot(p.X-400, p.Y-200) < 50 {
				if p.Z > 0 {
					upper++
				} else {
					lower++
				}
			}
		}
		// 20000 points on 2.05 by 0.4 m: 192 in a circle of 50 mm.
		if upper != 0 || lower < 150 || lower > 240 {
			t.Errorf("mesh %v: %d points in the hole, %d opposite", mesh, upper, lower)
		}
	}
}

func TestSmoothingCalmsTheInsideAndKeepsTheEdges(t *testing.T) {
	w := Wing{Airfoil: parse(t, "NACA 0012"), Side: section.Left, Chord: 1000, Span: 400}
	rough := func(rounds int) float64 {
		out, truth := mustScan(t, w, Scanner{Points: 8000, Mesh: true, Noise: 0.5, MeshSmooth: rounds})
		sum, n, edge := 0.0, 0, 0
		for _, p := range back(out, truth) {
			if p.X > 300 && p.X < 900 && p.Y > 30 && p.Y < 370 {
				d := math.Abs(p.Z) - 1000*thickness12(p.X/1000)
				sum, n = sum+d*d, n+1
			}
			if math.Abs(p.Y) < 1e-3 {
				edge++
			}
		}
		if edge < 100 {
			t.Errorf("after %d rounds only %d vertices lie at the tip", rounds, edge)
		}
		return math.Sqrt(sum / float64(n))
	}
	if before, after := rough(0), rough(2); before < 0.45 || after > 0.25 {
		t.Errorf("roughness %.3f mm before and %.3f mm after smoothing", before, after)
	}
}

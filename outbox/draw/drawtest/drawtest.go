// Package drawtest reads drawings back for tests, by programs and readers that know nothing of how they
// were written: PDF by poppler, DXF by ezdxf, by GDAL and by a reader of its own, SVG by an XML parser and by
// Chromium.
package drawtest

import (
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/scan/outside"
)

// Picture is what a reader found in a file, mm, y up.
type Picture struct {
	Size    r2.Vec // of the page; zero where the format has none
	Paths   []Path
	Circles []Circle
	Texts   []Text
}

// Path is a line through points; a straight line is a path of two.
type Path struct {
	Layer  string
	Points []r2.Vec
	Closed bool
	Width  float64 // of the pen, mm; 0 where the format has none
	Dashed bool
	Filled bool
}

// Circle is a full circle.
type Circle struct {
	Layer  string
	Centre r2.Vec
	R      float64
}

// Text is a line of lettering.
type Text struct {
	Layer  string
	At     r2.Vec // of its anchor
	Height float64
	Words  string
}

// On returns the paths of one layer.
func (p *Picture) On(layer string) []Path {
	var out []Path
	for _, q := range p.Paths {
		if q.Layer == layer {
			out = append(out, q)
		}
	}
	return out
}

// Tool returns the path of a program. Where it is missing the test is skipped with a word on how to install
// it, except where CI is set: there it fails, so that no check is passed by being absent.
func Tool(t testing.TB, program, debian string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err != nil {
		outside.Missing(t, program, debian)
	}
	return path
}

// Slow skips a test that takes long, with a word on how to run it, except where CI is set.
func Slow(t testing.TB) {
	t.Helper()
	if os.Getenv("CI") == "" {
		t.Skip("this slow check by outside programs DID NOT RUN. To run it: CI=1 go test ./outbox/...")
	}
}

// run runs a program and returns what it prints.
func run(t testing.TB, program string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(program, args...)
	out, err := cmd.Output()
	if err != nil {
		text := ""
		if e, ok := err.(*exec.ExitError); ok {
			text = string(e.Stderr)
		}
		t.Fatalf("%s %v: %v %s", program, args, err, text)
	}
	return out
}

func save(t testing.TB, name string, data []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// Segments returns the straight pieces of a path.
func (p Path) Segments() [][2]r2.Vec {
	var out [][2]r2.Vec
	for i := 1; i < len(p.Points); i++ {
		out = append(out, [2]r2.Vec{p.Points[i-1], p.Points[i]})
	}
	if p.Closed && len(p.Points) > 2 {
		out = append(out, [2]r2.Vec{p.Points[len(p.Points)-1], p.Points[0]})
	}
	return out
}

// Distance returns how far a point lies from a path, mm.
func (p Path) Distance(q r2.Vec) float64 {
	least := math.Inf(1)
	for _, s := range p.Segments() {
		least = math.Min(least, fromPiece(q, s))
	}
	return least
}

// fromPiece returns how far a point lies from a straight piece.
func fromPiece(q r2.Vec, s [2]r2.Vec) float64 {
	d := r2.Sub(s[1], s[0])
	f := 0.0
	if n := r2.Norm2(d); n > 0 {
		f = math.Max(0, math.Min(1, r2.Dot(r2.Sub(q, s[0]), d)/n))
	}
	return r2.Norm(r2.Sub(q, r2.Add(s[0], r2.Scale(f, d))))
}

// Apart returns the greatest distance of two paths' points from the other path, mm: how far apart the two
// lines run, corners that were cut short included.
func Apart(a, b Path) float64 { return math.Max(farthest(a, b), farthest(b, a)) }

// farthest returns the greatest distance of a's points from b. It begins with the piece of b that was
// nearest to the point before and looks at the rest only if that is not near enough to settle it.
func farthest(a, b Path) float64 {
	const settled = 1e-3 // mm
	worst, at := 0.0, 0
	pieces := b.Segments()
	for _, p := range a.Points {
		least, start := math.Inf(1), at
		for i := range pieces {
			k := (start + i) % len(pieces)
			if d := fromPiece(p, pieces[k]); d < least {
				least, at = d, k
				if d < math.Max(settled, worst) {
					break
				}
			}
		}
		worst = math.Max(worst, least)
	}
	return worst
}

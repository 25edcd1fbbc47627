package outbox

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// shapes are blocks from a model's to an airliner's, thin, thick, symmetric and strongly cambered.
func shapes() []struct {
	name  string
	chord float64
} {
	return []struct {
		name  string
		chord float64
	}{{"NACA 23012", 1220}, {"NACA 0006", 300}, {"NACA 4415", 900}, {"NACA 6409", 1600}, {"NACA 0021", 2600}, {"NACA 23112", 450}, {"NACA 0012", 150}}
}

// Words must be large enough to read and must not run over one another, the block's edge or a hole.
func TestWordsKeepClear(t *testing.T) {
	t.Parallel()
	for _, s := range shapes() {
		for _, side := range []section.Side{section.Left, section.Right} {
			_, d := blockDrawings(t, blockResult(t, side, s.name, s.chord))
			t.Run(fmt.Sprint(s.name, s.chord, side), func(t *testing.T) {
				wordsApart(t, d)
				for _, l := range d.Layers {
					for _, e := range l.Elements {
						text, ok := e.(draw.Text)
						if !ok {
							continue
						}
						box := textBox(text)
						crossesLine(t, d, "BLOCK_EDGE", box, text.Words)
						for _, h := range holesOf(t, d) {
							if overlaps(box, r2.Box{Min: r2.Sub(h, r2.Vec{X: 2.5, Y: 2.5}), Max: r2.Add(h, r2.Vec{X: 2.5, Y: 2.5})}) {
								t.Errorf("%q lies on a hole", text.Words)
							}
						}
					}
				}
			})
		}
	}
}

func textBox(s draw.Text) r2.Box {
	w := draw.Width(s.Words, s.Height)
	left := s.At.X - w*float64(s.Anchor)/2
	return r2.Box{Min: r2.Vec{X: left, Y: s.At.Y}, Max: r2.Vec{X: left + w, Y: s.At.Y + s.Height}}
}

func overlaps(a, b r2.Box) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

// crossesLine reports words through which the layer's line runs.
func crossesLine(t *testing.T, d *draw.Drawing, layer string, a r2.Box, words string) {
	t.Helper()
	for _, e := range layerOf(t, d, layer).Elements {
		for _, p := range e.(draw.Path).Points {
			if p.X > a.Min.X && p.X < a.Max.X && p.Y > a.Min.Y && p.Y < a.Max.Y {
				t.Errorf("%q lies on %s at %v", words, layer, p)
				return
			}
		}
	}
}

// The marks must part each surface into equal lengths, measured on the drawn line, with nose and tail at the
// ends; holes must keep clear of the wire's path by what is printed.
func TestMarksAndHoles(t *testing.T) {
	t.Parallel()
	for _, s := range shapes() {
		d, _ := blockDrawings(t, blockResult(t, section.Left, s.name, s.chord))
		edge := edgeOf(t, d)
		var at []float64
		for _, e := range layerOf(t, d, "WIRE_MARKS").Elements {
			if l, ok := e.(draw.Line); ok && edge.Distance(l.A) < 1e-6 {
				at = append(at, arcOf(edge, l.A))
			}
		}
		upper, lower := distinct(at, edge)
		if len(upper) != wireSteps-1 || len(lower) != wireSteps-1 {
			t.Fatalf("%s: %d and %d marks", s.name, len(upper), len(lower))
		}
		for _, side := range [][]float64{upper, lower} {
			for i := 2; i < len(side); i++ {
				if e := math.Abs((side[i] - side[i-1]) - (side[1] - side[0])); e > 0.01 {
					t.Errorf("%s: mark %d is %.3f mm off", s.name, i, e)
				}
			}
		}
		for _, h := range holesOf(t, d) {
			if gap := edge.Distance(h); gap < holeClearance+holeDiameter/2 {
				t.Errorf("%s %.0f: a hole is %.1f mm from the edge", s.name, s.chord, gap)
			}
		}
	}
}

// arcOf returns how far along the path a point of it lies.
func arcOf(p drawtest.Path, q r2.Vec) float64 {
	sum := 0.0
	for _, s := range p.Segments() {
		step := drawtest.Path{Points: s[:]}
		if step.Distance(q) < 1e-6 {
			return sum + r2.Norm(r2.Sub(q, s[0]))
		}
		sum += r2.Norm(r2.Sub(s[1], s[0]))
	}
	return math.NaN()
}

// distinct returns the arcs of the marks on the upper surface and on the lower, without the second line of
// marks that are drawn on both sides of the edge.
func distinct(at []float64, edge drawtest.Path) (upper, lower []float64) {
	nose := 0.0
	far := 0.0
	for _, p := range edge.Points {
		if d := r2.Norm(r2.Sub(p, edge.Points[0])); d > far {
			far, nose = d, arcOf(edge, p)
		}
	}
	seen := map[int]bool{}
	for _, a := range at {
		if key := int(math.Round(a * 10)); !seen[key] {
			seen[key] = true
			if a < nose {
				upper = append(upper, a)
			} else {
				lower = append(lower, a)
			}
		}
	}
	return upper, lower
}

// The figures on the block must be those of the lines and holes beside them, to the digits printed.
func TestPrintedPlaces(t *testing.T) {
	t.Parallel()
	for _, s := range shapes() {
		for _, side := range []section.Side{section.Left, section.Right} {
			d, _ := blockDrawings(t, blockResult(t, side, s.name, s.chord))
			words := wordsOn(d) // set in lines, so the words run on from element to element
			var lines []string
			for _, e := range layerOf(t, d, "REFERENCE").Elements[1:] {
				x := e.(draw.Line).A.X * paperSign(side, facesInboard)
				lines = append(lines, fmt.Sprintf("%g", x))
			}
			if want := "Lines A, B, C lie " + strings.Join(lines, ", ") + " mm"; !strings.Contains(words, want) {
				t.Errorf("%s %.0f: %q is not said: %s", s.name, s.chord, want, words)
			}
			edge := edgeOf(t, d)
			for i, h := range holesOf(t, d) {
				want := fmt.Sprintf("H%d: 5 mm hole, x %g, z %g; edge %.1f mm away", i+1, h.X*paperSign(side, facesInboard), h.Y+0, edge.Distance(h))
				if want = strings.ReplaceAll(want, "-", minus); !strings.Contains(words, want) {
					t.Errorf("%s %.0f: %q is not said: %s", s.name, s.chord, want, words)
				}
			}
		}
	}
}

// Blocks as they come from the offset, with tails cut short or closed, must be drawn on any paper.
func TestOffsetBlocks(t *testing.T) {
	t.Parallel()
	papers := []sheet.Paper{{Name: "letter", Width: 215.9, Height: 279.4}, {Name: "A3", Width: 297, Height: 420}, {Name: "roll", Width: 609.6}}
	for i, s := range shapes() {
		for k, by := range []float64{-0.3, -1.6, 0.5} {
			r := blockResult(t, section.Left, s.name, s.chord)
			for j := range r.Templates {
				var err error
				if r.Templates[j].Outline, err = fit.Offset(r.Target, by); err != nil {
					t.Fatal(err)
				}
			}
			sh := sampleSheet()
			sh.Paper = papers[(i+k)%len(papers)]
			d, err := templateDrawings(r, sh, sampleIdentity("left"))
			if err != nil {
				t.Fatalf("%s %.0f by %g: %v", s.name, s.chord, by, err)
			}
			for _, n := range d {
				wordsApart(t, n.Drawing)
			}
			if _, err := drawnFiles(d[:1], nil, sh); err != nil {
				t.Errorf("%s %.0f on %s: %v", s.name, s.chord, sh.Paper.Name, err)
			}
		}
	}
}

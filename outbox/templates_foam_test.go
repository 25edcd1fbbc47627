package outbox

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

func foamOf(t *testing.T, side section.Side, chord float64, length, thick sheet.Length) (d *draw.Drawing, words string) {
	t.Helper()
	s := sampleSheet()
	s.TipLength, s.FoamSheet = length, thick
	out, err := foamDrawing(blockResult(t, side, "NACA 23012", chord), s, sampleIdentity(side.String()))
	if err != nil {
		t.Fatal(err)
	}
	return out[0].Drawing, strings.Join(strings.Fields(wordsOn(out[0].Drawing)+" "+fmt.Sprint(out[0].Drawing.Notes)), " ")
}

// The sheets must fill the tip's length: length over thickness, rounded up (common practice, no source).
func TestFoamSheets(t *testing.T) {
	for _, c := range []struct {
		length, sheet sheet.Length
		want          string
	}{
		{260, 50, "6 sheets of 50.0 mm, the last trimmed by 40.0 mm to 10.0 mm, or the last two to 30.0 mm each."},
		{260, 52, "5 sheets of 52.0 mm, none trimmed."},
		{260, 48.7, "6 sheets of 48.7 mm, the last trimmed by 32.2 mm to 16.5 mm, or the last two to 32.6 mm each."},
		{260, 45, "6 sheets of 45.0 mm, the last trimmed by 10.0 mm to 35.0 mm."},
		{100, 150, "One sheet of 150.0 mm, the last trimmed by 50.0 mm to 100.0 mm."},
	} {
		d, words := foamOf(t, section.Right, 1220, c.length, c.sheet)
		if strings.Count(words, c.want) != 1 {
			t.Errorf("%v of %v: %s", c.length, c.sheet, words)
		}
		sheets := len(layerOf(t, d, "FOAM").Elements) - 2
		if want := int(math.Ceil(float64(c.length / c.sheet))); sheets != want {
			t.Errorf("%d sheets are drawn, not %d", sheets, want)
		}
	}
}

// The numbers of pieces were counted by hand on squared paper.
func TestPiecesOfABoard(t *testing.T) {
	for _, c := range []struct {
		wide, high float64
		want       int
	}{{1280, 190, 3}, {610, 2440, 1}, {611, 2440, 0}, {303.5, 2440, 2}, {304, 2440, 1}, {1218.5, 303.5, 4}, {1219, 303.5, 2}, {200, 300, 24}} {
		if got := piecesOf(2440, 610, c.wide, c.high, 3); got != c.want {
			t.Errorf("%g by %g: %d pieces, not %d", c.wide, c.high, got, c.want)
		}
	}
	_, words := foamOf(t, section.Left, 1220, 260, 50)
	if want := "Cut list: 6 pieces of 1285 by 190 mm, 3 mm for the saw between them. Boards needed: 2 of 610 by 2440 mm, or 1 of 1220 by 2440 mm."; !strings.Contains(words, want) {
		t.Errorf("%s", words)
	}
	if _, words := foamOf(t, section.Left, 2600, 260, 50); !strings.Contains(words, "No usual board is large enough") {
		t.Errorf("%s", words)
	}
	for _, want := range []string{"sheet 1 sheet 2, turned sheet 3", "sheet 6, turned, to 10.0", "turn the even ones end for end"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q is not said: %s", want, words)
		}
	}
}

// What places the blocks must be so on the drawing, to scale, on both end faces; the faces must be each
// other's mirror images, each seen by whoever stands before it.
func TestFoamFaces(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		const scale = 8
		d, words := foamOf(t, side, 1220, 260, 50)
		if d.Scale != "1 : 8" {
			t.Fatal(d.Scale)
		}
		foam, blocks := layerOf(t, d, "FOAM").Elements, layerOf(t, d, "BLOCK_EDGE").Elements
		for i, face := range []string{"Outboard", "Inboard"} {
			f, b := foam[i].(draw.Path).Points, blocks[i].(draw.Path).Points
			front, bottom := f[0].X, f[0].Y
			nose, tail := b[len(b)/2], r2.Scale(0.5, r2.Add(b[0], b[len(b)-1]))
			// The left wing's outboard face is seen looking to starboard, so aft is to the right.
			if noseLeft := nose.X < tail.X; noseLeft != ((side == section.Left) == (face == "Outboard")) {
				t.Errorf("%s wing, %s: the nose points to the left: %v", side, face, noseLeft)
			}
			if math.Abs(front-nose.X) > math.Abs(front-tail.X) {
				t.Errorf("%s wing, %s: the front face lies behind", side, face)
			}
			for _, want := range []string{
				fmt.Sprintf("chord line %.1f mm, tail mark %.1f mm", scale*(tail.Y-bottom), scale*(tail.Y-bottom)),
				fmt.Sprintf("%s end face, seen from %s: %.0f wide, %.0f high. Both diagonals %.1f.", face, strings.ToLower(face),
					scale*math.Abs(f[1].X-f[0].X), scale*(f[2].Y-f[1].Y), scale*r2.Norm(r2.Sub(f[2], f[0]))),
			} {
				if !strings.Contains(words, want) {
					t.Errorf("%q is not said: %s", want, words)
				}
			}
			for _, p := range b {
				if math.Abs(p.X-f[0].X) < foamEnds/scale-0.2 || math.Abs(p.X-f[1].X) < foamEnds/scale-0.2 || p.Y < bottom+foamRim/scale-0.2 || p.Y > f[2].Y-foamRim/scale+0.2 {
					t.Fatalf("%v has too little foam round it", p)
				}
			}
		}
		for i, p := range foam[0].(draw.Path).Points {
			q := foam[1].(draw.Path).Points[i]
			if r2.Norm(r2.Sub(r2.Sub(p, foam[0].(draw.Path).Points[0]), flipped(r2.Sub(q, foam[1].(draw.Path).Points[0])))) > 1e-9 {
				t.Errorf("corner %d: %v and %v are no mirror images", i, p, q)
			}
		}
	}
}

func flipped(p r2.Vec) r2.Vec { return r2.Vec{X: -p.X, Y: p.Y} }

// The trade's own figures: 1 mm at the tail of a 1200 mm chord is 0.048 degrees, and 0.1 degrees is 2 mm
// (common practice, no source; both follow from atan).
func TestTwistTable(t *testing.T) {
	_, words := foamOf(t, section.Left, 1200, 260, 50)
	for _, want := range []string{"1.0 mm at the tail: 0.048°", "3.0 mm at the tail: 0.143°", "Keep it under 0.1°: less than 2.0 mm"} {
		if !strings.Contains(words, want) {
			t.Errorf("%q is not said: %s", want, words)
		}
	}
}

package draw

import (
	"bytes"
	"io"
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// hostile has what each format could stumble over.
const hostile = "ł <b>&amp;\"'</b> %%c %%%% ½ ±0.3° (a\\b) 漢 \x00\x1b\r\n0\r\nEOF\r\n end"

// sample is a drawing without any symmetry, so that whatever is mirrored, swapped or shifted shows.
func sample() *Drawing {
	d := &Drawing{Title: "Sample, left: ½ of it", Origin: "the egg's blunt end"}
	d.On("BLOCK_EDGE", Pen{Width: 0.35}).Add(Path{egg(1200), true})
	d.On("SAW_LINE", Pen{Width: 0.2, Dash: []float64{6, 3}}).Add(Line{r2.Vec{X: -10, Y: 3}, r2.Vec{X: 1230, Y: 30}})
	d.On("HOLES", Pen{Width: 0.25}).Add(Circle{r2.Vec{X: 333.25, Y: 12.5}, 2.5})
	d.On("LINES", Pen{Width: 0.25, Ink: Ink{0, 0, 200}}).Add(Path{[]r2.Vec{{X: 10}, {X: 20, Y: 30}, {X: 50, Y: 5}}, false})
	d.On("FILL", Pen{Width: 0.25, Ink: Ink{230, 230, 120}}).Add(Area{[]r2.Vec{{X: 600}, {X: 650, Y: 10}, {X: 610, Y: 25}}})
	d.On("WORDS", Pen{Width: 0.25}).Add(
		Text{At: r2.Vec{X: 640, Y: 40}, Height: 5, Anchor: Middle, Words: hostile},
		Text{At: r2.Vec{X: 720, Y: 2}, Height: 3, Anchor: End, Angle: math.Pi / 5, Words: "turned"},
	)
	d.Controls = []Control{{"blunt end to sharp end", r2.Vec{}, r2.Vec{X: 1200}}}
	d.Notes = []Note{{"Caution", []string{"Blades cut."}}}
	d.Fit(10)
	return d
}

// egg is a smooth closed line of the given length, blunt at the origin, higher above than below.
func egg(length float64) []r2.Vec {
	var out []r2.Vec
	for i := range 700 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 700)
		x := length * (1 + c) / 2
		y := length * 0.06 * s * (1.2 - 0.5*x/length)
		if y < 0 {
			y *= 0.6
		}
		out = append(out, r2.Vec{X: x, Y: y})
	}
	return out
}

func written(t testing.TB, write func(io.Writer) error) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func pdfOf(t testing.TB, d *Drawing, p Page) []byte {
	t.Helper()
	return written(t, func(w io.Writer) error { return PDF(w, d, p) })
}

func letter() Page { return Page{Name: "letter", Width: 215.9, Height: 279.4} }

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if !(math.Abs(got-want) <= within) {
		t.Errorf("%s: %.4f, not %.4f", what, got, want)
	}
}

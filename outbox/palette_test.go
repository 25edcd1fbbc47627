package outbox

import (
	"image/color"
	"math"
	"testing"
)

// The ends of the best-known map of the paper: Msh (80, 1.08, -1.1) and (80, 1.08, 0.5) are sRGB 59 76 192
// and 180 4 38 (K. Moreland, ISVC 2009, table, from memory).
func TestMshAgreesWithThePaper(t *testing.T) {
	for _, c := range []struct {
		m, s, h float64
		want    color.RGBA
	}{
		{80, 1.08, -1.1, color.RGBA{59, 76, 192, 255}},
		{80, 1.08, 0.5, color.RGBA{180, 4, 38, 255}},
		{100, 0, 0, color.RGBA{255, 255, 255, 255}},
		{0, 0, 0, color.RGBA{0, 0, 0, 255}},
	} {
		got := msh(c.m, c.s, c.h)
		for k, d := range [3]int{int(got.R) - int(c.want.R), int(got.G) - int(c.want.G), int(got.B) - int(c.want.B)} {
			if d < -2 || d > 2 {
				t.Errorf("msh(%v, %v, %v) = %v, channel %d is off from %v", c.m, c.s, c.h, got, k, c.want)
			}
		}
	}
}

// luminance is the relative luminance of WCAG 2.1, by which contrast is told.
func luminance(c color.RGBA) float64 {
	l := func(v uint8) float64 {
		f := float64(v) / 255
		if f <= 0.03928 {
			return f / 12.92
		}
		return math.Pow((f+0.055)/1.055, 2.4)
	}
	return 0.2126*l(c.R) + 0.7152*l(c.G) + 0.0722*l(c.B)
}

func contrastOf(a, b color.RGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// Deeper is darker by day and lighter by night, in steps that show in grey as well.
func TestStepsShowInGrey(t *testing.T) {
	tones := map[tone]paint{}
	for _, p := range paints() {
		tones[p.tone] = p
	}
	for _, of := range []func(int) tone{low, high} {
		for k := 1; k < fillTones; k++ {
			a, b := tones[of(k-1)], tones[of(k)]
			if luminance(b.light) > luminance(a.light)-0.02 {
				t.Errorf("%s is not clearly darker than %s by day", b.tone, a.tone)
			}
			if luminance(b.dark) < luminance(a.dark)+0.005 {
				t.Errorf("%s is not lighter than %s by night", b.tone, a.tone)
			}
		}
	}
}

// Words need a contrast of 4.5 (WCAG 2.1, 1.4.3).
func TestWordsAreLegible(t *testing.T) {
	tones := map[tone]paint{}
	for _, p := range paints() {
		tones[p.tone] = p
	}
	for _, word := range []tone{ink, muted} {
		for _, behind := range []tone{ground, skin} {
			w, b := tones[word], tones[behind]
			if c := contrastOf(w.light, b.light); c < 4.5 {
				t.Errorf("%s on %s by day: %.1f", word, behind, c)
			}
			if c := contrastOf(w.dark, b.dark); c < 4.5 {
				t.Errorf("%s on %s by night: %.1f", word, behind, c)
			}
		}
	}
}

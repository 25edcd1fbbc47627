package outbox

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/section"
)

// svgText is one word of a drawing with its place.
type svgText struct {
	at   r2.Vec
	text string
}

// parseSVG reads a drawing strictly as XML and returns its words. All numbers of its paths must lie within
// the drawing.
func parseSVG(t *testing.T, data []byte) (words []svgText, width, height float64) {
	t.Helper()
	d := xml.NewDecoder(bytes.NewReader(data))
	var last *svgText
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return words, width, height
		}
		if err != nil {
			t.Fatal(err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			last = nil
			attribute := map[string]string{}
			for _, a := range e.Attr {
				attribute[a.Name.Local] = a.Value
			}
			switch e.Name.Local {
			case "svg":
				width, height = viewBox(t, attribute)
			case "path":
				inside(t, attribute["d"], width, height)
			case "text":
				words = append(words, svgText{at: vec(numberOf(t, attribute["x"]), numberOf(t, attribute["y"]))})
				last = &words[len(words)-1]
			}
		case xml.CharData:
			if last != nil {
				last.text += string(e)
			}
		case xml.EndElement:
			last = nil
		}
	}
}

func viewBox(t *testing.T, attribute map[string]string) (width, height float64) {
	t.Helper()
	f := strings.Fields(attribute["viewBox"])
	if len(f) != 4 {
		t.Fatalf("viewBox %q", attribute["viewBox"])
	}
	if w := attribute["width"]; w != "" && w != f[2]+"mm" {
		t.Errorf("the width %s is not the box's %s mm: the drawing is not at full size", w, f[2])
	}
	return numberOf(t, f[2]), numberOf(t, f[3])
}

func numberOf(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		t.Fatalf("the number %q", s)
	}
	return v
}

func inside(t *testing.T, path string, width, height float64) {
	t.Helper()
	for _, p := range regexp.MustCompile(`[-0-9.eE+]+,[-0-9.eE+]+`).FindAllString(path, -1) {
		x, y, _ := strings.Cut(p, ",")
		if a, b := numberOf(t, x), numberOf(t, y); a < -1 || b < -1 || a > width+1 || b > height+1 {
			t.Fatalf("%s lies outside the drawing", p)
		}
	}
	if strings.Contains(path, "NaN") || strings.Contains(path, "Inf") {
		t.Fatalf("the path %.80s", path)
	}
}

func wordAt(t *testing.T, words []svgText, text string) r2.Vec {
	t.Helper()
	for _, w := range words {
		if w.text == text {
			return w.at
		}
	}
	t.Fatalf("%q is not written", text)
	return r2.Vec{}
}

// The map shows each wing as it lies before one who stands at the tip and looks inboard: forward is to the
// left at a left wing and to the right at a right one. The spots lie where the tables say, at full size.
func TestMapLiesAsTheWingDoes(t *testing.T) {
	for side, sign := range map[section.Side]float64{section.Left: 1, section.Right: -1} {
		res := sampleResult(t, side)
		words, width, _ := parseSVG(t, newFillerMap(res, side.String()).svgFile())
		nose, tail := wordAt(t, words, "NOSE"), wordAt(t, words, "TRAILING EDGE")
		if (tail.X-nose.X)*sign <= 0 {
			t.Errorf("%s: the nose is at %v, the tail at %v of %v", side, nose.X, tail.X, width)
		}
		ruler := map[bool]float64{} // X of the mark 400 mm from the nose
		for _, w := range words {
			if w.text == "400" {
				ruler[w.at.Y < nose.Y] = w.at.X
			}
		}
		for i, s := range res.LowSpots {
			upper := s.Surface == fit.Upper
			l := wordAt(t, words, "L"+strconv.Itoa(i+1))
			fromNose := math.Abs(s.Arc-res.Map.NoseArc) * (1 + 0.011*s.Station/sampleChord)
			if d := sign*(l.X-ruler[upper]) - (fromNose - 400); math.Abs(d) > 0.1 {
				t.Errorf("%s: spot %d lies %.2f mm off along the skin", side, i+1, d)
			}
			if upper != (l.Y < nose.Y) {
				t.Errorf("%s: spot %d is on the wrong skin", side, i+1)
			}
		}
		// Inboard is up on the upper skin, down on the lower; one unit is one mm.
		a, b := wordAt(t, words, "L1"), wordAt(t, words, "H1")
		if d := a.Y - b.Y - (215 - 120); math.Abs(d) > 0.1 {
			t.Errorf("%s: H1 lies %.2f mm off spanwise", side, d)
		}
	}
}

// The picture has the colours of the deepest band where the spot is deepest, and hatching where nothing was seen.
func TestMapPicture(t *testing.T) {
	res := sampleResult(t, section.Left)
	m := newFillerMap(res, "left")
	data, err := m.png(mapPixels)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	words, width, _ := parseSVG(t, m.svgFile())
	scale := mapPixels / width
	spot := wordAt(t, words, "L1")
	deepest := colour(levelTone(low, 3, 4))
	if got := img.At(int((spot.X+25)*scale), int(spot.Y*scale)); !sameColour(got, deepest) {
		t.Errorf("beside L1 is %v, want %v", got, deepest)
	}
	if got := img.At(int((spot.X+250)*scale), int(spot.Y*scale)); !sameColour(got, colour(skin)) {
		t.Errorf("on the fair skin is %v", got)
	}
	nose := wordAt(t, words, "NOSE")
	hatched, left := 0, (mapNose+540)*scale
	for x := left; x < left+40*scale; x++ {
		if !sameColour(img.At(int(x), int((nose.Y+75)*scale)), colour(ground)) {
			hatched++
		}
	}
	if hatched < 4 || hatched > int(30*scale) {
		t.Errorf("%d pixels of hatching", hatched)
	}
}

func sameColour(a, b interface {
	RGBA() (uint32, uint32, uint32, uint32)
}) bool {
	r, g, bl, _ := a.RGBA()
	r2, g2, b2, _ := b.RGBA()
	near := func(x, y uint32) bool { return int(x>>8)-int(y>>8) < 4 && int(y>>8)-int(x>>8) < 4 }
	return near(r, r2) && near(g, g2) && near(bl, b2)
}

func TestMapWithoutABand(t *testing.T) {
	res := sampleResult(t, section.Left)
	res.Map = fit.FillerMap{}
	words, _, _ := parseSVG(t, newFillerMap(res, "left").svgFile())
	if len(words) != 1 || !strings.Contains(words[0].text, "There is no filler map") {
		t.Errorf("%+v", words)
	}
}

// One row, a spot at the nose, no aileron: odd maps are drawn as well.
func TestOddMaps(t *testing.T) {
	res := sampleResult(t, section.Right)
	m := &res.Map
	n := len(m.Arc)
	m.Station, m.Depth, m.U, m.Seen = m.Station[:1], m.Depth[:n], m.U[:n], m.Seen[:n]
	m.HingeArc = [2]float64{math.NaN(), math.NaN()}
	res.LowSpots[0].Arc = m.NoseArc
	parseSVG(t, newFillerMap(res, "right").svgFile())
	for i := range m.Seen {
		m.Seen[i] = false
	}
	words, _, _ := parseSVG(t, newFillerMap(res, "right").svgFile())
	for _, w := range words {
		if strings.HasPrefix(w.text, "low:") {
			t.Error("a depth is told where nothing was seen")
		}
	}
}

// Where the uncertainty is larger than the depth, the depth is not shown.
func TestUncertainDepthIsNotShown(t *testing.T) {
	res := sampleResult(t, section.Left)
	for k := range res.Map.U {
		res.Map.U[k] = 2.5
	}
	s := string(newFillerMap(res, "left").svgFile())
	for k := range fillTones {
		if strings.Contains(s, `"f-`+string(low(k))+`"`) {
			t.Errorf("tone %s shows a depth within its uncertainty", low(k))
		}
	}
}

func TestDepthLevels(t *testing.T) {
	for _, c := range []struct {
		least, greatest float64
		want            []float64
	}{
		{0.2, 0.2, nil},
		{0.11, 1.9, []float64{0.2, 0.5, 1, 1.5}},
		{0.02, 0.35, []float64{0.1, 0.2, 0.3}},
		{0.3, 11, []float64{0.3, 5, 10}},
	} {
		got := depthLevels(c.least, c.greatest)
		if len(got) != len(c.want) {
			t.Errorf("depthLevels(%v, %v) = %v, want %v", c.least, c.greatest, got, c.want)
			continue
		}
		for i := range got {
			if math.Abs(got[i]-c.want[i]) > 1e-9 {
				t.Errorf("depthLevels(%v, %v) = %v, want %v", c.least, c.greatest, got, c.want)
			}
		}
	}
}

func TestPNGHasItsSize(t *testing.T) {
	p := &picture{width: 200, height: 100}
	p.area(ink, box(0, 0, 100, 100))
	data, err := p.png(400)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(data))
	if err != nil || img.Bounds() != image.Rect(0, 0, 400, 200) || !sameColour(img.At(100, 100), colour(ink)) || !sameColour(img.At(300, 100), colour(ground)) {
		t.Errorf("%v, %v, %v", img.Bounds(), img.At(100, 100), err)
	}
}

// Whatever a word holds, the drawing stays XML and shows it.
func TestWordsInDrawingsAreEscaped(t *testing.T) {
	p := &picture{width: 100, height: 50, title: hostile}
	p.words(ink, 10, vec(10, 20), startAt, hostile)
	p.words(ink, 10, vec(10, 40), startAt, "a\x00b\xffc")
	words, _, _ := parseSVG(t, p.svgFile())
	if len(words) != 2 || words[0].text != hostile || words[1].text != "a\ufffdb\ufffdc" {
		t.Errorf("%+v", words)
	}
}

// The upright map is the wide one turned by a quarter: never mirrored, nose up, and all of it on the sheet.
func TestUprightMapIsTurnedNotMirrored(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		res := sampleResult(t, side)
		for _, surface := range []fit.Surface{fit.Upper, fit.Lower} {
			var hand [2]float64
			for i, upright := range []bool{false, true} {
				s := &mapSheet{res: res, right: side == section.Right, upright: upright}
				s.measure()
				p := s.panel(surface)
				o := p.place(0, 0)
				hand[i] = r2.Cross(r2.Sub(p.place(10, 0), o), r2.Sub(p.place(0, 10), o))
				if upright && p.place(100, 0).Y <= o.Y {
					t.Errorf("%v, %s: the nose is not at the top", side, surface)
				}
			}
			if hand[0]*hand[1] <= 0 {
				t.Errorf("%v, %s: mirrored", side, surface)
			}
		}
		words, width, _ := parseSVG(t, newUprightMap(res, side.String()).svgFile())
		if width > 900 || len(words) < 20 {
			t.Errorf("%d words on a map %v wide", len(words), width)
		}
	}
}

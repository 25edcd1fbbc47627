package outbox

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"pgregory.net/rapid"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/section"
)

// gaugeResult is a block result with one check gauge of the airfoil itself and a skin that is low by 1.5 mm
// from 40 to 60 % of the outline's arc, unseen up to 20 %, and as it should be elsewhere.
func gaugeResult(t testing.TB, side section.Side, station float64) *fit.Result {
	r := blockResult(t, side, "NACA 2412", 1000)
	r.Survey.Loft.Hinge = 0.78
	r.AsBuilt = r.Target
	r.Gauges = []fit.Template{{Name: "gauge", Station: station, Outline: r.Target, U: 0.21}}
	length := lengthOf(r.Target)
	r.Map = fit.FillerMap{Length: length, Station: []float64{145, 155}}
	for _, st := range []float64{0, 145, 155} {
		for share := 0.0; share <= 1; share += 0.002 {
			gap := fit.Trace{Arc: share * length, Departure: section.Measured{Value: -0.05, U: 0.2}, Seen: share > 0.2}
			if share > 0.4 && share < 0.6 {
				gap.Departure.Value = -1.5
			}
			if st == 0 {
				r.Sections = append(r.Sections, gap)
				continue
			}
			if st == 145 {
				r.Map.Arc = append(r.Map.Arc, gap.Arc)
				gap.Departure.Value = -9 // the other row is nearer
			}
			r.Map.Depth, r.Map.U, r.Map.Seen = append(r.Map.Depth, -gap.Departure.Value), append(r.Map.U, 0.2), append(r.Map.Seen, gap.Seen)
		}
	}
	return r
}

// The gauge's edge must lie on the finished surface at its two feet and stand off it by the relief elsewhere,
// on the right face of the board; its halves must be exactly the gauge's two surfaces.
func TestGaugeEdge(t *testing.T) {
	t.Parallel()
	for _, side := range []section.Side{section.Left, section.Right} {
		r := gaugeResult(t, side, 0)
		d, err := gaugeDrawings(r, sampleSheet(), sampleIdentity(side.String()))
		if err != nil || len(d) != 1 {
			t.Fatal(d, err)
		}
		outline, err := newBlockOutline(r.Target)
		if err != nil {
			t.Fatal(err)
		}
		target := drawtest.Path{}
		for _, p := range r.Target {
			target.Points = append(target.Points, r2.Vec{X: side.Inboard() * p.X, Y: p.Y})
		}
		for half, e := range layerOf(t, d[0].Drawing, "GAUGE_EDGE").Elements {
			p := slices.Clone(e.(draw.Path).Points)
			for i := range p {
				p[i].Y += float64(half) * gaugeApart
			}
			edge := p[:len(p)-3] // the other three corners are the board's back
			feet, before := 0.0, math.Inf(1)
			for i, q := range edge {
				gap := target.Distance(q)
				switch {
				case gap < 0.003 && before < 0.003:
					feet += r2.Norm(r2.Sub(q, edge[i-1]))
				case gap > 0.003 && math.Abs(gap-gaugeRelief) > 0.01:
					t.Fatalf("point %d stands %.3f mm off", i, gap)
				case math.Abs(gap-before) < 0.1:
					if gap := target.Distance(r2.Scale(0.5, r2.Add(q, edge[i-1]))); math.Abs(gap-gaugeRelief) > 0.01 {
						t.Fatalf("the edge stands %.3f mm off between points %d and %d", gap, i-1, i)
					}
				}
				before = gap
			}
			if math.Abs(feet-2*gaugeFoot) > 2 {
				t.Errorf("the feet are %.1f mm long together, not %g", feet, 2*gaugeFoot)
			}
			beyond := 1.0 - 2*float64(half) // the upper half lies above the surface
			for i, q := range edge {
				if i > 25 && beyond*(q.Y-middle(&outline, side.Inboard()*q.X)) < 0 {
					t.Fatalf("half %d: point %v lies on the wrong side", half, q)
				}
			}
		}
	}
}

// middle returns the height half-way between the surfaces at x.
func middle(o *blockOutline, x float64) float64 {
	lo, hi, ok := o.cut(x)
	if !ok {
		return o.points[0].Y
	}
	return (lo + hi) / 2
}

func TestGaugeFigures(t *testing.T) {
	for _, station := range []float64{0, 152} {
		d, err := gaugeDrawings(gaugeResult(t, section.Left, station), sampleSheet(), sampleIdentity("left"))
		if err != nil {
			t.Fatal(err)
		}
		count := map[string]int{}
		for _, e := range layerOf(t, d[0].Drawing, "GAPS").Elements {
			if s, ok := e.(draw.Text); ok {
				count[s.Words]++
			}
		}
		// 50 figures 40 mm apart round 2 m of skin: a fifth each unseen and low.
		if count["?"] < 8 || count["?"] > 11 || count["4.5"] < 7 || count["4.5"] > 11 || count["(3.0)"] < 25 ||
			count["(0.0)"] != 2 || count["1.5"] != 2 || len(count) > 5 { // two of the four feet stand on the low skin
			t.Errorf("station %g: %v", station, count)
		}
	}
	far := gapsAt(gaugeResult(t, section.Left, 152), 400)
	if far(0.5).seen {
		t.Error("figures were taken from 245 mm away")
	}
	if nothing := gapsAt(&fit.Result{}, 0)(0.5); nothing.seen {
		t.Error("figures of nothing")
	}
}

// A circle's skin has a known length at any depth under it, and the strip must end where it is told to.
func TestFlangeLength(t *testing.T) {
	const radius = 300.0
	var ring []r2.Vec
	for i := range 4001 {
		s, c := math.Sincos(2 * math.Pi * float64(i) / 4000)
		ring = append(ring, r2.Vec{X: radius + radius*c, Y: radius * s})
	}
	inner, err := fit.Offset(ring, -0.6)
	if err != nil {
		t.Fatal(err)
	}
	for _, upper := range []bool{true, false} {
		angle := math.Acos((radius - 450) / (radius - 0.6))
		if got, want := innerLength(inner, upper, 450), (radius-0.6)*angle; math.Abs(got-want) > 0.02 {
			t.Errorf("upper %v: %.3f mm, not %.3f", upper, got, want)
		}
	}
}

func TestFastenersLieEvenly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		length := rapid.Float64Range(60, 4000).Draw(t, "length")
		pitch := rapid.Float64Range(5, 500).Draw(t, "pitch")
		at := fasteners(length, pitch)
		if at[0] != flangeNose || at[len(at)-1] > length-flangeEnd+1e-9 {
			t.Fatalf("from %g to %g of %g", at[0], at[len(at)-1], length)
		}
		for i := 1; i < len(at); i++ {
			if gap := at[i] - at[i-1]; gap > pitch+1e-9 || !(gap > 0) {
				t.Fatalf("a gap of %g at a pitch of %g", gap, pitch)
			}
		}
		if len(at) > 1 && length-at[len(at)-1] > flangeEnd+1e-9 {
			t.Fatalf("%g is left behind the last", length-at[len(at)-1])
		}
	})
}

// The strips must stop ahead of the aileron, and the face that is seen must be told right.
func TestFlangeDrawing(t *testing.T) {
	r := gaugeResult(t, section.Right, 0)
	d, err := flangeDrawing(r, sampleSheet(), sampleIdentity("right"))
	if err != nil {
		t.Fatal(err)
	}
	words := wordsOn(d[0].Drawing)
	upper := strings.Index(words, "this face looks away from the skin")
	lower := strings.Index(words, "this face lies against the skin")
	if upper < 0 || lower < upper {
		t.Errorf("faces: %s", words)
	}
	for _, c := range d[0].Drawing.Controls {
		if n := c.Length(); n < 760 || n > 800 { // 0.78 of 1 m less 20 mm, and a little for the curve
			t.Errorf("%s: %.1f mm", c.Name, n)
		}
	}
	if d, err := flangeDrawing(&fit.Result{}, sampleSheet(), sampleIdentity("left")); d != nil || err != nil {
		t.Error("a strip of nothing")
	}
}

// Foam that is cut along the coupon must give the kerf back by the words on it.
func TestCouponFormula(t *testing.T) {
	s := sampleSheet()
	s.WireDiameter, s.Kerf = 0.4, 1.7
	d, err := couponDrawing(blockResult(t, section.Left, "NACA 0012", 900), s, sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	board := d[0].Drawing.Controls[1].Length()
	foam := board - 2*(1.7-0.4)/2 // design 8: the foam ends (k - w)/2 inside the block's edge, on both sides
	if kerf := 0.4 + board - foam; math.Abs(kerf-1.7) > 1e-12 {
		t.Errorf("kerf %g", kerf)
	}
	if words := wordsOn(d[0].Drawing); !strings.Contains(words, "kerf = wire 0.40 + B - F") || !strings.Contains(words, "has kerf 1.70 mm") {
		t.Errorf("the coupon says %s", words)
	}
}

// Every drawing of the sample must be written, twice alike, with words large enough and clear of each other.
func TestEveryShopDrawing(t *testing.T) {
	t.Parallel()
	for _, side := range []section.Side{section.Left, section.Right} {
		r := gaugeResult(t, side, 152)
		var names []string
		d, err := shopDrawings(r, sampleSheet(), sampleIdentity(side.String()))
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range d {
			names = append(names, n.Name)
			wordsApart(t, n.Drawing)
		}
		if want := []string{"inboard-block", "outboard-block", "gauge", "foam-block", "flange-strip", "kerf-coupon"}; !slices.Equal(names, want) {
			t.Errorf("the drawings are %v", names)
		}
		files, err := drawnFiles(d, nil, sampleSheet())
		if err != nil {
			t.Fatal(err)
		}
		again, _ := drawnFiles(d, nil, sampleSheet())
		for i, f := range files {
			if !bytes.Equal(f.Data, again[i].Data) {
				t.Errorf("%s differs from run to run", f.Name)
			}
			if strings.HasSuffix(f.Name, ".dxf") {
				drawtest.ReadDXF(t, f.Data)
			}
		}
	}
}

// wordsApart reports small words and words that lie on each other or leave the drawing.
func wordsApart(t *testing.T, d *draw.Drawing) {
	t.Helper()
	var texts []draw.Text
	for _, l := range d.Layers {
		for _, e := range l.Elements {
			if s, ok := e.(draw.Text); ok {
				texts = append(texts, s)
			}
		}
	}
	for i, a := range texts {
		box := textBox(a)
		if a.Height < 2.5 || box.Min.X < d.Min.X || box.Max.X > d.Max.X || box.Min.Y < d.Min.Y || box.Max.Y > d.Max.Y {
			t.Errorf("%s: %q is %.1f mm high at %v", d.Title, a.Words, a.Height, a.At)
		}
		for _, b := range texts[:i] {
			if overlaps(box, textBox(b)) {
				t.Errorf("%s: %q lies on %q", d.Title, a.Words, b.Words)
			}
		}
	}
}

// The first page must list every drawing once, in the order of the work, with the sheets that its PDF has.
func TestPlanListsEveryDrawing(t *testing.T) {
	s := sampleSheet()
	d, err := shopDrawings(gaugeResult(t, section.Left, 0), s, sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	wraps := wrapDrawings(sampleResult(t, section.Left), s, sampleIdentity("left"))
	files, err := drawnFiles(d, wraps, s)
	if err != nil {
		t.Fatal(err)
	}
	if len(wraps) != 2 || len(files) != 3*len(d)+len(wraps) {
		t.Fatalf("%d wrap sheets and %d files", len(wraps), len(files))
	}
	files = slices.DeleteFunc(files, func(f File) bool { return !strings.HasSuffix(f.Name, ".pdf") })
	for i, n := range slices.Concat(d, wraps) {
		pdf := files[i].Data
		first := drawtest.Words(t, pdf, 1)
		at := 0
		for _, name := range []string{"kerf-coupon", "flange-strip", "wrap-upper", "wrap-lower", "gauge", "inboard-block", "outboard-block", "foam-block"} {
			k := strings.Index(first, name+".pdf (")
			if k < at || strings.Count(first, name+".pdf (") != 1 {
				t.Errorf("%s: %s stands at %d after %d", n.Name, name, k, at)
			}
			at = k
		}
		sheets := 0
		for p := range drawtest.PageCount(t, pdf) {
			if words := drawtest.Words(t, pdf, p+1); strings.Contains(words, "Print at 100 %. ") || strings.HasSuffix(words, "mm") && p > 0 && strings.Contains(words, "one sheet") {
				sheets++
			}
		}
		if want := fmt.Sprintf("%s.pdf (%d) THIS FILE", n.Name, sheets); !strings.Contains(first, want) {
			t.Errorf("%q is not said: %s", want, first)
		}
	}
}

// Every drawing must say whose it is, what shape it was made from and what it is not good for.
func TestEveryDrawingSaysWhoseItIs(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		d, err := shopDrawings(gaugeResult(t, side, 0), sampleSheet(), sampleIdentity(side.String()))
		if err != nil {
			t.Fatal(err)
		}
		for _, n := range d {
			words := wordsOn(n.Drawing)
			for _, want := range []string{"Marsh Wren", side.String() + " wing", "Reference chord 1000.0 ± 0.8 mm", side.String() + ".ply a3b1c2d3", "tipwright v0.1.0", "Shape only"} {
				if !strings.Contains(strings.ToLower(words), strings.ToLower(want)) {
					t.Errorf("%s does not say %q: %s", n.Name, want, words)
				}
			}
			if !strings.Contains(strings.ToLower(n.Drawing.Title), side.String()) {
				t.Errorf("%s is called %q", n.Name, n.Drawing.Title)
			}
		}
	}
}

// A drawing whose size rests on no tape says so on each sheet and where its edge is.
func TestDrawingsSayThatTheSizeWasNotTaped(t *testing.T) {
	s := sampleSheet()
	s.Chord = 0
	d, err := shopDrawings(gaugeResult(t, section.Left, 0), s, sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range d {
		if words := wordsOn(n.Drawing); !strings.Contains(words, "NOT TAPED: do not cut") || !strings.Contains(n.Drawing.Title, "(SIZE NOT TAPED)") {
			t.Errorf("%s, %q, does not say that it must not be cut: %s", n.Name, n.Drawing.Title, words)
		}
	}
}

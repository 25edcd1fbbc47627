package outbox

import (
	"encoding/json"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/outbox/draw/drawtest"
	"tipwright/section"
)

// The checks in this file look at a delivery with programs that know nothing of tipwright: Chromium, poppler,
// ezdxf, GEOS. They take long, so they run only where CI is set, and fail there if a program is missing:
//
//	CI=1 go test -run Outside ./outbox

// outlinesIn returns the templates' outlines and their holes as result.json holds them.
func outlinesIn(t *testing.T, files map[string][]byte) (outlines, holes map[string][]r2.Vec) {
	t.Helper()
	var r struct {
		Templates []struct {
			Name    string
			Outline [][2]float64 `json:"outline_mm"`
			Holes   [][2]float64 `json:"holes_mm"`
		}
	}
	if err := json.Unmarshal(files[ResultName], &r); err != nil {
		t.Fatal(err)
	}
	outlines, holes = map[string][]r2.Vec{}, map[string][]r2.Vec{}
	for _, p := range r.Templates {
		for _, q := range p.Outline {
			outlines[p.Name] = append(outlines[p.Name], r2.Vec{X: q[0], Y: q[1]})
		}
		for _, q := range p.Holes {
			holes[p.Name] = append(holes[p.Name], r2.Vec{X: q[0], Y: q[1]})
		}
	}
	return outlines, holes
}

// seen takes an outline of the section frame to what stands on paper: whoever looks at a left wing from
// outboard sees x run to the right; from inboard, or at the other wing, to the left.
func seen(p []r2.Vec, side section.Side, block string) drawtest.Path {
	sign := 1.0
	if side == section.Right {
		sign = -sign
	}
	if block == "inboard-block" {
		sign = -sign
	}
	out := drawtest.Path{Closed: true}
	for _, q := range p {
		out.Points = append(out.Points, r2.Vec{X: sign * q.X, Y: q.Y})
	}
	return out
}

// The blocks of a delivery, shown by Chromium, read by ezdxf and rendered by poppler, must be the outlines of
// its result.json: vectors within 0.02 mm, rasters within a pixel.
func TestOutsideDeliveryMeasuresTrue(t *testing.T) {
	drawtest.Slow(t)
	t.Parallel()
	for _, side := range []section.Side{section.Left, section.Right} {
		files := delivered(t, sampleDelivery(t, side))
		outlines, holes := outlinesIn(t, files)
		names := []string{"inboard-block", "outboard-block"}
		shown := drawtest.ReadByChromium(t, files["inboard-block.svg"], files["outboard-block.svg"])
		for i, name := range names {
			want := seen(outlines[name], side, name)
			if len(want.Points) < 400 {
				t.Fatalf("%s: result.json has %d points", name, len(want.Points))
			}
			sameShape(t, fmt.Sprint(side, " ", name, ".svg in Chromium"), shown[i], originIn(t, files[name+".svg"]), want)
			dxf := drawtest.ReadDXFByEzdxf(t, files[name+".dxf"])
			if e := drawtest.Apart(dxf.On("BLOCK_EDGE_MM")[0], want); e > 0.02 {
				t.Errorf("%s %s.dxf in ezdxf: %.4f mm off", side, name, e)
			}
			gdal := drawtest.ReadDXFByGDAL(t, files[name+".dxf"])
			if e := drawtest.Apart(gdal.On("BLOCK_EDGE_MM")[0], want); e > 0.02 {
				t.Errorf("%s %s.dxf in GDAL: %.4f mm off", side, name, e)
			}
			sameCircles(t, fmt.Sprint(side, " ", name, ".dxf"), gdal.Circles, dxf.Circles)
			if len(dxf.Circles) != 3 || dxf.Circles[0].Layer != "HOLES_MM" {
				t.Errorf("%s %s.dxf: the holes are %+v", side, name, dxf.Circles)
			}
			for k, h := range seen(holes[name], side, name).Points {
				if e := r2.Norm(r2.Sub(h, dxf.Circles[k].Centre)); e > 0.02 {
					t.Errorf("%s %s.dxf: hole %d lies %.4f mm off result.json", side, name, k+1, e)
				}
			}
			if len(holes[name]) != len(dxf.Circles) {
				t.Errorf("%s %s: %d holes in result.json", side, name, len(holes[name]))
			}
			holesAgree(t, shown[i].Circles, originIn(t, files[name+".svg"]), dxf.Circles)
		}
		if side == section.Left {
			rasterAgrees(t, files["inboard-block.pdf"], seen(outlines["inboard-block"], side, "inboard-block"))
		}
	}
}

// originIn returns where an SVG says that its origin lies, mm from the lower left corner.
func originIn(t *testing.T, svg []byte) r2.Vec {
	t.Helper()
	m := regexp.MustCompile(`lies at (-?[0-9.]+), (-?[0-9.]+)\.</desc>`).FindSubmatch(svg)
	h := regexp.MustCompile(`height="([0-9.]+)mm"`).FindSubmatch(svg)
	if m == nil || h == nil {
		t.Fatal("the SVG does not say where its origin lies")
	}
	num := func(b []byte) float64 {
		v, _ := strconv.ParseFloat(string(b), 64)
		return v
	}
	return r2.Vec{X: num(m[1]), Y: num(h[1]) - num(m[2])}
}

// sameShape holds what the browser shows against the outline, and its words against each other.
func sameShape(t *testing.T, what string, got drawtest.Rendered, origin r2.Vec, want drawtest.Path) {
	t.Helper()
	found := false
	for _, p := range got.Paths {
		if p.Layer == "block-edge" {
			found = true
			for i := range p.Points {
				p.Points[i] = r2.Sub(p.Points[i], origin)
			}
			if e := drawtest.Apart(p, want); e > 0.02 {
				t.Errorf("%s: %.4f mm off", what, e)
			}
		}
	}
	if !found {
		t.Errorf("%s: no edge", what)
	}
	wordsApartInBrowser(t, what, got)
}

// wordsApartInBrowser reports words that lie on each other or leave the page in the fonts of this machine.
func wordsApartInBrowser(t *testing.T, what string, got drawtest.Rendered) {
	t.Helper()
	for i, a := range got.Words {
		if a.Min.X < 0 || a.Min.Y < -0.1 || a.Max.X > got.Size.X || a.Max.Y > got.Size.Y+0.1 {
			t.Errorf("%s: %q leaves the page", what, got.Texts[i])
		}
		for j, b := range got.Words[:i] {
			// the browser's box holds accents and descenders: a quarter of a line above and below the letters
			lead := 0.2 * math.Min(a.Max.Y-a.Min.Y, b.Max.Y-b.Min.Y)
			a, b := a, b
			a.Min.Y, a.Max.Y, b.Min.Y, b.Max.Y = a.Min.Y+lead, a.Max.Y-lead, b.Min.Y+lead, b.Max.Y-lead
			if overlaps(a, b) {
				t.Errorf("%s: %q lies on %q", what, got.Texts[i], got.Texts[j])
			}
		}
	}
}

// sameCircles holds what two readers of one DXF make of its holes against each other.
func sameCircles(t *testing.T, what string, a, b []drawtest.Circle) {
	t.Helper()
	if len(a) != len(b) {
		t.Fatalf("%s: GDAL sees %d holes, ezdxf %d", what, len(a), len(b))
	}
	for i := range a {
		if e := r2.Norm(r2.Sub(a[i].Centre, b[i].Centre)); e > 0.005 || math.Abs(a[i].R-b[i].R) > 0.005 {
			t.Errorf("%s: hole %d: GDAL and ezdxf are %.4f mm apart, radii %.4f and %.4f", what, i+1, e, a[i].R, b[i].R)
		}
	}
}

func holesAgree(t *testing.T, svg []drawtest.Circle, origin r2.Vec, dxf []drawtest.Circle) {
	t.Helper()
	if len(svg) != len(dxf) {
		t.Fatalf("%d holes in SVG, %d in DXF", len(svg), len(dxf))
	}
	for i := range svg {
		if e := r2.Norm(r2.Sub(r2.Sub(svg[i].Centre, origin), dxf[i].Centre)); e > 0.02 || math.Abs(svg[i].R-dxf[i].R) > 0.02 {
			t.Errorf("hole %d: %.4f mm apart, radii %.4f and %.4f", i+1, e, svg[i].R, dxf[i].R)
		}
	}
}

// rasterAgrees looks for ink along the outline on every sheet of a PDF at 300 dots to the inch: at each
// millimetre the darkest place across the line must lie within a pixel of it.
func rasterAgrees(t *testing.T, pdf []byte, want drawtest.Path) {
	t.Helper()
	looked, sum := 0, 0.0
	for i, pic := range drawtest.ReadPDF(t, pdf)[1:] {
		line := longest(pic, 0.35)
		shift := r2.Sub(line.Points[0], want.Points[0])
		window := windowOf(t, pic)
		grey := drawtest.RasterPDF(t, pdf, i+2)
		for _, s := range want.Segments() {
			mid := r2.Add(r2.Scale(0.5, r2.Add(s[0], s[1])), shift)
			d := r2.Sub(s[1], s[0])
			if mid.X < window.Min.X+1 || mid.X > window.Max.X-1 || mid.Y < window.Min.Y+1 || mid.Y > window.Max.Y-1 || r2.Norm(d) < 1e-6 {
				continue
			}
			across := r2.Unit(r2.Vec{X: -d.Y, Y: d.X})
			if grey.Ink(mid) < 0.5 {
				t.Fatalf("sheet %d: no ink at %.2f", i+1, mid)
			}
			off := middleOfInk(grey, mid, across)
			looked, sum = looked+1, sum+off
			if math.Abs(off) > drawtest.Pixel && !crossed(grey, mid, across) {
				t.Errorf("sheet %d: the line at %.2f is %.3f mm off", i+1, mid, off)
			}
		}
	}
	if looked < len(want.Points) {
		t.Errorf("only %d of %d places are on a sheet", looked, len(want.Points))
	}
	if mean := sum / float64(looked); math.Abs(mean) > drawtest.Pixel/4 {
		t.Errorf("the line lies %.3f mm to one side", mean)
	}
}

// middleOfInk returns how far the middle of a line's ink lies from a place on it, mm.
func middleOfInk(g drawtest.Grey, p, across r2.Vec) float64 {
	ink, moment := 0.0, 0.0
	for d := -0.4; d <= 0.4; d += 0.02 {
		dark := g.Ink(r2.Add(p, r2.Scale(d, across)))
		ink, moment = ink+dark, moment+d*dark
	}
	return moment / ink
}

// crossed tells whether other ink meets the line at a place: there is some well beside it.
func crossed(g drawtest.Grey, p, across r2.Vec) bool {
	return g.Ink(r2.Add(p, r2.Scale(0.5, across))) > 0.1 || g.Ink(r2.Add(p, r2.Scale(-0.5, across))) > 0.1
}

// windowOf returns the frame within which a sheet shows the drawing: its largest upright rectangle.
func windowOf(t *testing.T, pic drawtest.Picture) r2.Box {
	t.Helper()
	for _, p := range pic.Paths {
		if p.Closed && len(p.Points) == 4 && math.Abs(p.Points[2].X-p.Points[0].X) > 100 && math.Abs(p.Points[2].Y-p.Points[0].Y) > 100 {
			return r2.NewBox(p.Points[0].X, p.Points[0].Y, p.Points[2].X, p.Points[2].Y)
		}
	}
	t.Fatal("no window")
	return r2.Box{}
}

// Every drawing of a delivery must keep its words apart in a browser's own fonts too.
func TestOutsideWordsApart(t *testing.T) {
	drawtest.Slow(t)
	t.Parallel()
	d, err := shopDrawings(gaugeResult(t, section.Right, 152), sampleSheet(), sampleIdentity("right"))
	if err != nil {
		t.Fatal(err)
	}
	files, err := drawnFiles(d, nil, sampleSheet())
	if err != nil {
		t.Fatal(err)
	}
	var svgs [][]byte
	for i := range d {
		svgs = append(svgs, files[3*i+1].Data)
	}
	for i, got := range drawtest.ReadByChromium(t, svgs...) {
		wordsApartInBrowser(t, d[i].Name, got)
	}
}

// Closed outlines must be fit for a router or a laser: none crosses itself, none lies on another, none has
// steps too small for a machine or more points than one takes; and edge and saw line must be the parallels
// that GEOS finds, on sharp, thick and reflexed tails too.
func TestOutsideOutlinesSuitACutter(t *testing.T) {
	drawtest.Slow(t)
	t.Parallel()
	var jobs []drawtest.OutlineJob
	add := func(name string, d *draw.Drawing) []drawtest.Path {
		var b strings.Builder
		if err := draw.DXF(&b, d); err != nil {
			t.Fatal(err)
		}
		pic := drawtest.ReadDXF(t, []byte(b.String()))
		job := drawtest.OutlineJob{Name: name}
		var closed []drawtest.Path
		for _, p := range pic.Paths {
			if p.Closed && len(p.Points) > 2 && p.Layer != "MEASURES_MM" && p.Layer != "REFERENCE_NAMES_MM" {
				job.Rings, closed = append(job.Rings, p.Points), append(closed, p)
				if len(p.Points) > 5000 {
					t.Errorf("%s: an outline has %d points", name, len(p.Points))
				}
			}
		}
		jobs = append(jobs, job)
		return closed
	}
	parallel := func(name string, line, of []r2.Vec, by, before float64) {
		jobs = append(jobs, drawtest.OutlineJob{Name: name, Rings: [][]r2.Vec{line}, Target: of, Offset: by, Before: before})
	}
	d, err := shopDrawings(gaugeResult(t, section.Left, 0), sampleSheet(), sampleIdentity("left"))
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range d {
		if n.Drawing.Scale == "" {
			add(n.Name, n.Drawing)
		}
	}
	for _, s := range []struct {
		airfoil string
		chord   float64
		sharp   bool
		by      float64
	}{
		{"NACA 23012", 1220, false, -0.3}, {"NACA 23012", 1220, true, -0.3}, {"NACA 23012", 1220, true, -2.5}, {"NACA 23112", 450, true, -0.8},
		{"NACA 23112", 1100, false, 0.4}, {"NACA 0021", 2600, false, -0.8}, {"NACA 0006", 300, true, -1.2},
	} {
		name := fmt.Sprintf("%s of %g mm, sharp %v, by %g", s.airfoil, s.chord, s.sharp, s.by)
		r := blockResult(t, section.Left, s.airfoil, s.chord)
		if s.sharp {
			end := r2.Scale(0.5, r2.Add(r.Target[0], r.Target[len(r.Target)-1]))
			r.Target[0], r.Target[len(r.Target)-1] = end, end
		}
		edge, err := fit.Offset(r.Target, s.by)
		if err != nil {
			t.Fatal(err)
		}
		r.Templates[0].Outline, r.Templates[1].Outline = edge, edge
		_, outboard := blockDrawings(t, r) // a left wing's outboard face: paper is the section frame
		closed := add(name, outboard)
		before := math.Inf(1)
		if !s.sharp { // the tail's end face is not offset: the skin ends there
			before = r.Target[0].X - 8
		}
		before = math.Min(before, 1e6)
		parallel(name+", edge", closed[0].Points, r.Target, s.by, before)
		parallel(name+", saw line", closed[1].Points, closed[0].Points, sawBeside, 1e6)
	}
	worst, least := 0.0, math.Inf(1)
	for i, f := range drawtest.CheckByShapely(t, jobs) {
		if !f.Valid || f.Same > 0 || f.Least < 0.0048 || f.Off > 0.01 || f.Missed > 0.01 {
			t.Errorf("%+v", f)
		}
		if jobs[i].Target != nil {
			worst = math.Max(worst, math.Max(f.Off, f.Missed))
		}
		least = math.Min(least, f.Least)
	}
	t.Logf("%d outlines or parallels: at most %.4f mm off, the shortest step %.4f mm", len(jobs), worst, least)
}

package drawtest

import (
	"encoding/xml"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

const point = 25.4 / 72 // mm

// ReadPDF reads every page by poppler: lines and curves, the latter by their end points alone.
func ReadPDF(t testing.TB, pdf []byte) []Picture {
	t.Helper()
	cairo := Tool(t, "pdftocairo", "poppler-utils")
	name := save(t, "drawing.pdf", pdf)
	var pages []Picture
	for i := range PageCount(t, pdf) {
		n := strconv.Itoa(i + 1)
		pages = append(pages, readCairo(t, run(t, cairo, "-svg", "-f", n, "-l", n, name, "-")))
	}
	return pages
}

// PageCount returns the number of pages as poppler counts them.
func PageCount(t testing.TB, pdf []byte) int {
	t.Helper()
	out := string(run(t, Tool(t, "pdfinfo", "poppler-utils"), save(t, "drawing.pdf", pdf)))
	m := regexp.MustCompile(`Pages:\s+(\d+)`).FindStringSubmatch(out)
	if m == nil {
		t.Fatalf("pdfinfo counts no pages: %s", out)
	}
	n, _ := strconv.Atoi(m[1])
	return n
}

// Words returns the text of one page, counted from 1, with the layout's white space pressed together.
func Words(t testing.TB, pdf []byte, page int) string {
	t.Helper()
	n := strconv.Itoa(page)
	out := run(t, Tool(t, "pdftotext", "poppler-utils"), "-f", n, "-l", n, save(t, "drawing.pdf", pdf), "-")
	return strings.Join(strings.Fields(string(out)), " ")
}

// cairo is the part of poppler's SVG output that is read: paths outside the definitions of glyphs and clips.
type cairo struct {
	Width  string  `xml:"width,attr"`
	Height string  `xml:"height,attr"`
	Groups []group `xml:"g"`
	Paths  []shape `xml:"path"`
}

type group struct {
	Groups []group `xml:"g"`
	Paths  []shape `xml:"path"`
}

type shape struct {
	Style     string `xml:"style,attr"`
	D         string `xml:"d,attr"`
	Transform string `xml:"transform,attr"`
}

func readCairo(t testing.TB, svg []byte) Picture {
	t.Helper()
	var c cairo
	if err := xml.Unmarshal(svg, &c); err != nil {
		t.Fatal(err)
	}
	var pic Picture
	pic.Size = r2.Scale(point, r2.Vec{X: points(t, c.Width), Y: points(t, c.Height)})
	pic.add(t, group{c.Groups, c.Paths})
	return pic
}

func (pic *Picture) add(t testing.TB, g group) {
	for _, s := range g.Paths {
		pic.Paths = append(pic.Paths, pic.path(t, s)...)
	}
	for _, in := range g.Groups {
		pic.add(t, in)
	}
}

// path reads one path of cairo's, which may hold several runs.
func (pic *Picture) path(t testing.TB, s shape) []Path {
	style := map[string]string{}
	for _, item := range strings.Split(s.Style, ";") {
		if k, v, ok := strings.Cut(item, ":"); ok {
			style[strings.TrimSpace(k)] = v
		}
	}
	proto := Path{Filled: style["fill"] != "none" && style["fill"] != ""}
	if w := style["stroke-width"]; w != "" {
		proto.Width = points(t, w) * point
	}
	proto.Dashed = style["stroke-dasharray"] != ""
	place := matrix(t, s.Transform)
	var out []Path
	f := strings.Fields(s.D)
	for i := 0; i < len(f); i++ {
		switch f[i] {
		case "M":
			out = append(out, proto)
			fallthrough
		case "L":
			p := &out[len(out)-1]
			p.Points = append(p.Points, pic.at(place(r2.Vec{X: points(t, f[i+1]), Y: points(t, f[i+2])})))
			i += 2
		case "C":
			p := &out[len(out)-1]
			p.Points = append(p.Points, pic.at(place(r2.Vec{X: points(t, f[i+5]), Y: points(t, f[i+6])})))
			i += 6
		case "Z":
			out[len(out)-1].Closed = true
		default:
			t.Fatalf("an unknown piece of a path: %q", f[i])
		}
	}
	var runs []Path
	for _, p := range out {
		if len(p.Points) > 1 {
			runs = append(runs, p)
		}
	}
	return runs
}

// at takes points from the upper left corner to mm from the lower left.
func (pic *Picture) at(p r2.Vec) r2.Vec {
	return r2.Vec{X: p.X * point, Y: pic.Size.Y - p.Y*point}
}

func matrix(t testing.TB, s string) func(r2.Vec) r2.Vec {
	if s == "" {
		return func(p r2.Vec) r2.Vec { return p }
	}
	var m [6]float64
	parts := strings.Split(strings.TrimSuffix(strings.TrimPrefix(s, "matrix("), ")"), ",")
	if len(parts) != 6 {
		t.Fatalf("an unknown transform: %q", s)
	}
	for i, v := range parts {
		m[i] = points(t, v)
	}
	return func(p r2.Vec) r2.Vec {
		return r2.Vec{X: m[0]*p.X + m[2]*p.Y + m[4], Y: m[1]*p.X + m[3]*p.Y + m[5]}
	}
}

func points(t testing.TB, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strings.TrimSuffix(strings.TrimSpace(s), "pt"), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

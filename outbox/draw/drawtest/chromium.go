package drawtest

import (
	"encoding/json"
	"html"
	"regexp"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Rendered is what Chromium makes of an SVG: places on the screen at 96 pixels to the inch, mm from the
// drawing's lower left corner.
type Rendered struct {
	Size    r2.Vec
	Paths   []Path
	Circles []Circle
	Words   []r2.Box // round each text as it is set in the fonts of this machine
	Texts   []string
}

// measure asks the browser where it puts every point, after all transforms and units.
const measure = `
const out = [];
for (const svg of document.querySelectorAll('svg')) {
  const r = svg.getBoundingClientRect(), mm = 25.4 / 96;
  const xy = (x, y) => ({X: (x - r.left) * mm, Y: (r.bottom - y) * mm});
  const one = {Size: {X: r.width * mm, Y: r.height * mm}, Paths: [], Circles: [], Words: [], Texts: []};
  for (const e of svg.querySelectorAll('polygon, polyline, line, circle, text')) {
    const m = e.getScreenCTM(), at = (x, y) => xy(m.a * x + m.c * y + m.e, m.b * x + m.d * y + m.f);
    const layer = e.closest('g').id, kind = e.tagName;
    if (kind === 'circle') {
      const b = e.getBoundingClientRect();
      one.Circles.push({Layer: layer, Centre: at(e.cx.baseVal.value, e.cy.baseVal.value), R: e.r.baseVal.value * Math.hypot(m.a, m.b) * mm});
    } else if (kind === 'text') {
      const b = e.getBoundingClientRect();
      one.Words.push({Min: xy(b.left, b.bottom), Max: xy(b.right, b.top)});
      one.Texts.push(e.textContent);
    } else if (kind === 'line') {
      one.Paths.push({Layer: layer, Points: [at(e.x1.baseVal.value, e.y1.baseVal.value), at(e.x2.baseVal.value, e.y2.baseVal.value)]});
    } else {
      one.Paths.push({Layer: layer, Points: Array.from(e.points, p => at(p.x, p.y)), Closed: kind === 'polygon'});
    }
  }
  out.push(one);
}
document.body.innerHTML = '<pre>' + JSON.stringify(out).replace(/&/g, '&amp;').replace(/</g, '&lt;') + '</pre>';
`

// ReadByChromium shows drawings in headless Chromium, one below the other on one page, and returns where it
// puts everything.
func ReadByChromium(t testing.TB, svgs ...[]byte) []Rendered {
	t.Helper()
	var page strings.Builder
	page.WriteString("<!DOCTYPE html><html><head><meta charset=\"utf-8\"><style>body{margin:0}svg{display:block}</style></head><body>\n")
	for _, svg := range svgs {
		_, body, _ := strings.Cut(string(svg), "?>") // an XML declaration has no place within HTML
		page.WriteString(body)
	}
	page.WriteString("<script>" + measure + "</script></body></html>\n")
	name := save(t, "page.html", []byte(page.String()))
	out := run(t, Tool(t, "chromium", "chromium"), "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
		"--user-data-dir="+t.TempDir(), "--window-size=6000,1200", "--dump-dom", "file://"+name)
	m := regexp.MustCompile(`(?s)<pre>(.*)</pre>`).FindSubmatch(out)
	if m == nil {
		t.Fatalf("Chromium measured nothing: %.300s", out)
	}
	var all []Rendered
	if err := json.Unmarshal([]byte(html.UnescapeString(string(m[1]))), &all); err != nil {
		t.Fatal(err)
	}
	if len(all) != len(svgs) {
		t.Fatalf("Chromium shows %d of %d drawings", len(all), len(svgs))
	}
	return all
}

// Shown returns what headless Chromium makes of a page that lies on the disk, as HTML, once all of it is loaded.
func Shown(t testing.TB, name string) string {
	t.Helper()
	return string(run(t, Tool(t, "chromium", "chromium"), "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
		"--user-data-dir="+t.TempDir(), "--dump-dom", "file://"+name))
}

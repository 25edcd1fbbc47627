package outbox

import (
	"bytes"
	"embed"
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"tipwright/fit"
	"tipwright/outbox/draw"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// pages holds the templates and the style of all pages. A page is one file: nothing is fetched from
// anywhere, so it opens from a disk or a phone without a network.
//
//go:embed page
var pages embed.FS

// render fills a template of the folder page, with the frame that all pages share. files are those beside
// the page to which its text may link.
func render(name string, data any, files ...string) ([]byte, error) {
	style, err := pages.ReadFile("page/style.css")
	if err != nil {
		return nil, err
	}
	script, err := pages.ReadFile("page/view.js")
	if err != nil {
		return nil, err
	}
	words := newExplainer(files)
	t, err := template.New(name).Funcs(template.FuncMap{
		"script":   func() template.JS { return template.JS(script) },
		"style":    func() template.CSS { return template.CSS(string(style) + toneStyle()) },
		"measured": figure,
		"number":   plainFigure,
		"within":   upFigure,
		"offset":   signedFigure,
		"unit":     unitAfter,
		"count":    grouping,
		"fixed":    fixed,
		"signed":   signed,
		"upTo":     upTo,
		"inches":   inches,
		"add":      func(a, b int) int { return a + b },
		"differs":  differs,
		"short":    func(s string) string { return fmt.Sprintf("%.12s", s) },
		"percent":  func(v float64) string { return fixed(100*v, 0) },
		"deref":    func(m *section.Measured) section.Measured { return *m },
		"fresh":    words.fresh,
		"prose":    words.prose,
		"linked":   words.linked,
		"term":     words.term,
		"words":    words.usedTerms,
	}).ParseFS(pages, "page/"+name, "page/frame.tmpl.html")
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := t.Execute(&b, data); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return []byte(draw.Legible(b.String())), nil // names of files and sheets may hold anything
}

// toneStyle gives the tones of drawings their colours by night, where by day each mark brings its own, and the
// colours of departures as a scale.
func toneStyle() string {
	var b strings.Builder
	b.WriteString("\n@media screen and (prefers-color-scheme: dark) {\n")
	for _, p := range paints() {
		fmt.Fprintf(&b, "  .f-%s { fill: %s } .s-%s { stroke: %s }\n", p.tone, hex(p.dark), p.tone, hex(p.dark))
	}
	b.WriteString("}\n:root { --scale: ")
	for k := range 9 {
		if k > 0 {
			b.WriteString(", ")
		}
		b.WriteString(hex(departureColour(float64(k)/4 - 1)))
	}
	b.WriteString("; }\n")
	return b.String()
}

// figure writes a measured quantity with its uncertainty rounded up; key is its place in result.json, whose
// very numbers stand in the elements' values.
func figure(key string, m section.Measured, n int) template.HTML {
	return template.HTML(fmt.Sprintf(`<span class="q"><data value="%v" data-key="%s.value">%s</data> ± <data value="%v" data-key="%s.u">%s</data></span>`,
		m.Value, template.HTMLEscapeString(key), fixed(m.Value, n), m.U, template.HTMLEscapeString(key), upTo(m.U, n)))
}

// plainFigure writes a number of result.json.
func plainFigure(key string, v float64, n int) template.HTML {
	return template.HTML(fmt.Sprintf(`<data class="q" value="%v" data-key="%s">%s</data>`, v, template.HTMLEscapeString(key), fixed(v, n)))
}

// signedFigure writes a number of result.json with its sign.
func signedFigure(key string, v float64, n int) template.HTML {
	return template.HTML(fmt.Sprintf(`<data class="q" value="%v" data-key="%s">%s</data>`, v, template.HTMLEscapeString(key), signed(v, n)))
}

// upFigure writes an uncertainty or a limit of result.json, rounded up.
func upFigure(key string, v float64, n int) template.HTML {
	return template.HTML(fmt.Sprintf(`<data class="q" value="%v" data-key="%s">%s</data>`, v, template.HTMLEscapeString(key), upTo(v, n)))
}

// unitAfter sets a unit behind a number: apart from it, but for a degree.
func unitAfter(unit string) string {
	if strings.HasPrefix(unit, "°") {
		return unit
	}
	return "\u00a0" + unit
}

// inches writes a length in inches to the nearest 1/16, as on a tape.
func inches(mm float64) string {
	n := int(math.Round(math.Abs(mm) / 25.4 * 16))
	whole, part := n/16, n%16
	if part == 0 {
		return fmt.Sprintf("%d in", whole)
	}
	d := 16
	for part%2 == 0 {
		part, d = part/2, d/2
	}
	if whole == 0 {
		return fmt.Sprintf("%d/%d in", part, d)
	}
	return fmt.Sprintf("%d %d/%d in", whole, part, d)
}

// inline makes a picture part of a page. Its text is escaped where it is made.
func inline(p *picture) template.HTML { return template.HTML(p.svgInline()) }

// drawn is a chart in its two widths.
type drawn struct{ Wide, Narrow template.HTML }

// sideView is what the report of one side shows.
type sideView struct {
	*Record
	Name      string
	Sentence  string
	Steps     []step
	Sheet     *sheet.Sheet
	Map       drawn
	Solid     *solidView
	Section   drawn
	Upper     drawn
	Lower     drawn
	Crest     template.HTML
	Ailerons  []string
	Wraps     string
	Seen      []string
	Budget    []budgetRow
	Assumed   []sheet.Assumption
	Missing   []sheet.Assumption
	NoSheet   bool
	Blank     string
	Flying    []warning
	Shop      []warning
	FileRows  []fileRow
	Groups    []messageGroup
	SideTitle string
}

// sidePage renders the report of one side. files are those of the delivery, by name.
func sidePage(d *Delivery, r *Record, m *picture, solid *solidView, files []File) ([]byte, error) {
	names := make([]string, len(files))
	for i, f := range files {
		names[i] = f.Name
	}
	slices.Sort(names)
	v := sideView{
		Record: r, Name: aircraftName(d.Sheet, d.Identity), Sentence: sentence(d, r), Sheet: d.Sheet,
		Steps: d.steps(r, names), Solid: solid, Map: drawn{inline(m), inline(newUprightMap(d.Result, d.Identity.Side))}, Crest: crest(d.Result),
		Upper: bothWidths(func(w float64) *picture { return departureChart(d.Result, fit.Upper, w) }),
		Lower: bothWidths(func(w float64) *picture { return departureChart(d.Result, fit.Lower, w) }),
		Seen:  seenWords(d), Budget: budget(d, r), Assumed: d.Sheet.Assumptions(), Missing: d.Sheet.Missing(),
		Ailerons: aileronWords(d, r), Wraps: wrapWords(names), NoSheet: d.Identity.Sheet.File == "", Flying: flyingCautions(), Shop: shopCautions(),
		FileRows: fileRows(names), Groups: grouped(r), SideTitle: sideTitle(r.Side),
	}
	v.Section = bothWidths(func(w float64) *picture { return sectionPicture(d.Result, w) })
	if v.NoSheet {
		v.Blank = sheet.Blank()
	}
	return render("side.tmpl.html", v, names...)
}

func bothWidths(draw func(width float64) *picture) drawn {
	return drawn{inline(draw(wideChart)), inline(draw(narrowChart))}
}

// crest draws the wing's own section for the head of its report.
func crest(res *fit.Result) template.HTML {
	const width, margin = 300.0, 3.0
	p := &picture{title: "", width: width}
	chord, top, bottom := chordOf(res), 0.0, 0.0
	for _, q := range res.AsBuilt {
		top, bottom = math.Max(top, q.Y), math.Min(bottom, q.Y)
	}
	scale := (width - 2*margin) / chord
	p.height = (top-bottom)*scale + 2*margin
	if len(res.AsBuilt) < 2 {
		return ""
	}
	points := fewer(res.AsBuilt, 0.4)
	for i, q := range points {
		points[i] = vec(margin+q.X*scale, margin+(top-q.Y)*scale)
	}
	p.line(ink, 1.5, points...)
	return inline(p)
}

// sideTitle names a delivery in a heading.
func sideTitle(side string) string {
	switch side {
	case "left":
		return "Left wing"
	case "right":
		return "Right wing"
	}
	return "Left against right"
}

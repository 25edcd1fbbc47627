package outbox

import (
	"bytes"
	"fmt"
	"strings"

	"gonum.org/v1/gonum/spatial/r2"

	"tipwright/outbox/draw"
)

const svgFont = `system-ui, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Liberation Sans', sans-serif`

// svgFile returns the picture as a file of its own, drawn at full size: one unit is one mm.
func (p *picture) svgFile() []byte {
	var b bytes.Buffer
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	p.svg(&b, fmt.Sprintf(`width="%smm" height="%smm"`, short(p.width), short(p.height)))
	return b.Bytes()
}

// svgInline returns the picture as an element of a page, as wide as its place. Its colours follow the
// page's: each mark names its tone as a class.
func (p *picture) svgInline() string {
	var b bytes.Buffer
	p.svg(&b, `class="picture"`)
	return b.String()
}

func (p *picture) svg(b *bytes.Buffer, attributes string) {
	title := escapeXML(p.title)
	role := `aria-hidden="true"` // a picture without a title is an ornament
	if title != "" {
		role = fmt.Sprintf(`role="img" aria-label="%s"`, title)
	}
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" %s viewBox="0 0 %s %s" %s font-family="%s">`+"\n",
		attributes, short(p.width), short(p.height), role, svgFont)
	if title != "" {
		fmt.Fprintf(b, "<title>%s</title>\n", title)
	}
	tones := newDaylight()
	for i := range p.marks {
		p.marks[i].svg(b, tones)
		b.WriteByte('\n')
	}
	b.WriteString("</svg>\n")
}

func (m *mark) svg(b *bytes.Buffer, tones daylight) {
	var classes, attributes []string
	paint := func(attribute string, t tone, class string) {
		if t == noTone {
			attributes = append(attributes, attribute+`="none"`)
			return
		}
		classes = append(classes, class+string(t))
		attributes = append(attributes, fmt.Sprintf(`%s="%s"`, attribute, hex(tones.of(t))))
	}
	paint("fill", m.fill, "f-")
	if m.text != "" {
		m.svgText(b, tones, classes, attributes)
		return
	}
	if m.stroke != noTone {
		paint("stroke", m.stroke, "s-")
		attributes = append(attributes, fmt.Sprintf(`stroke-width="%s" stroke-linejoin="round"`, short(m.width)))
	}
	if len(m.dash) > 0 {
		attributes = append(attributes, `stroke-dasharray="`+joined(m.dash)+`"`)
	}
	if m.alpha > 0 {
		attributes = append(attributes, `fill-opacity="`+short(m.alpha)+`"`)
	}
	fmt.Fprintf(b, `<path class="%s" %s fill-rule="evenodd" d="`, strings.Join(classes, " "), strings.Join(attributes, " "))
	for _, l := range m.loops {
		pathData(b, l, m.closed)
	}
	b.WriteString(`"/>`)
}

func (m *mark) svgText(b *bytes.Buffer, tones daylight, classes, attributes []string) {
	if m.halo != noTone {
		classes = append(classes, "s-"+string(m.halo))
		attributes = append(attributes, fmt.Sprintf(`stroke="%s" stroke-width="%s" stroke-linejoin="round" paint-order="stroke"`,
			hex(tones.of(m.halo)), short(0.28*m.size)))
	}
	if m.bold {
		attributes = append(attributes, `font-weight="700"`)
	}
	fmt.Fprintf(b, `<text class="%s" %s x="%s" y="%s" font-size="%s" text-anchor="%s">%s</text>`,
		strings.Join(classes, " "), strings.Join(attributes, " "), short(m.at.X), short(m.at.Y), short(m.size), m.anchor, escapeXML(m.text))
}

// pathData writes a polyline in steps from point to point.
func pathData(b *bytes.Buffer, points []r2.Vec, closed bool) {
	for i, q := range points {
		switch i {
		case 0:
			b.WriteByte('M')
		case 1:
			b.WriteByte('L')
		default:
			b.WriteByte(' ')
		}
		b.Write(appendShort(b.AvailableBuffer(), q.X))
		b.WriteByte(',')
		b.Write(appendShort(b.AvailableBuffer(), q.Y))
	}
	if closed {
		b.WriteByte('Z')
	}
}

// short writes a number with at most two decimals.
func short(v float64) string { return string(appendShort(nil, v)) }

func appendShort(to []byte, v float64) []byte {
	return appendRounded(to, v, 2, true)
}

func joined(v []float64) string {
	words := make([]string, len(v))
	for i, x := range v {
		words[i] = short(x)
	}
	return strings.Join(words, " ")
}

// escapeXML makes a legible text safe inside an element or a quoted attribute.
func escapeXML(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;", "'", "&#39;").Replace(draw.Legible(s))
}

package outbox

import (
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strings"
)

// term is a word of the trade or of measuring with its explanation, for a builder.
type term struct {
	Key, Name string
	Forms     string // other forms of the word, as alternatives of a pattern
	Text      string
}

// glossary lists the words that the pages explain, in the order of the alphabet.
func glossary() []term {
	return []term{
		{"as-built", "as built", "", "The skin as the scan shows it, with all its waves, not as the drawing has it."},
		{"band", "filler band", "", "How far inboard of the tip rib low spots are looked for. The wing sheet sets it, as band."},
		{"form-block", "form block", "form blocks", "The board whose edge the hot wire rides on. One sits at each end of the foam, and both have the same outline."},
		{"gauge", "check gauge", "check gauges", "A board sawn to the finished surface. Stood on the wing on its two feet it shows what is still low or high by the gap under its edge."},
		{"departure", "departure", "departures", "How far the skin lies from the drawing's section, square to the surface. Minus is low, plus is high."},
		{"detection", "detection limit", "", "A dent less deep than this cannot be told from the scanner's own noise. Where no spot is shown, the skin is good to this limit, and no better is known."},
		{"developed", "developed", "round the skin", "Measured along the surface, as a tape lies on it that is bent round the nose, not straight through the air."},
		{"faired", "faired", "", "The aileron stands so that its skin goes on from the wing's without a bend."},
		{"finished", "finished surface", "target", "What the skin is to be after filling and sanding. Templates are drawn from it, so the tip meets the wing as it will stand."},
		{"flange", "flange", "", "The strip under the skin at the tip rib to which the tip is fastened."},
		{"form", "form", "wing's own form", "The long waves in which this wing differs from its drawing as a whole. Nobody fills them: the tip follows them."},
		{"high-spot", "high spot", "high spots", "A place where the skin stands above the fair surface by more than can be noise. You never sand into the skin: filler is faired up to it."},
		{"hinge", "hinge line", "", "The line about which the aileron turns. The slot there is no fault and is not filled."},
		{"kerf", "kerf", "", "The slot that the hot wire melts. It is wider than the wire, so the block is made larger by half the difference."},
		{"laminate", "laminate", "", "The glass skin that will cover the foam. Its thickness is taken off the blocks, so that the tip ends flush with the wing."},
		{"low-spot", "low spot", "low spots", "A place where the skin lies below the fair surface by more than can be noise. Deep ones are filled, shallow ones left."},
		{"neutral", "neutral", "", "Where the designer wants the aileron when the stick is in the middle. Often that is faired, on some aeroplanes it is drooped."},
		{"noise", "noise", "", "The scatter of the scanned points about the true surface. Averaging over many points brings it down."},
		{"nominal", "nominal", "", "The section on the drawing, laid on the scan where it fits best."},
		{"proud", "proud", "", "Standing out above the surface beside it."},
		{"chord", "reference chord", "", "The length of the section's own chord line, on which its coordinates are given. A tape from nose to tail reads up to a millimetre more on a cambered section."},
		{"rms", "rms", "", "Root of the mean square: the usual size of something that is now high, now low."},
		{"stand-in", "stand-in", "", "A smooth outline through the scan's own points, taken because the wing sheet names no airfoil."},
		{"station", "station", "stations", "Distance inboard of the tip rib's outer face; 0 at the tip rib."},
		{"sweep", "sweep", "", "How far the leading edge runs aft, going inboard, from square to the tip rib's face. A swept wing's runs forward, so its figure is negative."},
		{"tip-rib", "tip rib", "", "The outermost rib. Its outer face is where the tip meets the wing and where every tip template lies."},
		{"tolerance", "tolerance", "what may differ", "How much the two tips may differ before they count as unlike. The wing sheet sets it under [pair]."},
		{"twist", "twist", "", "How much the section is turned, nose up or down, from one place along the wing to another."},
		{"u", "uncertainty", "±", "How far the truth may lie from the figure: within it about 95 times in 100."},
	}
}

// explainer turns plain text into a page's text: words of the glossary become buttons that open their
// explanation, names of files that lie beside the page become links.
type explainer struct {
	terms []term
	files []string
	found *regexp.Regexp // a word of the glossary or the name of a file
	used  []string       // keys of the words that the page has shown
	said  []string       // keys of those that this part of the page has explained
}

func newExplainer(files []string) *explainer {
	e := &explainer{terms: glossary(), files: files}
	var words []string
	for _, t := range e.terms {
		if t.Key == "u" {
			continue // it stands at every figure; the foot of the page explains it
		}
		words = append(words, regexp.QuoteMeta(t.Name))
		if t.Forms != "" {
			words = append(words, t.Forms)
		}
	}
	// The longest first: “form block” is no “form”.
	slices.SortStableFunc(words, func(a, b string) int { return len(b) - len(a) })
	e.found = regexp.MustCompile(`(?i)\b(?:[a-z0-9-]+\.(?:pdf|svg|png|dxf|csv|json|toml|ply|glb)|` + strings.Join(words, "|") + `)\b`)
	return e
}

// fresh begins a part of the page: words are explained there anew.
func (e *explainer) fresh() string {
	e.said = nil
	return ""
}

// prose escapes text, explains the first use of each word in this part of the page and links the files.
func (e *explainer) prose(text string) template.HTML { return e.marked(text, true) }

// linked escapes text and links the files only: for places where a button may not stand, such as labels.
func (e *explainer) linked(text string) template.HTML { return e.marked(text, false) }

func (e *explainer) marked(text string, explain bool) template.HTML {
	var b strings.Builder
	at := 0
	for _, m := range e.found.FindAllStringIndex(text, -1) {
		word := text[m[0]:m[1]]
		before := text[at:m[0]]
		at = m[1]
		key := e.keyOf(word)
		button := explain && key != "" && !slices.Contains(e.said, key) && !slices.Contains(e.files, word)
		open := ""
		if button && strings.HasSuffix(before, "(") {
			before, open = strings.TrimSuffix(before, "("), "("
		}
		b.WriteString(template.HTMLEscapeString(before))
		switch {
		case slices.Contains(e.files, word):
			fmt.Fprintf(&b, `<a href="%s">%s</a>`, word, word)
		case button:
			e.said = append(e.said, key)
			// A button is a box of its own: what closes behind it must not slip into the next line, nor what opens stay behind.
			end := at + len(text[at:]) - len(strings.TrimLeft(text[at:], ".,;:)"))
			fmt.Fprintf(&b, `<span class="keep">%s%s%s</span>`, open, e.term(key, word), text[at:end])
			at = end
		default:
			b.WriteString(template.HTMLEscapeString(word))
		}
	}
	b.WriteString(template.HTMLEscapeString(text[at:]))
	return template.HTML(b.String())
}

// keyOf returns the key of a word in any of its forms, empty if it is none.
func (e *explainer) keyOf(word string) string {
	word = strings.ToLower(word)
	for _, t := range e.terms {
		if word == t.Name || slices.Contains(strings.Split(t.Forms, "|"), word) {
			return t.Key
		}
	}
	return ""
}

// term makes a button that opens the explanation of a word.
func (e *explainer) term(key, shown string) template.HTML {
	if !slices.Contains(e.used, key) {
		e.used = append(e.used, key)
	}
	return template.HTML(fmt.Sprintf(`<button type="button" class="term" popovertarget="word-%s">%s</button>`,
		template.HTMLEscapeString(key), template.HTMLEscapeString(shown)))
}

// usedTerms lists the words that the page has shown so far.
func (e *explainer) usedTerms() []term {
	var out []term
	for _, t := range e.terms {
		if slices.Contains(e.used, t.Key) {
			out = append(out, t)
		}
	}
	return out
}

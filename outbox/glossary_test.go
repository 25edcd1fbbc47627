package outbox

import (
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestProse(t *testing.T) {
	e := newExplainer([]string{"inboard-block.pdf", "gauge-0.pdf"})
	for in, want := range map[string]string{
		"Print inboard-block.pdf, not other.pdf.": `Print <a href="inboard-block.pdf">inboard-block.pdf</a>, not other.pdf.`,
		`a <b> & "c"`:               "a &lt;b&gt; &amp; &#34;c&#34;",
		"Left (kerf).":              `Left <span class="keep">(<button type="button" class="term" popovertarget="word-kerf">kerf</button>).</span>`,
		"The Kerf, and the kerf.":   `The <span class="keep"><button type="button" class="term" popovertarget="word-kerf">Kerf</button>,</span> and the kerf.`,
		"Form blocks form a pair.":  `<span class="keep"><button type="button" class="term" popovertarget="word-form-block">Form blocks</button></span> <span class="keep"><button type="button" class="term" popovertarget="word-form">form</button></span> a pair.`,
		"An information, a format.": "An information, a format.",
	} {
		e.fresh()
		if got := string(e.prose(in)); got != want {
			t.Errorf("%q gives\n%s, want\n%s", in, got, want)
		}
	}
	if got := string(e.linked("kerf, gauge-0.pdf")); got != `kerf, <a href="gauge-0.pdf">gauge-0.pdf</a>` {
		t.Errorf("%s", got)
	}
	e.fresh()
	if first, second := e.prose("kerf"), e.prose("kerf"); first == second {
		t.Error("a word is explained twice in one part of a page")
	}
}

// Every button finds its explanation on its page, and every explanation is short and whole.
func TestEveryWordIsExplained(t *testing.T) {
	for name, page := range allPages(t) {
		var ids []string
		for _, m := range regexp.MustCompile(` popover id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
			ids = append(ids, m[1])
		}
		for _, m := range regexp.MustCompile(`popovertarget="([^"]*)"`).FindAllStringSubmatch(page, -1) {
			if !slices.Contains(ids, m[1]) {
				t.Errorf("%s: %s has no explanation", name, m[1])
			}
		}
		if name == "side" && len(ids) < 15 {
			t.Errorf("only %d words are explained", len(ids))
		}
	}
	keys := map[string]bool{}
	for _, w := range glossary() {
		if keys[w.Key] || !strings.HasSuffix(w.Text, ".") || len(w.Text) > 230 {
			t.Errorf("%s: %q", w.Key, w.Text)
		}
		keys[w.Key] = true
	}
}

package outbox

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"tipwright/outbox/draw/drawtest"
	"tipwright/section"
)

// A browser (Chromium) shows a side's link to the comparison where that lies beside it, and not where the delivery
// stands alone or was set aside, when the comparison beside it is of other deliveries.
func TestBrowserShowsThePairLink(t *testing.T) {
	drawtest.Slow(t)
	root := t.TempDir()
	pair := t.TempDir()
	if err := Pair(pair, samplePair(t)); err != nil {
		t.Fatal(err)
	}
	page, picture := delivered(t, withoutTemplates(t, section.Left))[ReportName], contents(t, pair)[DifferencesSVGName]
	for _, c := range []struct {
		dir         string
		pair, shown bool
	}{{"wren", true, true}, {"alone", false, false}, {"wren/earlier", true, false}} {
		dir := filepath.Join(root, filepath.FromSlash(c.dir))
		files := map[string][]byte{"left/" + ReportName: page}
		if c.pair {
			files["pair/"+DifferencesSVGName] = picture
		}
		for name, data := range files {
			path := filepath.Join(dir, filepath.FromSlash(name))
			if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(path, data, 0o644); err != nil {
				t.Fatal(err)
			}
		}
		got := drawtest.Shown(t, filepath.Join(dir, "left", ReportName))
		if !strings.Contains(got, `<nav id="pair"`) || strings.Contains(got, `<nav id="pair" hidden=""`) == c.shown {
			t.Errorf("%s: the link is shown or hidden wrongly", c.dir)
		}
	}
}

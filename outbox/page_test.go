package outbox

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"tipwright/outbox/draw"
	"tipwright/scan"
	"tipwright/scan/sheet"
	"tipwright/section"
)

// wellFormed checks that every element of a page is closed where it was opened.
func wellFormed(t *testing.T, page string) {
	t.Helper()
	void := []string{"meta", "input", "img", "br", "!DOCTYPE"}
	var open []string
	styles := ownScripts.ReplaceAllString(regexp.MustCompile(`(?s)<style>.*?</style>`).ReplaceAllString(page, ""), "")
	for _, m := range regexp.MustCompile(`<(/?)([!A-Za-z][A-Za-z0-9]*)((?:[^<>"]|"[^"]*")*?)(/?)>`).FindAllStringSubmatch(styles, -1) {
		switch {
		case m[1] == "/":
			if len(open) == 0 || open[len(open)-1] != m[2] {
				t.Fatalf("</%s> closes %v", m[2], open)
			}
			open = open[:len(open)-1]
		case m[4] == "" && !slices.Contains(void, m[2]):
			open = append(open, m[2])
		}
	}
	if len(open) > 0 {
		t.Errorf("not closed: %v", open)
	}
	ids := map[string]bool{}
	for _, m := range regexp.MustCompile(` id="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		if ids[m[1]] {
			t.Errorf("the id %s occurs twice", m[1])
		}
		ids[m[1]] = true
	}
}

// ownScripts are the two scripts that a page may hold, once each: the numbers of the view, and its own code.
var ownScripts = regexp.MustCompile(`(?s)<script type="application/json" id="panel-data">[^<]*</script>\n<script>// Shows the scanned panel.*?</script>`)

// sisters are what a page may name outside its own folder: the other deliveries of the aircraft. That of a side shows
// its link to the comparison only where the picture of that is found.
var sisters = []string{"../left/report.html", "../right/report.html", "../pair/report.html", "../pair/" + DifferencesSVGName}

// selfContained checks that a page needs nothing from outside its own folder.
func selfContained(t *testing.T, page string) {
	t.Helper()
	for _, m := range regexp.MustCompile(`(?i)(?:href|src|action|srcset|data|poster)\s*=\s*["']([^"']*)`).FindAllStringSubmatch(page, -1) {
		if !slices.Contains(sisters, m[1]) && (strings.Contains(m[1], ":") || strings.HasPrefix(m[1], "/") || strings.Contains(m[1], "..")) {
			t.Errorf("the page leads to %q", m[1])
		}
	}
	bare := strings.ReplaceAll(page, "http://www.w3.org/2000/svg", "") // a name, not a request
	bare = ownScripts.ReplaceAllString(bare, "")
	for _, bad := range []string{"http:", "https:", "url(", "@import", "<script", "<link", "<iframe", "javascript:"} {
		if strings.Contains(bare, bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
}

func allPages(t *testing.T) map[string]string {
	pages := map[string]string{}
	pages["side"] = string(delivered(t, withoutTemplates(t, section.Left))[ReportName])
	dir := t.TempDir()
	if err := Pair(dir, samplePair(t)); err != nil {
		t.Fatal(err)
	}
	pages["pair"] = string(contents(t, dir)[ReportName])
	dir = t.TempDir()
	if err := Refuse(dir, Delivery{Identity: sampleIdentity("left"), Sheet: sampleSheet()}, []scan.Message{{Code: "no-wing", Text: "No wing."}}); err != nil {
		t.Fatal(err)
	}
	pages["refused"] = string(contents(t, dir)[ReportName])
	var b bytes.Buffer
	if err := Index(&b, sampleEntries()); err != nil {
		t.Fatal(err)
	}
	pages["index"] = b.String()
	return pages
}

func TestPagesStandAlone(t *testing.T) {
	for name, page := range allPages(t) {
		t.Run(name, func(t *testing.T) {
			wellFormed(t, page)
			selfContained(t, page)
			if strings.Contains(page, "ZgotmplZ") || strings.Contains(page, "%!") || strings.Contains(page, "NaN") || strings.Contains(page, "&lt;nil&gt;") {
				t.Error("something was not filled in")
			}
		})
	}
}

// dataOf returns every figure of a page: its place in result.json, its exact value and what is shown.
func dataOf(page string) [][4]string {
	var out [][4]string
	for _, m := range regexp.MustCompile(`<data (?:class="q" )?value="([^"]*)" data-key="([^"]*)">([^<]*)</data>`).FindAllStringSubmatch(page, -1) {
		out = append(out, [4]string{m[2], m[1], m[3]})
	}
	return out
}

// Every figure on a page is that of result.json: its value is the same number, and what is shown is that
// number rounded, an uncertainty never down.
func TestPageAndResultAgree(t *testing.T) {
	dir := t.TempDir()
	if err := Pair(dir, samplePair(t)); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		files map[string][]byte
		least int
	}{
		"side": {delivered(t, withoutTemplates(t, section.Left)), 30},
		"pair": {contents(t, dir), 20},
	} {
		var result any
		if err := json.Unmarshal(c.files[ResultName], &result); err != nil {
			t.Fatal(err)
		}
		figures := dataOf(string(c.files[ReportName]))
		if len(figures) < c.least {
			t.Errorf("%s: only %d figures", name, len(figures))
		}
		for _, f := range figures {
			agree(t, result, f[0], f[1], f[2])
		}
	}
}

func agree(t *testing.T, result any, key, value, shown string) {
	t.Helper()
	want, ok := lookUp(result, key)
	if !ok {
		t.Errorf("%s is not in the result", key)
		return
	}
	v, err := strconv.ParseFloat(value, 64)
	if err != nil || v != want {
		t.Errorf("%s: the page's value is %s, the result's %v", key, value, want)
	}
	s, err := strconv.ParseFloat(strings.NewReplacer(minus, "-", "+", "").Replace(shown), 64)
	_, digits, _ := strings.Cut(shown, ".")
	step := math.Pow10(-len(digits))
	if err != nil || math.Abs(s-v) > step {
		t.Errorf("%s: shown as %s, but it is %v", key, shown, v)
	}
	if strings.HasSuffix(key, ".u") && s < v-1e-9 {
		t.Errorf("%s: the uncertainty %v is shown as %s", key, v, shown)
	}
}

const (
	hostile = `<b onload="x">A & 'B' "C"</b><script>alert(1)</script>`
	sly     = " \x1b[31m\a\u202e\u2067\xff" // colours, rings, turns what follows around, is no text
)

// Names and messages come from the builder's files and folders; none of them may act on a page, in a
// drawing or in a spreadsheet.
func TestHostileNames(t *testing.T) {
	d := withoutTemplates(t, section.Left)
	d.Sheet.Name, d.Identity.Aircraft = hostile+sly, `=HYPERLINK("x")`+sly
	d.Identity.Files[0].File, d.Scans[0].Source.File = hostile+sly, hostile+sly
	d.Identity.Sheet.File = hostile
	d.Result.Survey.Loft.Airfoil.Name = hostile
	d.Result.Messages = append(d.Result.Messages, scan.Cautionf("x", "%s", hostile+sly))
	files := delivered(t, d)
	pages := map[string]string{"side": string(files[ReportName]), "map": string(files[MapSVGName])}

	dir := t.TempDir()
	if err := Refuse(dir, d, []scan.Message{{Code: `"><i>`, Text: hostile + sly}}); err != nil {
		t.Fatal(err)
	}
	pages["refused"] = string(contents(t, dir)[ReportName])
	pair := samplePair(t)
	pair.Sheet.Name = hostile + sly
	dir = t.TempDir()
	if err := Pair(dir, pair); err != nil {
		t.Fatal(err)
	}
	pages["pair"] = string(contents(t, dir)[ReportName])
	var b bytes.Buffer
	if err := Index(&b, []Entry{{Aircraft: hostile + sly, Side: "left", Verdict: "caution", Link: "javascript:alert(1)/left/", Problem: hostile + sly}, {Aircraft: hostile + sly, Strange: []string{hostile + sly}}}); err != nil {
		t.Fatal(err)
	}
	pages["index"] = b.String()
	for name, text := range map[string]string{"table": string(files[SectionName]), "side": pages["side"], "map": pages["map"], "refused": pages["refused"], "pair": pages["pair"], "index": pages["index"]} {
		if draw.Legible(text) != text {
			t.Errorf("%s: what cannot be read is in it", name)
		}
	}
	for name, page := range pages {
		page = ownScripts.ReplaceAllString(page, "")
		if strings.Contains(page, "<b ") || strings.Contains(page, "<b>") || strings.Contains(page, "<script") || strings.Contains(page, "<i>") {
			t.Errorf("%s: a name became an element", name)
		}
		if name != "map" {
			wellFormed(t, page)
		}
	}
	if !strings.Contains(html.UnescapeString(pages["side"]), hostile) {
		t.Error("the name is not shown as it is")
	}
	if m := regexp.MustCompile(`href="([^"]*)"`).FindStringSubmatch(pages["index"]); m == nil || !strings.HasPrefix(m[1], "./javascript") {
		t.Errorf("the link is %q", m)
	}
	if rows := string(files[SectionName]); strings.Contains(rows, "\n=") || !strings.Contains(rows, `"'=HYPERLINK(""x"")`) {
		t.Errorf("a formula in the table: %.200s", rows)
	}
}

func TestPlainText(t *testing.T) {
	for in, want := range map[string]string{
		"": "", "marsh-wren": "marsh-wren", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\tx": " x", "\t=1": "' =1", "a=b": "a=b", "a\n=1": "a =1", "a\x1b\u202e": "a\ufffd\ufffd",
	} {
		if got := plainText(in); got != want {
			t.Errorf("plainText(%q) = %q", in, got)
		}
	}
}

func TestIndexTellsTheStateOfEachDelivery(t *testing.T) {
	var b bytes.Buffer
	if err := Index(&b, sampleEntries()); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, say := range []string{
		"The folder “old” holds no aircraft.", `<h2>Marsh Wren <span class="folder">folder marsh-wren</span></h2>`, "<h2>second-wing</h2>", "IMG_2041.heic", "name begins with left or right", `href="./marsh-wren/earlier/left-0a1b2c3d4e/report.html">Left wing 0a1b2c3d4e</a>`,
		`href="./left/report.html"`, `src="./left/filler-map.png"`, `src="./pair/differences.svg" alt="Differences of`, "stood 2.0 ± 0.2 degrees down", "out of date", "Do not cut from this one",
		"Open the comparison", "Open the page that says what to do", "No wing was found", "not made yet", "the disk is full",
	} {
		if !strings.Contains(page, say) {
			t.Errorf("the page does not hold %q", say)
		}
	}
	if strings.Contains(page, "refused/filler-map.png") || strings.Contains(page, "2 low spots.") {
		t.Error("a refused delivery has no map, and notes belong in the report")
	}
	b.Reset()
	if err := Index(&b, nil); err != nil || !strings.Contains(b.String(), "Make a folder for the aircraft") {
		t.Errorf("an empty shop: %v", err)
	}
}

func TestPairRecord(t *testing.T) {
	dir := t.TempDir()
	if err := Pair(dir, samplePair(t)); err != nil {
		t.Fatal(err)
	}
	r, err := ReadPair(filepath.Join(dir, ResultName))
	if err != nil {
		t.Fatal(err)
	}
	if r.Side != "pair" || r.Verdict != "caution" || len(r.Scans) != 2 || r.Same || !r.OneTemplatePair {
		t.Errorf("%+v", r.Record)
	}
	if c := r.ChordMM; c.Left.Value != 1220.4 || c.Differ || math.Abs(c.Difference.Value-0.5) > 1e-9 {
		t.Errorf("chord %+v", c)
	}
	if !r.ThicknessMM.Differ || r.AileronDeg == nil || r.Needs[0].VolumeML.Value != 24.1 {
		t.Errorf("thickness %+v, aileron %+v, needs %+v", r.ThicknessMM, r.AileronDeg, r.Needs)
	}
	if a := r.AreaCM2; a.Left.Value != 1213 || !a.Differ || math.Abs(r.SweepDeg.Left.Value+1.776) > 1e-3 {
		t.Errorf("area %+v, sweep %+v", r.AreaCM2, r.SweepDeg)
	}
	n := 0
	for _, o := range r.Outline {
		if len(o.XMM) != len(o.LaidTogether) || len(o.XMM) != len(o.Seen) || len(o.XMM) != len(o.UMM) || len(o.XMM) != len(o.AsTheyLie) {
			t.Errorf("%s: the columns differ in length", o.Surface)
		}
		n += len(o.XMM)
	}
	if rows := bytes.Count(contents(t, dir)[DifferencesName], []byte("\n")); rows != n+1 {
		t.Errorf("%d rows for %d traces", rows, n)
	}
	page := string(contents(t, dir)[ReportName])
	for _, say := range []string{"1.38 ± 0.21 mm at worst", "roughly 24 ml", "Use one pair of templates for both wings", "not told apart"} {
		if !strings.Contains(page, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	if _, err := ReadPair(filepath.Join(dir, "none")); err == nil {
		t.Error("read a pair that is not there")
	}
}

// Two wings whose size no tape has set are not judged, since they may differ in size alone.
func TestPairWithoutATape(t *testing.T) {
	p := samplePair(t)
	p.Sheet = sheet.Default()
	dir := t.TempDir()
	if err := Pair(dir, p); err != nil {
		t.Fatal(err)
	}
	r, err := ReadPair(filepath.Join(dir, ResultName))
	if err != nil || r.Verdict != "caution" || r.Same || r.OneTemplatePair || len(r.Needs) > 0 || len(r.Messages) != 1 || r.Messages[0].Code != "pair-untaped" {
		t.Errorf("%+v, %v", r, err)
	}
	page := string(contents(t, dir)[ReportName])
	if !strings.Contains(page, "The tips cannot be compared") || strings.Contains(page, "roughly") || strings.Contains(page, "pair of templates") {
		t.Error("the page judges what cannot be told")
	}
}

// Two sides of which hardly a common point was seen cannot be turned onto each other.
func TestPairWithoutATurn(t *testing.T) {
	p := samplePair(t)
	p.Result.Turn.U = math.Inf(1)
	dir := t.TempDir()
	if err := Pair(dir, p); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(string(contents(t, dir)[ReportName]), "Section turned") {
		t.Error("the page tells a turn that is not known")
	}
}

// Wings that match are not sent back to be filled.
func TestMatchingWingsNeedNothing(t *testing.T) {
	p := samplePair(t)
	for same, say := range map[bool]string{true: "The tips match as they are.", false: "To make the wings alike"} {
		p.Result.Same = same
		r := newPairRecord(&p)
		if len(r.Needs) == 0 {
			t.Fatal("the sample needs nothing")
		}
		var all string
		for _, s := range pairSteps(r) {
			all += s.Do + "\n"
		}
		if !strings.Contains(all, say) {
			t.Errorf("same %v: %s", same, all)
		}
	}
}

func TestRefusePair(t *testing.T) {
	p := samplePair(t)
	dir := t.TempDir()
	if err := RefusePair(dir, p, []scan.Message{{Code: "side-refused", Text: "The left scan was refused."}}); err != nil {
		t.Fatal(err)
	}
	if page := string(contents(t, dir)[ReportName]); !strings.Contains(page, "Marsh Wren, left against right") || strings.Contains(page, "pair wing") {
		t.Error("the heading is wrong")
	}
	if r, err := ReadPair(filepath.Join(dir, ResultName)); err != nil || r.Verdict != "refused" {
		t.Errorf("%+v, %v", r, err)
	}
}

func ExampleIndex() {
	var b bytes.Buffer
	err := Index(&b, []Entry{{Aircraft: "marsh-wren", Side: "left", Verdict: "good", Link: "marsh-wren/left/"}})
	fmt.Println(err, strings.Contains(b.String(), `href="./marsh-wren/left/report.html"`))
	// Output: <nil> true
}

package outbox

import (
	"bytes"
	"image/png"
	"maps"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/section"
)

// contents reads all files of a folder.
func contents(t testing.TB, dir string) map[string][]byte {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	out := map[string][]byte{}
	for _, e := range list {
		data, err := os.ReadFile(filepath.Join(dir, e.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[e.Name()] = data
	}
	return out
}

func delivered(t testing.TB, d Delivery) map[string][]byte {
	t.Helper()
	dir := t.TempDir()
	if err := Deliver(dir, d); err != nil {
		t.Fatal(err)
	}
	return contents(t, dir)
}

// withoutTemplates is the sample without its workshop drawings, which have tests of their own.
func withoutTemplates(t testing.TB, side section.Side) Delivery {
	d := sampleDelivery(t, side)
	d.Result.Templates, d.Result.Gauges, d.Result.AsBuilt = nil, nil, slices.Clone(d.Result.AsBuilt)
	return d
}

func TestDeliverWritesEverything(t *testing.T) {
	files := delivered(t, sampleDelivery(t, section.Left))
	want := []string{ResultName, ReportName, SectionName, DeparturesName, MapSVGName, MapPNGName}
	for _, stem := range []string{"inboard-block", "outboard-block", "foam-block"} {
		want = append(want, stem+".pdf", stem+".svg", stem+".dxf")
	}
	for _, name := range want {
		if len(files[name]) == 0 {
			t.Errorf("%s is missing or empty", name)
		}
	}
	if files[BlankSheetName] != nil {
		t.Errorf("a blank sheet beside one that is filled in")
	}
	page := string(files[ReportName])
	for name := range files {
		if name != ReportName && !strings.Contains(page, `href="`+name+`"`) {
			t.Errorf("the report does not lead to %s", name)
		}
	}
	image, err := png.DecodeConfig(bytes.NewReader(files[MapPNGName]))
	if err != nil || image.Width != mapPixels || image.Height < 800 {
		t.Errorf("the map's picture: %+v, %v", image, err)
	}
}

// The same delivery gives the same bytes, on one processor as on many.
func TestDeliverIsDeterministic(t *testing.T) {
	first := delivered(t, sampleDelivery(t, section.Right))
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	second := delivered(t, sampleDelivery(t, section.Right))
	if !slices.Equal(slices.Sorted(maps.Keys(first)), slices.Sorted(maps.Keys(second))) {
		t.Fatal("the files differ")
	}
	for name := range first {
		if !bytes.Equal(first[name], second[name]) {
			t.Errorf("%s differs", name)
		}
	}
}

func TestDeliverWithoutASheet(t *testing.T) {
	d := withoutTemplates(t, section.Left)
	d.Identity.Sheet = scan.Source{}
	d.Result.Nominal, d.Result.Survey.StandIn = nil, true
	files := delivered(t, d)
	page := string(files[ReportName])
	if !bytes.Contains(files[BlankSheetName], []byte("airfoil")) || !strings.Contains(page, "There was no wing sheet") {
		t.Error("no sheet to fill in")
	}
	if strings.Contains(page, "Against NACA") || strings.Contains(page, "mean offset from the nominal") {
		t.Error("the report compares with a drawing that nobody named")
	}
}

func TestRefuse(t *testing.T) {
	d := sampleDelivery(t, section.Left)
	d.Result, d.Scans[0].Survey, d.Identity.Sheet = nil, nil, scan.Source{}
	why := scan.Refusef("no-wing", "Scan the outboard wing again, from above.", "No wing was found in this scan.")
	dir := t.TempDir()
	if err := Refuse(dir, d, []scan.Message{why.Message()}); err != nil {
		t.Fatal(err)
	}
	files := contents(t, dir)
	if got := slices.Sorted(maps.Keys(files)); !slices.Equal(got, []string{BlankSheetName, ReportName, ResultName}) {
		t.Errorf("files %v", got)
	}
	page := string(files[ReportName])
	for _, say := range []string{"No wing was found in this scan. Scan the outboard wing again, from above.", "How to scan a wing", "A wing sheet to fill in", "412\u202f337"} {
		if !strings.Contains(page, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	r, err := ReadResult(filepath.Join(dir, ResultName))
	if err != nil {
		t.Fatal(err)
	}
	if r.Verdict != "refused" || r.Section != nil || r.Scans[0].Points != 412_337 || r.Scans[0].Units != "" || r.Sheet != nil {
		t.Errorf("the record %+v", r)
	}
	if err := Refuse(t.TempDir(), d, nil); err == nil {
		t.Error("a refusal without a reason")
	}
}

// Mistakes in the wing sheet are mended at the desk: all are listed, and nobody is sent out to scan.
func TestRefuseForTheSheet(t *testing.T) {
	d := Delivery{Identity: sampleIdentity("left"), Sheet: sampleSheet()}
	dir := t.TempDir()
	if err := Refuse(dir, d, []scan.Message{
		{Code: "sheet", Level: scan.Refusal, Text: "wing.toml, line 3: 1220 is a bare number"},
		{Code: "sheet", Level: scan.Refusal, Text: "wing.toml, line 9: hinges is not known"},
	}); err != nil {
		t.Fatal(err)
	}
	page := string(contents(t, dir)[ReportName])
	for _, say := range []string{"line 3: 1220 is a bare number", "line 9: hinges is not known", "2 things are to be mended"} {
		if !strings.Contains(page, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	if strings.Contains(page, "How to scan") || strings.Contains(page, "A wing sheet to fill in") {
		t.Error("the page goes on about scanning")
	}
}

func TestDeliverRefusesNothing(t *testing.T) {
	if err := Deliver(t.TempDir(), Delivery{Sheet: sampleSheet()}); err == nil {
		t.Error("delivered without a result")
	}
	if err := Deliver(t.TempDir(), Delivery{Result: &fit.Result{}, Sheet: sampleSheet()}); err == nil {
		t.Error("delivered without a survey")
	}
	wrong := withoutTemplates(t, section.Left)
	wrong.Identity.Side = "right"
	if err := Deliver(t.TempDir(), wrong); err == nil {
		t.Error("delivered a left wing as a right one")
	}
	if err := Pair(t.TempDir(), PairDelivery{}); err == nil {
		t.Error("compared nothing")
	}
}

// A delivery never overwrites a file and never leaves its folder.
func TestWriteFiles(t *testing.T) {
	for name, files := range map[string][]File{
		"up and out":   {{"../x", nil}},
		"a folder":     {{"a/x", nil}},
		"twice":        {{"x", nil}, {"x", nil}},
		"there before": {{"old", nil}},
	} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, "old"), []byte("kept"), 0o644); err != nil {
			t.Fatal(err)
		}
		if err := writeFiles(dir, files); err == nil {
			t.Errorf("%s: no error", name)
		}
		if got := string(contents(t, dir)["old"]); got != "kept" {
			t.Errorf("%s: the file that was there holds %q", name, got)
		}
	}
}

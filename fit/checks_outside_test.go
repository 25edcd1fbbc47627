package fit_test

import (
	"bytes"
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"tipwright/outbox"
	"tipwright/section"
)

// keys lists the names that a value of a type has in JSON: "a.b" for what lies within, "a[]" for each of many. A
// measured figure, a contrast of two sides and an outline are one figure each.
func keys(t reflect.Type, prefix string, into map[string]bool) {
	for t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	single := t == reflect.TypeFor[section.Measured]() || t == reflect.TypeFor[outbox.ContrastRecord]()
	switch {
	case t.Kind() == reflect.Struct && !single:
		for i := range t.NumField() {
			f := t.Field(i)
			name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			switch {
			case f.Anonymous && name == "":
				keys(f.Type, prefix, into)
			case prefix == "":
				keys(f.Type, name, into)
			default:
				keys(f.Type, prefix+"."+name, into)
			}
		}
	case t.Kind() == reflect.Slice && t.Elem().Kind() == reflect.Struct:
		keys(t.Elem(), prefix+"[]", into)
	default:
		into[prefix] = true
	}
}

// written drops the names that no result has, since one type serves two lists.
func written(all map[string]bool) []string {
	for _, never := range []string{"low_spots[].height_mm", "high_spots[].depth_mm", "gauges[].holes_mm", "gauges[].hole_diameter_mm", "gauges[].lines_mm",
		"gauges[].wire_marks_mm.lower", "gauges[].wire_marks_mm.upper"} {
		delete(all, never)
	}
	var out []string
	for k := range all {
		out = append(out, k)
	}
	slices.Sort(out)
	return out
}

// testNames returns the names of all tests and fuzz targets of the repository.
func testNames(t *testing.T) map[string]bool {
	t.Helper()
	names := map[string]bool{}
	declared := regexp.MustCompile(`(?m)^func ((?:Test|Fuzz)\w+)\(`)
	err := filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, "_test.go") {
			return err
		}
		text, err := os.ReadFile(path)
		for _, m := range declared.FindAllSubmatch(text, -1) {
			names[string(m[1])] = true
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return names
}

// CHECKS.md has a row for every figure of a side's and of a pair's result.json and for no other, and names no test
// that there is not.
func TestChecksAreComplete(t *testing.T) {
	text, err := os.ReadFile("CHECKS.md")
	if err != nil {
		t.Fatal(err)
	}
	all := map[string]bool{}
	keys(reflect.TypeFor[outbox.Record](), "", all)
	keys(reflect.TypeFor[outbox.PairRecord](), "", all)
	want := written(all)
	var got []string
	quoted := regexp.MustCompile("`([^`]+)`")
	figures, rest, ok := bytes.Cut(text, []byte("\n## What lies behind the figures\n"))
	if !ok {
		t.Fatal("the second part is missing")
	}
	for line := range strings.Lines(string(figures)) {
		if cells := strings.Split(line, "|"); len(cells) > 5 {
			for _, m := range quoted.FindAllStringSubmatch(cells[1], -1) {
				got = append(got, m[1])
			}
			if !strings.Contains(cells[5], "Test") && !strings.Contains(cells[3], "none") && strings.Contains(cells[1], "`") {
				t.Errorf("neither a test nor the word that there is none: %s", line)
			}
		}
	}
	slices.Sort(got)
	for _, k := range want {
		if n := count(got, k); n != 1 {
			t.Errorf("%s stands in %d rows", k, n)
		}
	}
	for _, k := range got {
		if !slices.Contains(want, k) {
			t.Errorf("no result has a %s", k)
		}
	}
	names := testNames(t)
	for _, name := range regexp.MustCompile(`\b(?:Test|Fuzz)[A-Z]\w+`).FindAll(text, -1) {
		if !names[string(name)] {
			t.Errorf("there is no %s", name)
		}
	}
	if len(rest) == 0 {
		t.Error("the second part is empty")
	}
}

func count(list []string, k string) (n int) {
	for _, v := range list {
		if v == k {
			n++
		}
	}
	return n
}

// A result that was written has no name that the types do not tell of.
func TestRecordsTellEveryName(t *testing.T) {
	all := map[string]bool{}
	keys(reflect.TypeFor[outbox.Record](), "", all)
	data, err := json.Marshal(outbox.Record{Sheet: &outbox.FileRecord{}, Scans: []outbox.ScanRecord{{}}})
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range regexp.MustCompile(`"([a-z_0-9]+)":`).FindAllSubmatch(data, -1) {
		found := false
		for k := range all {
			found = found || strings.Contains("."+strings.ReplaceAll(k, "[]", "")+".", "."+string(name[1])+".")
		}
		if !found {
			t.Errorf("%s is not among the names", name[1])
		}
	}
}

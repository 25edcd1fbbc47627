package scan

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestNumberAgreesWithTheStandardLibrary draws numbers of every size and spelling.
func TestNumberAgreesWithTheStandardLibrary(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(
			rapid.Custom(func(t *rapid.T) string {
				return strconv.FormatFloat(rapid.Float64().Draw(t, "value"), rapid.SampledFrom([]byte("efg")).Draw(t, "form"), rapid.IntRange(-1, 20).Draw(t, "digits"), 64)
			}),
			rapid.StringMatching(`[+-]?([0-9]{1,25}\.?[0-9]{0,25}|\.[0-9]{1,25})([eE][+-]?[0-9]{1,3})?`),
		).Draw(t, "text")
		want, err := strconv.ParseFloat(text, 64)
		if err != nil && !math.IsInf(want, 0) {
			t.Fatal(err)
		}
		for _, mark := range []byte{'.', ','} {
			got, ok := number([]byte(strings.ReplaceAll(text, ".", string(mark))), mark)
			if !ok || got != want && !(math.IsInf(want, 0) && math.IsNaN(got)) {
				t.Fatalf("%q is read as %v, %v, want %v", text, got, ok, want)
			}
		}
	})
}

func TestNumberSpellings(t *testing.T) {
	for _, w := range []string{"nan", "NaN", "-nan(ind)", "inf", "-Infinity", "1.#QNAN", "-1.#IND", "1.#INF"} {
		if v, ok := number([]byte(w), '.'); !ok || !math.IsNaN(v) {
			t.Errorf("%q is read as %v, %v, want no value", w, v, ok)
		}
	}
	for _, w := range []string{"", "-", "+", ".", "-.", "e5", "1e", "1e+", "1e5.", "1.2.3", "1,5", "0x10", "1_000", "1-", "--1", "12mm", "nano", "1e5e5", "NULL"} {
		if v, ok := number([]byte(w), '.'); ok {
			t.Errorf("%q is read as %v", w, v)
		}
	}
}

func FuzzNumber(f *testing.F) {
	for _, w := range []string{"1", "-0.5", "+.5e-7", "9007199254740993", "1e309", "2.2250738585072011e-308", "1e-400", "00012.50"} {
		f.Add(w)
	}
	f.Fuzz(func(t *testing.T, w string) {
		got, ok := number([]byte(w), '.')
		want, err := strconv.ParseFloat(w, 64)
		if ok && !math.IsNaN(got) && got != want {
			t.Fatalf("%q is read as %v, want %v", w, got, want)
		}
		if !ok && err == nil && strings.Trim(w, "0123456789.eE+-") == "" {
			t.Fatalf("%q is refused, and is %v", w, want)
		}
	})
}

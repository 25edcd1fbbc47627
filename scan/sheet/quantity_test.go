package sheet

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

func sprint(a ...any) string {
	var b strings.Builder
	for _, v := range a {
		fmt.Fprint(&b, v)
	}
	return b.String()
}

func TestParseAngle(t *testing.T) {
	for text, want := range map[string]float64{ // degrees
		"0 deg": 0, "-1.5 deg": -1.5, "1.5°": 1.5, "1 1/2 degrees": 1.5, "−2 deg": -2, "0.1 rad": 18 / math.Pi,
	} {
		got, err := ParseAngle(text)
		if err != nil || math.Abs(got*180/math.Pi-want) > 1e-12 {
			t.Errorf("%q: %v rad, %v, want %v deg", text, got, err, want)
		}
	}
	for text, mend := range map[string]string{
		"1.5": `"1.5 deg"`, "1,5 deg": "comma", "deg": "a number of degrees", "1 grad": "write deg", "": "a number of degrees", "NaN deg": "a number of degrees",
	} {
		if got, err := ParseAngle(text); err == nil || !strings.Contains(err.Error(), mend) {
			t.Errorf("%q: %v, %v; should say %s", text, got, err, mend)
		}
	}
}

func TestParseArealWeight(t *testing.T) {
	// 1 oz/yd2 = 33.906 g/m2 is how the trade's tables round it.
	for text, want := range map[string]float64{
		"200 g/m2": 200, "200 g/m²": 200, "200gsm": 200, "6 oz/yd2": 6 * 33.906, "8.7 oz/yd²": 8.7 * 33.906, "8 3/4 oz / yd^2": 8.75 * 33.906,
	} {
		got, err := ParseArealWeight(text)
		if err != nil || math.Abs(float64(got)-want) > 0.005 {
			t.Errorf("%q: %v, %v, want %v g/m2", text, got, err, want)
		}
	}
	for text, mend := range map[string]string{
		"200": `"200 g/m2"`, "6 oz": "g/m2 or oz/yd2", "-200 g/m2": "the cloth's weight", "0,2 kg/m2": "comma", "heavy": "the cloth's weight",
	} {
		if got, err := ParseArealWeight(text); err == nil || !strings.Contains(err.Error(), mend) {
			t.Errorf("%q: %v, %v; should say %s", text, got, err, mend)
		}
	}
}

// Thickness of one ply against the project's table of t = areal weight/(2540 kg/m3 x 0.35), mm to three digits.
func TestLaminateOf(t *testing.T) {
	for ounces, want := range map[float64]Length{1.45: 0.055, 3: 0.114, 6: 0.229, 8.7: 0.332, 10: 0.381} {
		if got := laminateOf([]Ply{{ArealWeight(ounces * 33.906), 1}}); math.Abs(float64(got-want)) > 1e-9 {
			t.Errorf("%v oz/yd2: %v, want %v", ounces, got, want)
		}
	}
	got := laminateOf([]Ply{{200, 3}, {100, 1}})
	if want := Length(0.787); got != want { // 700/889 = 0.7874
		t.Errorf("three of 200 and one of 100 g/m2: %v, want %v", got, want)
	}
}

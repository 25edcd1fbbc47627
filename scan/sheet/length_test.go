package sheet

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseLength(t *testing.T) {
	const in, ft = 25.4, 304.8 // mm, exact: international yard and pound agreement, 1959
	for text, want := range map[string]float64{
		"1220 mm":         1220,
		"1220mm":          1220,
		"  1220   mm  ":   1220,
		"1220\u00a0mm":    1220,
		"1220 MM":         1220,
		"+1220 mm":        1220,
		"122 cm":          1220,
		"1.22 m":          1220,
		".5 mm":           0.5,
		"0.5 mm":          0.5,
		"5. mm":           5,
		"-1.5 mm":         -1.5,
		"− 1.5 mm":        -1.5,
		"48 in":           48 * in,
		"48 1/16 in":      48.0625 * in, // 1220.7875 mm
		"48-1/16 in":      48.0625 * in,
		"48 - 1/16 in":    48.0625 * in,
		"48 1⁄16 in":      48.0625 * in,
		"48½ in":          48.5 * in,
		"48 ½ in":         48.5 * in,
		"½ in":            0.5 * in,
		"⅞ in":            0.875 * in,
		"1/16 in":         in / 16,
		"17/16 in":        in * 17 / 16,
		"48 1/16 inches":  48.0625 * in,
		`48 1/16"`:        48.0625 * in,
		"48 1/16''":       48.0625 * in,
		"48.25″":          48.25 * in,
		"4 ft":            4 * ft,
		"4.5 ft":          4.5 * ft,
		"4 1/2 ft":        4.5 * ft,
		"4 ft 1/2 in":     4*ft + 0.5*in,
		"4 feet 3 inches": 4*ft + 3*in,
		`4' 0 1/2"`:       4*ft + 0.5*in,
		"4ft1/2in":        4*ft + 0.5*in,
		"-4 ft 6 in":      -4*ft - 6*in,
		"1000 m":          1e6,
	} {
		got, err := ParseLength(text)
		if err != nil {
			t.Errorf("%q: %v", text, err)
		} else if math.Abs(float64(got)-want) > 1e-9 {
			t.Errorf("%q: %v, want %v mm", text, got, want)
		}
	}
	if l, _ := ParseLength("3 in"); l.String() != "76.2 mm" {
		t.Errorf("three inches are written as %s", l)
	}
}

func TestParseLengthRefuses(t *testing.T) {
	for text, mend := range map[string]string{
		"1220":                                 `"1220 mm" or "1220 in"`,
		"48 1/16":                              `"48 1/16 mm" or "48 1/16 in"`,
		"":                                     "a number and its unit",
		"mm":                                   "a number and its unit",
		"1,5 mm":                               `"1.5 mm", with a point, or "15 mm"`,
		"1,220.5 mm":                           "comma",
		"1 220 mm":                             "one number and its unit",
		"48 17/16 in":                          "carry the whole part over",
		"48 16/16 in":                          "carry the whole part over",
		"1/0 in":                               "a fraction such as 1/16",
		"1/ in":                                "a fraction such as 1/16",
		"48 1 / 16 in":                         "one number and its unit",
		"48 1/16.5 in":                         "one number and its unit",
		"48 yd":                                "mm, cm, m, in or ft",
		"48 inchs":                             "mm, cm, m, in or ft",
		"1e3 mm":                               "mm, cm, m, in or ft",
		"0x10 mm":                              "mm, cm, m, in or ft",
		". mm":                                 "a number such as 48.5",
		"NaN mm":                               "a number and its unit",
		"inf mm":                               "a number and its unit",
		"--1 mm":                               "a number and its unit",
		"1 m 22 cm":                            "only feet and inches go together",
		"1220 mm 5":                            "only feet and inches go together",
		"4.5 ft 2 in":                          "whole feet",
		"4 1/2 ft 2 in":                        "whole feet",
		"4 ft 12 in":                           "carry the twelve inches over",
		"4 ft 5 mm":                            "only inches may follow",
		"4 ft 5 in 1 in":                       "only inches may follow",
		"4 ft 5":                               "write the unit",
		"4 ft -5 in":                           "a number and its unit",
		"1001 m":                               "check the number",
		"1" + zeros + "m":                      "check the number",
		"1" + strings.Repeat("0", 400) + " mm": "a number such as 48.5",
		"٤ mm":                                 "a number and its unit", // digits of another script
		"1220 µm":                              "mm, cm, m, in or ft",
	} {
		got, err := ParseLength(text)
		if err == nil {
			t.Errorf("%q read as %v", text, got)
		} else if !strings.Contains(err.Error(), mend) {
			t.Errorf("%q: %v; should say %s", text, err, mend)
		}
	}
}

const zeros = "00000000"

// A length comes back from its own text bit by bit, whatever it is.
func TestLengthRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l := Length(rapid.Float64Range(-float64(mostLength), float64(mostLength)).Draw(t, "mm"))
		got, err := ParseLength(l.String())
		if err != nil || got != l {
			t.Fatalf("%v read as %v, %v", l, got, err)
		}
	})
}

// Feet, inches and sixty-fourths written the builder's way add up in whatever way they are written.
func TestLengthWaysOfWriting(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		feet := rapid.IntRange(0, 20).Draw(t, "feet")
		inches := rapid.IntRange(0, 11).Draw(t, "inches")
		part := rapid.IntRange(0, 63).Draw(t, "64ths")
		want := (float64(12*feet+inches) + float64(part)/64) * 25.4
		for _, text := range []string{
			sprint(feet, " ft ", inches, " ", part, "/64 in"),
			sprint(feet, "' ", inches, "-", part, "/64\""),
			sprint(12*feet+inches, " ", part, "⁄64 inches"),
			sprint(float64(12*feet+inches)+float64(part)/64, " in"),
		} {
			got, err := ParseLength(text)
			if err != nil || math.Abs(float64(got)-want) > 1e-9 {
				t.Fatalf("%q: %v, %v, want %v mm", text, got, err, want)
			}
		}
	})
}

func FuzzParseLength(f *testing.F) {
	for _, s := range []string{"1220 mm", "48 1/16 in", "4 ft 1/2 in", "1.22 m", "48½″", "4' 0 1/2\"", "1,5 mm", "-0 mm",
		"1/0 in", "''", "1⁄", "9999999999 m", "48 17/16 in", "⅞", "1 - mm", "4ft4ft", "\xff mm", "1e9 mm"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		l, err := ParseLength(text)
		if err != nil {
			return
		}
		if !(math.Abs(float64(l)) <= float64(mostLength)) {
			t.Fatalf("%q read as %v", text, l)
		}
		if again, err := ParseLength(l.String()); err != nil || again != l {
			t.Fatalf("%q read as %v, which reads as %v, %v", text, l, again, err)
		}
	})
}

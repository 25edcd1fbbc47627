package airfoil

import (
	"fmt"
	"regexp"
	"strings"
)

const accepted = "Accepted are NACA 4-digit names (\"NACA 2412\"), modified ones (\"NACA 0012-64\"), 5-digit names " +
	"(\"NACA 23012\") and reflexed ones (\"NACA 23112\"), with a thickness of 03 to 30; for any other section give " +
	"a coordinate file beside the wing sheet, as in airfoil = \"mysection.dat\""

const (
	leastThickness = 3  // per cent of chord: thinner is no wing section but a slip of the pen
	mostThickness  = 30 // per cent of chord: beyond the families' tested range
)

var (
	nacaName = regexp.MustCompile(`^NACA[ _-]*[0-9][0-9A-C ,()_-]*$`)
	wellMade = regexp.MustCompile(`^([0-9]{4,5})(?:-([0-9])([0-9]))?$`)
)

// IsDesignation reports whether s looks like the name of a NACA section, good or bad, rather than the name
// of a coordinate file: "NACA 63-215" does, though [Parse] refuses it; "naca2412.dat" does not.
func IsDesignation(s string) bool {
	return nacaName.MatchString(plain(s)) || wellMade.MatchString(bare(s))
}

// bare returns the digits of a designation, without the word NACA and spaces.
func bare(s string) string {
	s = strings.TrimPrefix(plain(s), "NACA")
	return strings.TrimLeft(strings.ReplaceAll(s, " ", ""), "-_")
}

// plain returns s in capitals, with plain hyphens and single spaces, trimmed.
func plain(s string) string {
	s = strings.NewReplacer("–", "-", "−", "-", "‑", "-", "—", "-").Replace(s)
	return strings.ToUpper(strings.Join(strings.Fields(s), " "))
}

// Parse makes the section that a NACA designation names: 4-digit "NACA 2412", modified "NACA 0012-64",
// 5-digit "NACA 23012" and reflexed 5-digit "NACA 23112"; case, spaces and the word NACA are free. Every
// suffix takes the modified equation: 0012-63 is not 0012. The error says what is accepted.
func Parse(designation string) (*Airfoil, error) {
	s := bare(designation)
	part := wellMade.FindStringSubmatch(s)
	if part == nil {
		return nil, refuse(designation, "is not a NACA designation that tipwright has a formula for")
	}
	d := digits(part[1])
	t := 10*d[len(d)-2] + d[len(d)-1]
	if t < leastThickness || t > mostThickness {
		return nil, refuse(designation, "has a thickness of %02d per cent of the chord, which is out of range", t)
	}
	line, err := parseMeanLine(d[:len(d)-2])
	if err != nil {
		return nil, refuse(designation, "cannot be: %w", err)
	}
	half, err := parseThickness(float64(t)/100, part[2]+part[3])
	if err != nil {
		return nil, refuse(designation, "cannot be: %w", err)
	}
	f := &formula{half: half, line: line}
	if f.folds() {
		return nil, refuse(designation, "folds back on itself: its mean line is bent too sharply for a thickness of %d per cent", t)
	}
	return newAirfoil("NACA "+s, f, f, nil), nil
}

// refuse makes the error for a designation.
func refuse(designation, format string, args ...any) error {
	return fmt.Errorf("airfoil %q "+format+". "+accepted, append([]any{designation}, args...)...)
}

// digits returns the values of decimal digits.
func digits(s string) []int {
	out := make([]int, len(s))
	for i, c := range s {
		out[i] = int(c - '0')
	}
	return out
}

// parseMeanLine reads the digits ahead of the thickness: two or three.
func parseMeanLine(d []int) (meanLine, error) {
	if len(d) == 3 {
		return parseThreeDigit(d)
	}
	switch m, p := d[0], d[1]; {
	case m == 0 && p == 0:
		return straight{}, nil
	case m == 0:
		return nil, fmt.Errorf("the first digit says no camber, the second where it is greatest; a symmetric section begins with 00")
	case p == 0:
		return nil, fmt.Errorf("the second digit is the place of the greatest camber in tenths of the chord and cannot be 0")
	default:
		return twoDigit{float64(m) / 100, float64(p) / 10}, nil
	}
}

// parseThreeDigit reads the digits of a 5-digit name ahead of the thickness.
func parseThreeDigit(d []int) (meanLine, error) {
	switch {
	case d[0] == 0:
		return nil, fmt.Errorf("the first digit of a 5-digit name is the design lift and cannot be 0")
	case d[2] > 1:
		return nil, fmt.Errorf("the third digit of a 5-digit name is 0, or 1 for a reflexed mean line")
	}
	return newThreeDigit(d[0], d[1], d[2] == 1)
}

// parseThickness chooses the thickness distribution by the suffix, such as "64" or "".
func parseThickness(t float64, suffix string) (halfThickness, error) {
	if suffix == "" {
		return standard(t), nil
	}
	d := digits(suffix)
	if d[1] < 2 || d[1] > 6 {
		return nil, fmt.Errorf("the last digit of the suffix is the place of the greatest thickness in tenths of the chord, 2 to 6")
	}
	return newModified(t, d[0], d[1]), nil
}

// Candidates lists the designations of a family to search where the airfoil is unknown: the 4-digit sections
// in steps of 1 % of camber, a tenth of its place and 1 to 3 % of thickness, and the plain 5-digit ones.
func Candidates() []string {
	thickness := []int{6, 8, 9, 10, 11, 12, 13, 14, 15, 16, 17, 18, 20, 21, 24}
	var out []string
	for _, t := range thickness {
		out = append(out, fmt.Sprintf("NACA 00%02d", t))
	}
	for m := 1; m <= 6; m++ {
		for p := 2; p <= 6; p++ {
			for _, t := range thickness {
				out = append(out, fmt.Sprintf("NACA %d%d%02d", m, p, t))
			}
		}
	}
	for p := 1; p <= 5; p++ {
		for _, t := range thickness {
			out = append(out, fmt.Sprintf("NACA 2%d0%02d", p, t))
		}
	}
	return out
}

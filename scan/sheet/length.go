package sheet

import (
	"fmt"
	"strconv"
	"strings"

	"tipwright/scan"
)

// Length is a length in millimetres.
type Length float64

// mostLength bounds what ParseLength takes: nothing on a wing sheet is a kilometre long.
const mostLength Length = 1e6

// MM returns the length in millimetres as a plain number.
func (l Length) MM() float64 { return float64(l) }

// String writes the length in millimetres, "1220.7875 mm", with as many digits as ParseLength needs to
// read the same value back.
func (l Length) String() string {
	return strconv.FormatFloat(float64(l), 'f', -1, 64) + " mm"
}

// ParseLength reads a length with its unit as a builder writes it: "1220 mm", "122 cm", "1.22 m",
// "48 1/16 in", "48-1/16 in", "48½ in", "4 ft 1/2 in", `4' 0 1/2"`. A leading minus is read; whether a
// negative length can be is for the caller to say. The inch is 25.4 mm exactly, the foot twelve inches.
//
// It returns an error that names the mend for a missing or unknown unit, a decimal comma, a fraction that
// is more than one beside a whole number, feet that are not whole beside inches, or more than a kilometre.
func ParseLength(text string) (Length, error) {
	r := newReader(text)
	if err := r.comma(); err != nil {
		return 0, err
	}
	sign := r.sign()
	n, err := r.number()
	if err != nil {
		return 0, err
	}
	unit, err := r.lengthUnit(n)
	if err != nil {
		return 0, err
	}
	total := millimetres(n.value, unit)
	if !r.done() {
		inches, err := r.inchesAfterFeet(n, unit)
		if err != nil {
			return 0, err
		}
		total = millimetres(12*n.value+inches, scan.Inch)
	}
	if !(total <= float64(mostLength)) {
		return 0, mendf("check the number and its unit", "%q is more than a kilometre", text)
	}
	return Length(sign * total), nil
}

// millimetres converts n units. Inches and feet go by whole numbers, since 25.4 itself is not exact in
// binary: three inches shall be 76.2 mm, not 76.19999999999999.
func millimetres(n float64, unit scan.Unit) float64 {
	switch unit {
	case scan.Inch:
		return n * 254 / 10
	case scan.Foot:
		return n * 3048 / 10
	}
	return n * unit.MM()
}

// inchesAfterFeet reads the second half of "4 ft 1/2 in", in inches; n and first are the first half's
// number and unit.
func (r *reader) inchesAfterFeet(n number, first scan.Unit) (float64, error) {
	if first != scan.Foot {
		return 0, mendf("write one number and one unit; only feet and inches go together, as in \"4 ft 1/2 in\"",
			"%q goes on after its unit", r.text)
	}
	if !n.whole {
		return 0, mendf("write whole feet before inches", "%q has a broken number of feet", r.text)
	}
	inches, err := r.number()
	if err != nil {
		return 0, err
	}
	unit, err := r.lengthUnit(inches)
	if err != nil {
		return 0, err
	}
	if unit != scan.Inch || !r.done() {
		return 0, mendf("after feet only inches may follow, as in \"4 ft 1/2 in\"", "%q goes on after its unit", r.text)
	}
	if inches.value >= 12 {
		return 0, mendf("carry the twelve inches over to the feet", "%q has a foot or more in its inches", r.text)
	}
	return inches.value, nil
}

// lengthUnit reads the unit that follows n.
func (r *reader) lengthUnit(n number) (scan.Unit, error) {
	word := r.unit()
	if word == "" && r.done() {
		return "", mendf(fmt.Sprintf("write the unit with it, as in \"%[1]s mm\" or \"%[1]s in\"", n.text),
			"%q is a bare number", r.text)
	}
	if word == "" {
		return "", mendf("write one number and its unit, as in \"48 1/16 in\"",
			"%q has no unit after %s", r.text, n.text)
	}
	unit := scan.Unit(strings.ToLower(word))
	switch unit {
	case `"`, "inch", "inches":
		return scan.Inch, nil
	case "'", "foot", "feet":
		return scan.Foot, nil
	}
	if unit.MM() > 0 {
		return unit, nil
	}
	return "", mendf("write mm, cm, m, in or ft", "%q is not a unit of length known here", word)
}

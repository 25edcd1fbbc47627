package sheet

import (
	"math"
	"strconv"
	"strings"
)

// ParseAngle reads an angle with its unit, "1.5 deg", "-1.5 °" or "0.02 rad", and returns radians.
func ParseAngle(text string) (float64, error) {
	r := newReader(text)
	if err := r.comma(); err != nil {
		return 0, err
	}
	sign := r.sign()
	n, err := r.number()
	if err != nil {
		return 0, mendf("write a number of degrees, as in \"-1.5 deg\"", "%q is not an angle", text)
	}
	switch strings.ToLower(r.rest) {
	case "deg", "degree", "degrees", "°":
		return sign * n.value * math.Pi / 180, nil
	case "rad":
		return sign * n.value, nil
	case "":
		return 0, mendf("write the unit with it, as in \""+n.text+" deg\"", "%q is a bare number", text)
	}
	return 0, mendf("write deg, as in \"-1.5 deg\"", "%q is not a unit of angle known here", r.rest)
}

// ArealWeight is the weight of one ply of dry cloth in g/m2.
type ArealWeight float64

// String writes the weight as a wing sheet does: "200 g/m2".
func (w ArealWeight) String() string {
	return strconv.FormatFloat(float64(w), 'f', -1, 64) + " g/m2"
}

// gramsPerOunceYard is 1 oz/yd2 in g/m2: 28.349523125 g on 0.83612736 m2, both exact by the
// international yard and pound agreement of 1959.
const gramsPerOunceYard = 28.349523125 / 0.83612736

// ParseArealWeight reads the weight of a cloth, "200 g/m2", "200 gsm" or "6 oz/yd2".
func ParseArealWeight(text string) (ArealWeight, error) {
	r := newReader(text)
	if err := r.comma(); err != nil {
		return 0, err
	}
	n, err := r.number()
	if err != nil {
		return 0, mendf("write the cloth's weight, as in \"200 g/m2\" or \"6 oz/yd2\"", "%q is not an areal weight", text)
	}
	unit := strings.NewReplacer(" ", "", "²", "2", "^", "").Replace(strings.ToLower(r.rest))
	switch unit {
	case "g/m2", "gsm":
		return ArealWeight(n.value), nil
	case "oz/yd2":
		return ArealWeight(n.value * gramsPerOunceYard), nil
	case "":
		return 0, mendf("write the unit with it, as in \""+n.text+" g/m2\"", "%q is a bare number", text)
	}
	return 0, mendf("write g/m2 or oz/yd2, as in \"200 g/m2\"", "%q is not an areal weight known here", r.rest)
}

package scan

import (
	"bytes"
	"math"
	"strconv"
	"strings"
)

// powersOfTen holds those that float64 represents exactly.
var powersOfTen = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
	1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22}

// number reads a whole word as a decimal number; mark is the decimal mark, '.' or ','. The words that
// programs write for values they do not have ("nan", "-nan(ind)", "inf", "1.#QNAN") give NaN.
//
// Up to 15 or so digits and small exponents, one correctly rounded operation on exact operands gives the
// nearest float64 (Clinger 1990, from memory); everything else goes to strconv.
func number(w []byte, mark byte) (float64, bool) {
	i, negative := 0, false
	if len(w) > 0 && (w[0] == '-' || w[0] == '+') {
		negative = w[0] == '-'
		i++
	}
	var mantissa uint64
	digits, scale, seenMark := 0, 0, false
	for ; i < len(w); i++ {
		c := w[i]
		if d := c - '0'; d <= 9 {
			if mantissa >= 1<<53/10 {
				return slowNumber(w, mark)
			}
			mantissa = mantissa*10 + uint64(d)
			digits++
			if seenMark {
				scale--
			}
		} else if c == mark && !seenMark {
			seenMark = true
		} else {
			break
		}
	}
	if digits == 0 {
		return slowNumber(w, mark)
	}
	if i < len(w) {
		e, ok := exponent(w[i:])
		if !ok {
			return slowNumber(w, mark)
		}
		scale += e
	}
	v := float64(mantissa)
	switch {
	case scale < -22 || scale > 22:
		return slowNumber(w, mark)
	case scale < 0:
		v /= powersOfTen[-scale]
	default:
		v *= powersOfTen[scale]
	}
	if negative {
		v = -v
	}
	return v, true
}

// exponent reads "e-3"; ok only for up to three digits.
func exponent(w []byte) (e int, ok bool) {
	if w[0] != 'e' && w[0] != 'E' {
		return 0, false
	}
	w = w[1:]
	negative := false
	if len(w) > 0 && (w[0] == '-' || w[0] == '+') {
		negative = w[0] == '-'
		w = w[1:]
	}
	if len(w) == 0 || len(w) > 3 {
		return 0, false
	}
	for _, c := range w {
		if c < '0' || c > '9' {
			return 0, false
		}
		e = e*10 + int(c-'0')
	}
	if negative {
		e = -e
	}
	return e, true
}

// slowNumber reads what the quick way could not: many digits, large exponents, words for no value.
func slowNumber(w []byte, mark byte) (float64, bool) {
	if isNoValue(w) {
		return math.NaN(), true
	}
	for _, c := range w {
		if (c < '0' || c > '9') && c != mark && c != '-' && c != '+' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	if mark != '.' {
		w = bytes.ReplaceAll(w, []byte{mark}, []byte{'.'})
	}
	v, err := strconv.ParseFloat(string(w), 64)
	if err != nil && !math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}

// isNoValue knows the spellings of NaN and infinity that the common runtime libraries print.
func isNoValue(w []byte) bool {
	if len(w) == 0 || len(w) > 12 {
		return false
	}
	switch strings.TrimLeft(strings.ToLower(string(w)), "+-") {
	case "nan", "nan(ind)", "nan(snan)", "inf", "infinity", "1.#qnan", "1.#snan", "1.#ind", "1.#inf", "1.#qnan0", "1.#ind00", "1.#inf00":
		return true
	}
	return false
}

// wholeNumber reads a word as a decimal integer.
func wholeNumber(w []byte) (int64, bool) {
	digits := w
	if len(digits) > 0 && (digits[0] == '-' || digits[0] == '+') {
		digits = digits[1:]
	}
	if len(digits) == 0 || len(digits) > 18 {
		return 0, false
	}
	var n int64
	for _, c := range digits {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int64(c-'0')
	}
	if w[0] == '-' {
		n = -n
	}
	return n, true
}

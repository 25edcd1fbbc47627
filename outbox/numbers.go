package outbox

import (
	"math"
	"strconv"
	"strings"

	"tipwright/section"
)

const minus = "−"

// fixed writes a number with n decimals and a true minus.
func fixed(v float64, n int) string {
	return strings.Replace(strconv.FormatFloat(decimals(v, n), 'f', n, 64), "-", minus, 1)
}

// signed writes a number with its sign, none for zero.
func signed(v float64, n int) string {
	text := fixed(v, n)
	if decimals(v, n) > 0 {
		return "+" + text
	}
	return text
}

// upTo writes an uncertainty with n decimals, rounded up: it is never understated.
func upTo(u float64, n int) string {
	p := math.Pow10(n)
	return fixed(math.Ceil(u*p-1e-6)/p, n)
}

// plusMinus writes a measured quantity, "1.83 ± 0.12".
func plusMinus(m section.Measured, n int) string { return fixed(m.Value, n) + " ± " + upTo(m.U, n) }

// absolute returns a measured quantity without its sign.
func absolute(m section.Measured) section.Measured {
	return section.Measured{Value: math.Abs(m.Value), U: m.U}
}

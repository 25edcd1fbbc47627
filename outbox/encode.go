package outbox

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"

	"tipwright/section"
)

// decimals rounds to n digits after the point, so that result.json holds no digits that mean nothing. It
// never gives a negative zero.
func decimals(v float64, n int) float64 {
	p := math.Pow10(n)
	return math.Round(v*p)/p + 0
}

// appendRounded writes a number rounded to n digits after the point, all of them or, if short, without zeros at
// the end: decimals, written digit by digit, which for numbers of less than 16 digits is what strconv finds by
// a longer way.
func appendRounded(to []byte, v float64, n int, short bool) []byte {
	p := math.Pow10(n)
	k := math.Round(v * p)
	if !(math.Abs(k) < 1e15) {
		digits := n
		if short {
			digits = -1
		}
		return strconv.AppendFloat(to, decimals(v, n), 'f', digits, 64)
	}
	whole, part := int64(math.Abs(k))/int64(p), int64(math.Abs(k))%int64(p)
	if k < 0 {
		to = append(to, '-')
	}
	to = strconv.AppendInt(to, whole, 10)
	if n == 0 || short && part == 0 {
		return to
	}
	to = append(to, '.')
	for q := int64(p) / 10; q > 0 && !(short && part == 0); q /= 10 {
		to = append(to, byte('0'+part/q))
		part %= q
	}
	return to
}

// measured scales and rounds a measured quantity.
func measured(m section.Measured, scale float64, n int) section.Measured {
	return section.Measured{Value: decimals(m.Value*scale, n), U: decimals(m.U*math.Abs(scale), n)}
}

// encode writes the record as JSON. A number that is not finite is an error: it would be a fault of the
// steps before.
func (r *Record) encode() ([]byte, error) { return encodeJSON(r) }

func encodeJSON(v any) ([]byte, error) {
	var compact bytes.Buffer
	e := json.NewEncoder(&compact)
	e.SetEscapeHTML(false)
	if err := e.Encode(v); err != nil {
		return nil, fmt.Errorf("%s: %w", ResultName, err)
	}
	return tidy(compact.Bytes()), nil
}

// tidy breaks JSON into lines: one a field and one a list of numbers, which stays together.
func tidy(compact []byte) []byte {
	var out bytes.Buffer
	depth := 0
	line := func() { out.WriteString("\n" + strings.Repeat("  ", depth)) }
	for i := 0; i < len(compact); i++ {
		c := compact[i]
		switch {
		case c == '"':
			end := stringEnd(compact, i)
			out.Write(compact[i:end])
			i = end - 1
		case c == '[' && flat(compact[i:]) > 0:
			end := i + flat(compact[i:])
			out.Write(compact[i:end])
			i = end - 1
		case c == '{' || c == '[':
			out.WriteByte(c)
			depth++
			line()
		case c == '}' || c == ']':
			depth--
			line()
			out.WriteByte(c)
		case c == ',':
			out.WriteByte(c)
			line()
		case c == ':':
			out.WriteString(": ")
		default:
			out.WriteByte(c)
		}
	}
	return out.Bytes()
}

// stringEnd returns the index after the string that begins at i.
func stringEnd(b []byte, i int) int {
	for i++; b[i] != '"'; i++ {
		if b[i] == '\\' {
			i++
		}
	}
	return i + 1
}

// flat returns the length of the list that b begins with, if it holds neither an object nor a string.
func flat(b []byte) int {
	depth := 0
	for i, c := range b {
		switch c {
		case '[':
			depth++
		case ']':
			if depth--; depth == 0 {
				return i + 1
			}
		case '{', '"':
			return 0
		}
	}
	return 0
}

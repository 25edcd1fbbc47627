package outbox

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

// Numbers must be written as strconv writes the rounded ones, the smallest and the largest among them.
func TestRoundedNumbersAreThoseOfStrconv(t *testing.T) {
	check := func(t interface{ Fatalf(string, ...any) }, v float64, n int) {
		for short, digits := range map[bool]int{false: n, true: -1} {
			want := strconv.FormatFloat(decimals(v, n), 'f', digits, 64)
			if got := string(appendRounded([]byte("x"), v, n, short)); got != "x"+want {
				t.Fatalf("%v to %d digits, short %v: %q, not %q", v, n, short, got[1:], want)
			}
		}
	}
	for _, v := range []float64{0, math.Copysign(0, -1), -0.00004, 0.005, -0.995, 0.1 + 0.2, 1e15, -1e22, 9.99999e14, 99999999999.99999, 1e300} {
		for n := range 5 {
			check(t, v, n)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		check(t, rapid.Float64Range(-1e6, 1e6).Draw(t, "v"), rapid.IntRange(0, 4).Draw(t, "n"))
		check(t, rapid.Float64Range(-1, 1).Draw(t, "small"), rapid.IntRange(0, 4).Draw(t, "digits"))
		check(t, rapid.Float64().Draw(t, "any"), rapid.IntRange(0, 4).Draw(t, "places"))
	})
}

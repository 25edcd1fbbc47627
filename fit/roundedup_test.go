package fit

import "testing"

func TestRoundedUp(t *testing.T) {
	for _, c := range []struct {
		u    float64
		n    int
		want string
	}{{0.1062, 1, "0.2"}, {0.1, 1, "0.1"}, {0.1673, 2, "0.17"}, {0.121, 2, "0.13"}, {0, 1, "0.0"}, {3, 0, "3"}} {
		if got := roundedUp(c.u, c.n); got != c.want {
			t.Errorf("roundedUp(%v, %d) = %s, want %s", c.u, c.n, got, c.want)
		}
	}
}

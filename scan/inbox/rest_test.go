package inbox

import (
	"testing"
	"time"
)

func TestAtRest(t *testing.T) {
	noon := time.Date(2026, 5, 4, 12, 0, 0, 0, time.UTC)
	old := noon.Add(-24 * time.Hour)
	at := func(seconds int, size int64, mod time.Time) Look {
		return Look{At: noon.Add(time.Duration(seconds) * time.Second), Size: size, ModTime: mod}
	}
	gone := func(seconds int) Look {
		l := at(seconds, 0, time.Time{})
		l.Gone = true
		return l
	}
	for _, c := range []struct {
		name  string
		looks []Look
		now   int // seconds after noon
		rest  bool
		wait  int // seconds
	}{
		{"just seen, though its time stamp is old", []Look{at(0, 9, old)}, 0, false, 10},
		{"seen once, long ago", []Look{at(0, 9, old)}, 10, true, 0},
		{"unchanged", []Look{at(0, 9, old), at(6, 9, old), at(10, 9, old)}, 10, true, 0},
		{"still growing", []Look{at(0, 9, old), at(5, 10, old), at(10, 11, old)}, 12, false, 8},
		{"grown, then quiet", []Look{at(0, 9, old), at(5, 10, old), at(10, 10, old)}, 15, true, 0},
		{"same size, touched", []Look{at(0, 9, old), at(5, 9, noon)}, 12, false, 3},
		{"shrunk", []Look{at(0, 9, old), at(8, 3, old)}, 12, false, 6},
		{"same instant in another zone", []Look{at(0, 9, old), at(8, 9, old.In(time.FixedZone("", 3600)))}, 12, true, 0},
		{"gone just now", []Look{at(0, 9, old), gone(8)}, 12, false, 6},
		{"gone for long", []Look{at(0, 9, old), gone(8), gone(14)}, 18, true, 0},
		{"come back as it was", []Look{at(0, 9, old), gone(8), at(14, 9, old)}, 18, false, 6},
		{"clock set back", []Look{at(100, 9, old)}, 0, false, 110},
	} {
		since := c.looks[0]
		for _, l := range c.looks[1:] {
			since = since.Next(l)
		}
		rest, wait := since.AtRest(noon.Add(time.Duration(c.now)*time.Second), 10*time.Second)
		if rest != c.rest || wait != time.Duration(c.wait)*time.Second {
			t.Errorf("%s: at rest %v, wait %v; want %v, %d s", c.name, rest, wait, c.rest, c.wait)
		}
	}
}

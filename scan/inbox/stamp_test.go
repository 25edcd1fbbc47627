package inbox

import (
	"testing"
	"time"
)

// A file that was touched shortly before it was read may change without a trace, so its stamp is not relied on. A map of
// its memory may go on changing it for longer, so that its bytes are taken for known after a minute alone, and only where
// no program can set all of its times.
func TestStamp(t *testing.T) {
	at := time.Unix(1_000_000, 0)
	before := func(d time.Duration) int64 { return at.Add(-d).UnixNano() }
	for _, c := range []struct {
		name              string
		modified, changed int64
		settled, rested   bool
	}{
		{"old", before(time.Hour), before(2 * time.Minute), true, true},
		{"written half a minute ago", before(30 * time.Second), before(30 * time.Second), true, false},
		{"just written", before(time.Second), before(time.Second), false, false},
		{"copied just now with its old time", before(time.Hour), before(time.Second), false, false},
		{"copied a while ago from a phone whose clock is ahead", before(-time.Hour), before(2 * time.Minute), true, true},
		{"just copied from such a phone", before(-time.Hour), before(time.Second), false, false},
		{"written before the clock was set back", before(-time.Hour), before(-time.Hour), false, false},
		{"a coarse time within its step", before(2 * time.Second), before(2 * time.Minute), false, false},
		{"old, and the system has no time of its own", before(2 * time.Minute), 0, true, false},
		{"new, and the system has none", before(time.Second), 0, false, false},
		{"ahead, and the system has none", before(-time.Hour), 0, false, false},
		{"nothing is known", 0, 0, false, false},
	} {
		s := Stamp{Modified: c.modified, Changed: c.changed}
		if s.Settled(at) != c.settled || s.Rested(at) != c.rested {
			t.Errorf("%s: settled %v, rested %v", c.name, s.Settled(at), s.Rested(at))
		}
	}
}

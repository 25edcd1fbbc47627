package inbox

import (
	"testing"
	"time"
)

// A file that was touched shortly before it was read may change without a trace, so its stamp is not relied on.
func TestStampSettled(t *testing.T) {
	at := time.Unix(1_000_000, 0)
	before := func(d time.Duration) int64 { return at.Add(-d).UnixNano() }
	for _, c := range []struct {
		name              string
		modified, changed int64
		want              bool
	}{
		{"old", before(time.Hour), before(time.Minute), true},
		{"just written", before(time.Second), before(time.Second), false},
		{"copied just now with its old time", before(time.Hour), before(time.Second), false},
		{"copied a while ago from a phone whose clock is ahead", before(-time.Hour), before(time.Minute), true},
		{"just copied from such a phone", before(-time.Hour), before(time.Second), false},
		{"written before the clock was set back", before(-time.Hour), before(-time.Hour), false},
		{"a coarse time within its step", before(2 * time.Second), before(time.Minute), false},
		{"old, and the system has no time of its own", before(time.Minute), 0, true},
		{"new, and the system has none", before(time.Second), 0, false},
		{"ahead, and the system has none", before(-time.Hour), 0, false},
	} {
		if got := (Stamp{Modified: c.modified, Changed: c.changed}).Settled(at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// A map of a file's memory may go on changing it for longer, so that the bytes are taken for known only after a minute, and
// only where no program can set all of its times.
func TestStampRested(t *testing.T) {
	at := time.Unix(1_000_000, 0)
	before := func(d time.Duration) int64 { return at.Add(-d).UnixNano() }
	for _, c := range []struct {
		name              string
		modified, changed int64
		want              bool
	}{
		{"old", before(time.Hour), before(2 * time.Minute), true},
		{"written a while ago", before(30 * time.Second), before(30 * time.Second), false},
		{"old, and the system has no time of its own", before(time.Hour), 0, false},
		{"nothing is known", 0, 0, false},
	} {
		if got := (Stamp{Modified: c.modified, Changed: c.changed}).Rested(at); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
	if (Stamp{}).Settled(at) {
		t.Error("a file of which nothing is known counts as settled")
	}
}

package shop

import (
	"errors"
	"os"
	"testing"
	"time"
)

func TestReadStatus(t *testing.T) {
	root := t.TempDir()
	if _, err := ReadStatus(root); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no status: %v", err)
	}
	for text, good := range map[string]bool{
		`{"state": "idle", "written": "2026-05-01T10:00:00Z", "standing": 3, "refused": ["wren/left"]}`: true,
		"":                      false,
		"[]":                    false,
		"{\"st":                 false,
		`{"standing": "three"}`: false,
	} {
		write(t, root, map[string]string{"outbox/" + StatusName: text})
		st, err := ReadStatus(root)
		if (err == nil) != good || good && (st.Standing != 3 || len(st.Refused) != 1) {
			t.Errorf("%q: %+v, %v", text, st, err)
		}
	}
	written := time.Date(2026, 5, 1, 10, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		state   string
		after   time.Duration
		serving bool
	}{{"idle", time.Minute, true}, {"trouble", time.Minute, true}, {"stopped", time.Second, false}, {"working", 3 * time.Minute, false}} {
		if got := (Status{State: c.state, Written: written}).Serving(written.Add(c.after)); got != c.serving {
			t.Errorf("%s %v later: serving %v", c.state, c.after, got)
		}
	}
}

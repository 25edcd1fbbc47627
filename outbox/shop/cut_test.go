package shop

import (
	"context"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// A scan that ends too early is not refused before its time: it may be half copied.
func TestServeCutScan(t *testing.T) {
	for name, c := range map[string]struct {
		grows time.Duration // when the rest comes; 0: never
		want  string
		jobs  int
		by    time.Duration // when it is delivered, at the latest
	}{
		"the rest comes":           {20 * time.Second, "whole", 2, 25 * time.Second},
		"the rest comes too late":  {time.Minute, "whole", 3, 65 * time.Second},
		"the rest does never come": {0, "cut", 2, 35 * time.Second},
	} {
		root := t.TempDir()
		write(t, root, map[string]string{"inbox/a/left.ply": "cut", "outbox/": ""})
		synctest.Test(t, func(t *testing.T) {
			ctx, cancel := context.WithTimeout(t.Context(), time.Hour)
			defer cancel()
			calms := make(chan inbox.Calm)
			go func() {
				calms <- inbox.Calm{}
				time.Sleep(19 * time.Second)
				if got := report(t, root, "a/left"); got != "none" {
					t.Errorf("%s: before its time %q is delivered", name, got)
				}
				if status := tree(t, filepath.Join(root, "outbox"))[StatusName]; !strings.Contains(status, `"state": "waiting"`) {
					t.Errorf("%s: the status is %s", name, status)
				}
				if c.grows > 0 {
					time.Sleep(c.grows - 19*time.Second)
					write(t, root, map[string]string{"inbox/a/left.ply": "whole"})
					calms <- inbox.Calm{}
				}
			}()
			time.AfterFunc(c.by, func() {
				if got := report(t, root, "a/left"); got != c.want {
					t.Errorf("%s: %q is delivered", name, got)
				}
			})
			b := &bench{}
			r := newRun(root, b, Options{Version: "v1", Quiet: 30 * time.Second})
			serveCalms(t, ctx, r, calms, nil)
			if len(b.jobs) != c.jobs {
				t.Errorf("%s: made %q", name, b.jobs)
			}
		})
	}
}

// A pass waits for it no longer than for any other to come to rest.
func TestOnceCutScan(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "cut", "inbox/b/left.ply": "cut", "inbox/c/left.ply": "C"})
	synctest.Test(t, func(t *testing.T) {
		begun := time.Now()
		time.AfterFunc(2*time.Second, func() { write(t, root, map[string]string{"inbox/b/left.ply": "B"}) })
		s, err := Once(t.Context(), root, &bench{}, Options{Version: "v1", Parallel: 1, Quiet: 3 * time.Second})
		if want := (Summary{Made: 3, Refused: 1}); err != nil || s != want {
			t.Errorf("%+v, %v", s, err)
		}
		if took := time.Since(begun); report(t, root, "a/left") != "cut" || report(t, root, "b/left") != "B" || took != 3*time.Second {
			t.Errorf("delivered %q and %q after %v", report(t, root, "a/left"), report(t, root, "b/left"), took)
		}
	})
}

package shop

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// The settings are changed while a service runs: a raised limit has what went over it made again, and other
// times have the inbox watched by them. A mistake is told once, and harms nothing.
func TestServeNewSettings(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "a large file", "outbox/": ""})
	verdict := func() string { return ReadRecord(filepath.Join(root, "outbox", "a", Left), "a", Left).Verdict }
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithCancel(t.Context())
		set := DefaultSettings()
		set.Limits.File = 4
		now, wrong := make(chan Settings, 1), make(chan error, 1)
		settings := func() (Settings, error) {
			select {
			case set = <-now:
			case err := <-wrong:
				wrong <- err
				return Settings{}, err
			default:
			}
			return set, nil
		}
		var watched []time.Duration
		watch := func(ctx context.Context, set Settings) (<-chan inbox.Calm, error) {
			watched = append(watched, set.Quiet)
			return inbox.Poll(ctx, root, set.Quiet, set.Rescan, slog.New(slog.DiscardHandler))
		}
		var log bytes.Buffer
		r := newRun(root, &bench{}, Options{Version: "v1", Limits: set.Limits, Log: slog.New(slog.NewTextHandler(&log, nil))})
		ended := make(chan error)
		go func() { ended <- r.serve(ctx, set, settings, watch, nil) }()
		time.Sleep(30 * time.Second)
		if verdict() != refused {
			t.Errorf("over the limit: %q", verdict())
		}
		wrong <- errors.New("shop.toml, line 1: what is this")
		time.Sleep(time.Minute)
		status := tree(t, filepath.Join(root, "outbox"))[StatusName]
		if verdict() != refused || !strings.Contains(status, `"settings": "shop.toml, line 1: what is this"`) {
			t.Errorf("with wrong settings: %q, %s", verdict(), status)
		}
		<-wrong
		raised := set
		raised.Limits.File, raised.Parallel = 12, 1
		now <- raised
		time.Sleep(2 * beat)
		if verdict() != "good" || r.Parallel != 1 || len(watched) != 1 {
			t.Errorf("with a raised limit: %q, %d at once, watched %v", verdict(), r.Parallel, watched)
		}
		raised.Quiet = time.Minute
		now <- raised
		time.Sleep(2 * beat)
		write(t, root, map[string]string{"inbox/b/left.ply": "B"})
		time.Sleep(raised.Rescan + raised.Quiet + beat)
		if len(watched) != 2 || watched[1] != time.Minute || report(t, root, "b/left") != "B" {
			t.Errorf("with another quiet: watched %v, %s is delivered", watched, report(t, root, "b/left"))
		}
		cancel()
		if err := <-ended; err != nil {
			t.Error(err)
		}
		if n, m := strings.Count(log.String(), "level=ERROR"), strings.Count(log.String(), "the settings have changed"); n != 1 || m != 2 {
			t.Errorf("the log has %d errors and %d changes:\n%s", n, m, &log)
		}
	})
}

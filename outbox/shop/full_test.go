package shop

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"testing/synctest"
	"time"

	"tipwright/scan/inbox"
)

// crowded is a disk with room for so many bytes a file.
type crowded struct {
	realDisk
	room *atomic.Int64
}

func (c crowded) WriteFile(path string, data []byte) error {
	if int64(len(data)) > c.room.Load() {
		return errors.Join(c.realDisk.WriteFile(path, nil), syscall.ENOSPC)
	}
	return c.realDisk.WriteFile(path, data[:min(len(data), 1<<10)])
}

// bulky makes deliveries that need more room than the disk may have.
type bulky struct {
	bench
	room *atomic.Int64
}

func (b *bulky) Side(ctx context.Context, job Job) error {
	if err := b.bench.Side(ctx, job); err != nil || b.room.Load() > 13<<20 {
		return err
	}
	return errors.Join(ErrFull, errors.New("writing "+job.Aircraft))
}

// A disk that is nearly full is waited out with one message and without a measurement made in vain again and
// again, and everything is made once there is room.
func TestServeFullDisk(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"inbox/a/left.ply": "A", "inbox/b/left.ply": "B", "outbox/": ""})
	synctest.Test(t, func(t *testing.T) {
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Hour)
		defer cancel()
		var room atomic.Int64
		room.Store(2 << 20)
		calms := make(chan inbox.Calm)
		go func() {
			calms <- inbox.Calm{}
			time.Sleep(time.Hour)
			room.Store(1 << 30)
		}()
		var log bytes.Buffer
		b := &bulky{room: &room}
		r := newRun(root, b, Options{Version: "v1", Parallel: 1, Log: slog.New(slog.NewTextHandler(&log, nil))})
		r.keeper = keeper{crowded{room: &room}}
		serveCalms(t, ctx, r, calms, nil)
		if got := strings.Join(b.jobs, ", "); got != "a left, a left, b left" {
			t.Errorf("made %s", got)
		}
		if n := strings.Count(log.String(), "level=ERROR"); n != 1 || !strings.Contains(log.String(), "make room on its disk") {
			t.Errorf("%d complaints:\n%s", n, &log)
		}
	})
}

package inbox

import (
	"context"
	"errors"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
)

// Watch tells on the channel each time that something in a shop's inbox has changed and come to rest, the
// first time for what lies there now. Quiet is how long a file must have been left alone; rescan is how
// often everything is looked at whatever the file system tells. Events are hints only: where none arrive,
// because the folder is on a network or the watches are used up, the rescans serve, and the log says so.
// A Calm that is not taken is kept up to date until it is. The channel is closed when ctx ends.
//
// It returns an error if the inbox cannot be read at the start.
func Watch(ctx context.Context, shop string, quiet, rescan time.Duration, log *slog.Logger) (<-chan Calm, error) {
	w := &watcher{inbox: Dir(shop), log: log}
	if err := Readable(shop); err != nil {
		return nil, err
	}
	events, err := fsnotify.NewWatcher()
	if err != nil {
		w.warn(err)
	} else {
		w.events = events
	}
	return w.watch(ctx, quiet, rescan), nil
}

// Poll is Watch without the file system's events: rescans alone serve, as on a folder of the network.
func Poll(ctx context.Context, shop string, quiet, rescan time.Duration, log *slog.Logger) (<-chan Calm, error) {
	if err := Readable(shop); err != nil {
		return nil, err
	}
	w := &watcher{inbox: Dir(shop), log: log}
	return w.watch(ctx, quiet, rescan), nil
}

func (w *watcher) watch(ctx context.Context, quiet, rescan time.Duration) <-chan Calm {
	hints := make(chan string)
	out := make(chan Calm)
	s := settler{hints: hints, look: w.look, lookAt: w.lookAt, quiet: quiet, rescan: rescan, out: out, log: w.log}
	go w.forward(ctx, hints)
	go s.run(ctx)
	return out
}

// everything is the hint that any file may have changed.
const everything = ""

// settler turns hints and looks into Calms.
type settler struct {
	hints         <-chan string                   // files, or everything
	look          func() (map[string]Look, error) // at every file; At is not filled in
	lookAt        func(file string) Look          // at one file
	quiet, rescan time.Duration
	out           chan<- Calm
	log           *slog.Logger
	blind         bool // the last look failed
}

func (s *settler) run(ctx context.Context) {
	defer close(s.out)
	t := newTracker(s.quiet)
	s.lookInto(t)
	timer := time.NewTimer(s.rescan)
	defer timer.Stop()
	for {
		moving, wait := s.wait(t)
		timer.Reset(wait)
		var out chan<- Calm // nil, so never ready, while there is nothing to tell
		calm, ready := t.calm(moving)
		if ready && !s.blind {
			out = s.out
		}
		select {
		case <-ctx.Done():
			return
		case file, open := <-s.hints:
			switch {
			case !open:
				s.hints = nil
			case file == everything:
				s.lookInto(t)
			default:
				t.touch(time.Now(), file, s.lookAt(file))
			}
		case <-timer.C:
			s.lookInto(t)
		case out <- calm:
			t.told(moving)
		}
	}
}

// wait lists the aircraft that are moving and tells how long to wait for the next look.
func (s *settler) wait(t *tracker) ([]string, time.Duration) {
	now := time.Now()
	moving, wait := t.moving(now)
	if s.blind {
		return moving, s.quiet
	}
	if next := t.looked.Add(s.rescan).Sub(now); wait < 0 || next < wait {
		wait = max(next, 0)
	}
	return moving, wait
}

// lookInto takes a look at everything. An inbox that cannot be read for the moment is left as it was: its
// files have not gone, they are out of sight.
func (s *settler) lookInto(t *tracker) {
	seen, err := s.look()
	if err != nil {
		if !s.blind {
			s.log.Warn("the inbox cannot be read; trying again", "error", err)
		}
		s.blind = true
		return
	}
	s.blind = false
	t.take(time.Now(), seen)
}

// watcher looks at a real inbox.
type watcher struct {
	inbox  string
	events *fsnotify.Watcher // nil where the file system tells nothing
	warned bool
	log    *slog.Logger
}

// warn says once that events are missing. A folder that has gone meanwhile has none to tell.
func (w *watcher) warn(err error) {
	if w.warned || errors.Is(err, fs.ErrNotExist) {
		return
	}
	w.warned = true
	w.log.Warn("changes in the inbox are not announced by the system; it is looked through from time to time instead. "+
		"On Linux, raising fs.inotify.max_user_watches and fs.inotify.max_user_instances may help", "error", err)
}

// forward passes the file system's events on as hints until ctx ends.
func (w *watcher) forward(ctx context.Context, hints chan<- string) {
	defer close(hints)
	if w.events == nil {
		return
	}
	defer w.events.Close()
	for {
		var hint string
		select {
		case <-ctx.Done():
			return
		case e, open := <-w.events.Events:
			if !open {
				return
			}
			if e.Op == fsnotify.Chmod || passedOver(filepath.Base(e.Name)) {
				continue
			}
			hint = w.name(e.Name)
		case err, open := <-w.events.Errors:
			if !open {
				return
			}
			if !errors.Is(err, fsnotify.ErrEventOverflow) {
				w.log.Warn("watching the inbox", "error", err)
			}
			hint = everything
		}
		select {
		case hints <- hint:
		case <-ctx.Done():
			return
		}
	}
}

// name returns the tracker's name of a path. A change of an aircraft's folder itself may be anything.
func (w *watcher) name(path string) string {
	rel, err := filepath.Rel(w.inbox, path)
	if err != nil || !strings.ContainsRune(rel, filepath.Separator) {
		return everything
	}
	return filepath.ToSlash(rel)
}

// look looks at every file of the inbox. A folder is watched before it is listed, so that no change falls
// between.
func (w *watcher) look() (map[string]Look, error) {
	seen := map[string]Look{}
	if err := w.folder(w.inbox, seen, "", func(e fs.DirEntry) {
		if e.IsDir() {
			dir := filepath.Join(w.inbox, e.Name())
			if err := w.folder(dir, seen, e.Name()+"/", func(fs.DirEntry) {}); err != nil {
				w.log.Debug("looking into a folder of the inbox", "error", err)
			}
		}
	}); err != nil {
		return nil, err
	}
	return seen, nil
}

// lookAt looks at one file, by the tracker's name.
func (w *watcher) lookAt(file string) Look {
	info, err := os.Stat(filepath.Join(w.inbox, filepath.FromSlash(file)))
	if err != nil || info.IsDir() {
		return Look{Gone: true}
	}
	return Look{Size: info.Size(), ModTime: info.ModTime()}
}

// folder looks at the files of one folder, under names with a prefix, and then hands each entry to then.
func (w *watcher) folder(dir string, seen map[string]Look, prefix string, then func(fs.DirEntry)) error {
	if w.events != nil {
		if err := w.events.Add(dir); err != nil {
			w.warn(err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return err
	}
	for _, e := range entries {
		if passedOver(e.Name()) {
			continue
		}
		if look := w.lookAt(prefix + e.Name()); !look.Gone {
			seen[prefix+e.Name()] = look
		}
		then(e)
	}
	return nil
}

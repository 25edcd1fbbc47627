package inbox

import (
	"maps"
	"slices"
	"strings"
	"time"
)

// Look is what one look at a file told.
type Look struct {
	At      time.Time // when it was looked at; in a look that was carried on, since when the file is as it is
	Size    int64     // bytes
	ModTime time.Time
	Gone    bool // there was no such file
}

// Next carries a look on to a newer one: At stays if the file is as it was, and moves if size or time
// have changed, or if the file has come or gone.
func (l Look) Next(newer Look) Look {
	if l.Gone == newer.Gone && l.Size == newer.Size && l.ModTime.Equal(newer.ModTime) {
		return l
	}
	return newer
}

// AtRest tells whether a file that is since l.At as it is may be read at now, and if not, how long to wait.
// It may once it has been quiet for the given time: no event, the same size and the same time stamp. The
// time stamp's own age proves nothing, since copy programs set it to that of the original.
func (l Look) AtRest(now time.Time, quiet time.Duration) (bool, time.Duration) {
	wait := l.At.Add(quiet).Sub(now)
	return wait <= 0, max(wait, 0)
}

// Calm tells that something in the inbox has changed and come to rest.
type Calm struct {
	Moving []string // aircraft that are still being written to, by name; leave them for the next time
}

// tracker follows the looks at the whole inbox. Files are named by aircraft and name, "marsh-wren/left.ply",
// and files of the inbox itself by their name alone.
type tracker struct {
	quiet   time.Duration
	looked  time.Time       // last look at everything
	files   map[string]Look // since when each is as it is
	changed map[string]bool // aircraft that changed since the last Calm
	first   bool            // no Calm was told yet
}

func newTracker(quiet time.Duration) *tracker {
	return &tracker{quiet: quiet, files: map[string]Look{}, changed: map[string]bool{}, first: true}
}

func aircraftOf(file string) string {
	name, _, inFolder := strings.Cut(file, "/")
	if !inFolder {
		return ""
	}
	return name
}

// take notes a look at everything, at now.
func (t *tracker) take(now time.Time, seen map[string]Look) {
	t.looked = now
	for file := range t.files {
		if _, still := seen[file]; !still {
			t.note(file, Look{At: now, Gone: true})
		}
	}
	for file, look := range seen {
		look.At = now
		t.note(file, look)
	}
}

func (t *tracker) note(file string, look Look) {
	old, known := t.files[file]
	if known {
		look = old.Next(look)
	}
	if !known || look != old {
		t.changed[aircraftOf(file)] = true
	}
	t.files[file] = look
}

// touch notes an event at a file and a look at it: it is not at rest, whatever its size and time say.
func (t *tracker) touch(now time.Time, file string, look Look) {
	look.At = now
	t.files[file] = look
	t.changed[aircraftOf(file)] = true
}

// moving lists the aircraft that were not at rest at the last look, and the time from now to when the
// first of them may be.
func (t *tracker) moving(now time.Time) ([]string, time.Duration) {
	names := map[string]bool{}
	wait := time.Duration(-1)
	for file, look := range t.files {
		if rest, _ := look.AtRest(t.looked, t.quiet); rest {
			continue
		}
		names[aircraftOf(file)] = true
		if _, w := look.AtRest(now, t.quiet); wait < 0 || w < wait {
			wait = w
		}
	}
	return slices.Sorted(maps.Keys(names)), wait
}

// calm returns what to tell, if there is something: an aircraft has changed and come to rest, or nothing
// was told yet and all is at rest.
func (t *tracker) calm(moving []string) (Calm, bool) {
	ready := t.first && len(moving) == 0
	for name := range t.changed {
		ready = ready || !slices.Contains(moving, name)
	}
	named := slices.DeleteFunc(slices.Clone(moving), func(n string) bool { return n == "" })
	return Calm{Moving: named}, ready
}

// told notes that a Calm was taken: what was at rest then has been seen to.
func (t *tracker) told(moving []string) {
	t.first = false
	for name := range t.changed {
		if !slices.Contains(moving, name) {
			delete(t.changed, name)
		}
	}
	for file, look := range t.files {
		if look.Gone && !slices.Contains(moving, aircraftOf(file)) {
			delete(t.files, file)
		}
	}
}

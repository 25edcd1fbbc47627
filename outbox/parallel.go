package outbox

import (
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
)

// inParallel calls do for 0 to n-1, at most so many at a time, each of which must keep to what is its own. Of
// several errors it returns that of the lowest number, so that the same failure is told alike each time. A panic
// in do becomes one of the caller's, who can deal with it, and tells in a line where it happened, since the caller's
// own trace cannot.
func inParallel(n, atATime int, do func(i int) error) error {
	errs, panics := make([]error, n), make([]any, n)
	var all sync.WaitGroup
	room := make(chan struct{}, max(1, atATime))
	for i := range n {
		room <- struct{}{}
		all.Go(func() {
			defer func() {
				if v := recover(); v != nil {
					panics[i] = fmt.Sprintf("%v, at %s", v, placeOfPanic())
				}
				<-room
			}()
			errs[i] = do(i)
		})
	}
	all.Wait()
	for i := range n {
		if panics[i] != nil {
			panic(panics[i])
		}
		if errs[i] != nil {
			return errs[i]
		}
	}
	return nil
}

// placeOfPanic returns file and line of the call that a panic came from; it is called while that unwinds.
func placeOfPanic() string {
	calls := make([]uintptr, 50)
	frames := runtime.CallersFrames(calls[:runtime.Callers(3, calls)]) // behind this one and the deferred one
	for {
		f, more := frames.Next()
		if !strings.HasPrefix(f.Function, "runtime.") {
			return fmt.Sprintf("%s:%d", filepath.Base(f.File), f.Line)
		}
		if !more {
			return "an unknown place"
		}
	}
}

// atOnce does several things at the same time and returns the error of the first that failed.
func atOnce(do ...func() error) error {
	return inParallel(len(do), len(do), func(i int) error { return do[i]() })
}

package outbox

import (
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
)

func TestInParallel(t *testing.T) {
	for _, atATime := range []int{0, 1, 3, 50} {
		var now, most, done atomic.Int32
		err := inParallel(40, atATime, func(i int) error {
			n := now.Add(1)
			for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
			}
			defer now.Add(-1)
			done.Add(1)
			if i%7 == 5 {
				return fmt.Errorf("number %d", i)
			}
			return nil
		})
		if err == nil || err.Error() != "number 5" {
			t.Errorf("%d at a time: %v, not the first error", atATime, err)
		}
		if done.Load() != 40 || int(most.Load()) > max(1, atATime) {
			t.Errorf("%d at a time: %d done, %d at once", atATime, done.Load(), most.Load())
		}
	}
	if err := inParallel(0, 2, func(int) error { return errors.New("called") }); err != nil {
		t.Error(err)
	}
}

// Who calls can deal with a panic as if there were no goroutines.
func TestPanicInParallelReachesTheCaller(t *testing.T) {
	defer func() {
		if v := fmt.Sprint(recover()); !strings.HasPrefix(v, "a fault, at parallel_test.go:") || strings.Contains(v, "\n") {
			t.Errorf("recovered %.200s", v)
		}
	}()
	_ = atOnce(func() error { return nil }, func() error { panic("a fault") })
	t.Error("no panic")
}

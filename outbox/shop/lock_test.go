package shop

import (
	"errors"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"testing/synctest"
	"time"
)

func TestLock(t *testing.T) {
	root := t.TempDir()
	first, err := Lock(root)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Lock(root); !errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), "process "+strconv.Itoa(os.Getpid())) {
		t.Errorf("a shop that is being served: %v", err)
	}
	other, err := Lock(t.TempDir())
	if err != nil {
		t.Errorf("another shop: %v", err)
	}
	if err := errors.Join(first.Close(), other.Close()); err != nil {
		t.Fatal(err)
	}
	again, err := Lock(root)
	if err != nil {
		t.Fatalf("given back, but %v", err)
	}
	again.Close()
}

// What a killed run leaves is its file with its number in it, and no lock.
func TestLockStale(t *testing.T) {
	root := t.TempDir()
	write(t, root, map[string]string{"outbox/.lock": "4194304\nand more that does not belong there\n"})
	l, err := Lock(root)
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	line, rest, _ := strings.Cut(tree(t, root)["outbox/.lock"], "\n")
	if strings.TrimSpace(line) != strconv.Itoa(os.Getpid()) || len(line)+1 != signature || rest != string(l.left()) {
		t.Errorf("signed %q", line)
	}
}

// The lock of a run that was killed a moment ago may be held still by a process that it was beginning.
func TestLockHeldByTheDead(t *testing.T) {
	dead := exec.Command(os.Args[0], "-test.run=^$")
	if err := dead.Run(); err != nil {
		t.Fatal(err)
	}
	for name, c := range map[string]struct {
		process int
		held    time.Duration
		want    error
	}{
		"a dead one's, for a moment":   {dead.Process.Pid, time.Second, nil},
		"a dead one's, for good":       {dead.Process.Pid, time.Hour, ErrInUse},
		"a live one's, for a second":   {os.Getpid(), time.Second, ErrInUse},
		"nobody knows whose it is":     {0, time.Second, ErrInUse},
		"a live one's, which has gone": {os.Getpid(), lockPause, nil},
	} {
		root := t.TempDir()
		held, err := Lock(root)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := held.f.WriteAt([]byte(strconv.Itoa(c.process)+"          "), 0); err != nil {
			t.Fatal(err)
		}
		synctest.Test(t, func(t *testing.T) {
			time.AfterFunc(c.held, func() { held.Close() })
			l, err := Lock(root)
			if !errors.Is(err, c.want) {
				t.Errorf("%s: %v, want %v", name, err, c.want)
			}
			if err == nil {
				l.Close()
			}
		})
		held.Close()
	}
}

func TestLockFails(t *testing.T) {
	for name, files := range map[string]map[string]string{
		"the outbox is a file": {"outbox": "x"},
		"the lock is a folder": {"outbox/.lock/": ""},
	} {
		root := t.TempDir()
		write(t, root, files)
		if _, err := Lock(root); err == nil || errors.Is(err, ErrInUse) || !strings.Contains(err.Error(), "the outbox cannot be") {
			t.Errorf("%s: %v", name, err)
		}
	}
}

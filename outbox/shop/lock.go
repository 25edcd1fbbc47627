package shop

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// ErrInUse is the error for a shop that another run of the program is serving.
var ErrInUse = errors.New("the shop is being served already")

// errHeld is what the system's lock returns when another holds it.
var errHeld = errors.New("held by another")

// ShopLock keeps every other run of the program out of a shop's outbox until it is closed.
type ShopLock struct{ f *os.File }

// Lock takes a shop for this run, making the outbox if need be. The error is ErrInUse if another run has it.
// The system lets go of the lock when a run ends, however it ends, so that the file outbox/.lock, which stays,
// never has to be removed by hand.
func Lock(root string) (*ShopLock, error) {
	if err := os.MkdirAll(Dir(root), 0o755); err != nil {
		return nil, fmt.Errorf("the outbox cannot be made: %w", err)
	}
	path := filepath.Join(Dir(root), ".lock")
	f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE, 0o644)
	if err != nil {
		return nil, fmt.Errorf("the outbox cannot be written to: %w", err)
	}
	if err := lockPatiently(f); err != nil {
		defer f.Close()
		if errors.Is(err, errHeld) {
			return nil, fmt.Errorf("%w by another run of the program%s: stop that one first, or let it do the work", ErrInUse, holding(f))
		}
		return nil, fmt.Errorf("the shop cannot be locked, which a folder on a network may not allow; keep the outbox on a disk of this machine: %w", err)
	}
	if err := sign(f); err != nil && !isFull(err) {
		f.Close()
		return nil, fmt.Errorf("the outbox cannot be written to: %w", err)
	}
	return &ShopLock{f}, nil
}

// signature is the length of the lock file's first line, bytes. What follows is left by one holder for the next.
const signature = 32

// sign writes this process's number into the lock file, for the message that another run gives.
func sign(f *os.File) error {
	_, err := fmt.Fprintf(io.NewOffsetWriter(f, 0), "%-*d\n", signature-1, os.Getpid())
	return err
}

// left returns what the last holder left. It may be damaged.
func (l *ShopLock) left() []byte {
	data, _ := io.ReadAll(io.NewSectionReader(l.f, signature, mostLeft))
	return data
}

// mostLeft bounds what one holder leaves for the next, bytes.
const mostLeft = 256 << 20

// leave leaves something for the next holder.
func (l *ShopLock) leave(data []byte) error {
	_, err := l.f.WriteAt(data, signature)
	return errors.Join(err, l.f.Truncate(signature+int64(len(data))))
}

// The time for which a held lock is tried: one that was killed a moment ago holds it until the last process that
// it was beginning is gone too, which may take a while on a busy machine.
const (
	lockPause = 50 * time.Millisecond
	liveTries = 4
	deadTries = 100
)

// lockPatiently takes the lock, for which it waits a little, and longer if its holder is no more.
func lockPatiently(f *os.File) error {
	for try := 1; ; try++ {
		err := lockFile(f)
		if !errors.Is(err, errHeld) || try >= deadTries || try >= liveTries && !gone(holder(f)) {
			return err
		}
		time.Sleep(lockPause)
	}
}

// gone tells that there is no process of a number.
func gone(process int) bool {
	if process <= 0 {
		return false
	}
	p, err := os.FindProcess(process)
	if err != nil {
		return true
	}
	defer p.Release()
	return errors.Is(p.Signal(syscall.Signal(0)), os.ErrProcessDone)
}

// holder returns the number of the process that signed the lock file, or 0.
func holder(f *os.File) int {
	data, err := io.ReadAll(io.NewSectionReader(f, 0, signature))
	if err != nil {
		return 0
	}
	line, _, _ := strings.Cut(string(data), "\n")
	n, _ := strconv.Atoi(strings.TrimSpace(line))
	return n
}

// holding returns ", process 1234" from the lock file, or nothing.
func holding(f *os.File) string {
	if n := holder(f); n > 0 {
		return fmt.Sprintf(", process %d", n)
	}
	return ""
}

// Close gives the shop back.
func (l *ShopLock) Close() error { return l.f.Close() }

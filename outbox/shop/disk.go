package shop

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// disk is every way in which the shop changes the file system, so that a test can break each change in turn.
type disk interface {
	MkdirAll(dir string) error
	WriteFile(path string, data []byte) error // not yet on the disk
	SyncFile(path string) error
	SyncDir(dir string) error
	Rename(from, to string) error
	Exchange(a, b string) error // at one stroke; errors.ErrUnsupported where the file system cannot
	RemoveAll(path string) error
}

// realDisk is the file system of the machine.
type realDisk struct{}

func (realDisk) MkdirAll(dir string) error                { return os.MkdirAll(dir, 0o755) }
func (realDisk) WriteFile(path string, data []byte) error { return os.WriteFile(path, data, 0o644) }
func (realDisk) SyncFile(path string) error               { return syncFile(path) }
func (realDisk) SyncDir(dir string) error                 { return syncDir(dir) }
func (realDisk) Rename(from, to string) error             { return os.Rename(from, to) }
func (realDisk) Exchange(a, b string) error               { return exchange(a, b) }
func (realDisk) RemoveAll(path string) error              { return os.RemoveAll(path) }

// keeper keeps an outbox: what it puts there appears whole or not at all.
type keeper struct{ disk }

// replaceFile writes a file whole or not at all, and not at all if it holds these contents already.
func (k keeper) replaceFile(path string, data []byte) error {
	if old, err := os.ReadFile(path); err == nil && string(old) == string(data) {
		return nil
	}
	tmp := filepath.Join(filepath.Dir(path), making+filepath.Base(path))
	err := k.WriteFile(tmp, data)
	if err == nil {
		err = k.SyncFile(tmp)
	}
	if err == nil {
		err = k.Rename(tmp, path)
	}
	if err != nil {
		return errors.Join(err, k.RemoveAll(tmp))
	}
	return k.SyncDir(filepath.Dir(path))
}

// probe tells whether so many bytes can be written to the outbox: it is not full, not read-only and not away.
func (k keeper) probe(outbox string, bytes int) error {
	path := filepath.Join(outbox, making+"probe")
	err := k.WriteFile(path, make([]byte, bytes))
	if err == nil {
		err = k.SyncFile(path)
	}
	return errors.Join(err, k.RemoveAll(path))
}

// What is written to see whether the outbox can be written to. Once it was full, somewhat more than a delivery of
// one side takes: measured, 13 MB.
const (
	probeBytes = 4 << 10
	roomBytes  = 16 << 20
)

// ErrFull is the error for a disk that takes nothing more, or nothing at all.
var ErrFull = errors.New("the disk is full or read-only")

// IsFull tells that error, also where it is the system's.
func IsFull(err error) bool { return errors.Is(err, ErrFull) || isFull(err) }

// notLink returns an error for a link, through which nothing is delivered: it may lead out of the shop.
func notLink(dir string) error {
	info, err := os.Lstat(dir)
	if err == nil && info.Mode()&fs.ModeSymlink != 0 {
		return fmt.Errorf("%s is a link, and nothing is delivered through links: take it away, or put a folder in its place", dir)
	}
	return nil // what else is wrong shows when it is written to
}

// standing tells whether something stands at a path.
func standing(path string) (bool, error) {
	_, err := os.Lstat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

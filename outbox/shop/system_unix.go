//go:build !windows

package shop

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// lockFile takes the advisory lock of an open file; it goes with the file's last descriptor.
func lockFile(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// syncFile has a file's contents written to the disk.
func syncFile(path string) error { return syncPath(path) }

// syncDir has the names in a folder written to the disk.
func syncDir(path string) error { return syncPath(path) }

func syncPath(path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// isFull tells the error of a disk that takes nothing more, or nothing at all.
func isFull(err error) bool {
	return errors.Is(err, unix.ENOSPC) || errors.Is(err, unix.EDQUOT) || errors.Is(err, unix.EROFS)
}

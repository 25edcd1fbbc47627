package shop

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockFile locks a byte that lies far behind the file's contents, so that others can read who holds it.
// The system lets go of it with the handle.
func lockFile(f *os.File) error {
	err := windows.LockFileEx(windows.Handle(f.Fd()), windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY,
		0, 1, 0, &windows.Overlapped{OffsetHigh: 1})
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) {
		return errHeld
	}
	return err
}

// syncFile has a file's contents written to the disk, for which this system wants a handle to write.
func syncFile(path string) error {
	f, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	return errors.Join(f.Sync(), f.Close())
}

// syncDir does nothing: this system writes the names in a folder by itself and gives no handle to ask.
func syncDir(string) error { return nil }

// isFull tells the error of a disk that takes nothing more, or nothing at all.
func isFull(err error) bool {
	return errors.Is(err, windows.ERROR_DISK_FULL) || errors.Is(err, windows.ERROR_HANDLE_DISK_FULL) || errors.Is(err, windows.ERROR_WRITE_PROTECT)
}

package inbox

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"tipwright/scan"
)

// ErrUnsettled is the error for a file that was written to or replaced while it was read: what was read is
// worth nothing, and the file is to be read again once it has come to rest.
var ErrUnsettled = errors.New("still being written")

// Stable reads a file to its end and returns its base name, SHA-256 and size. Size and time are compared
// before and after; the error is ErrUnsettled if they differ, and that of ctx if it ends before the file does. The
// stamp is that of the file which was read; it is zero if anything else about the file changed meanwhile.
func Stable(ctx context.Context, path string) (scan.Source, Stamp, error) {
	return stable(path, func(w io.Writer, f io.Reader) (int64, error) { return io.Copy(w, stoppable{ctx, f}) })
}

// stoppable reads until a context ends.
type stoppable struct {
	ctx context.Context
	io.Reader
}

func (s stoppable) Read(p []byte) (int, error) {
	if err := s.ctx.Err(); err != nil {
		return 0, err
	}
	return s.Reader.Read(p)
}

// stable is Stable with the way of reading open, so that tests can disturb it.
func stable(path string, read func(io.Writer, io.Reader) (int64, error)) (source scan.Source, seen Stamp, err error) {
	// A pipe would be waited for without end, so look before opening.
	if info, err := os.Stat(path); err != nil {
		return source, seen, err
	} else if !info.Mode().IsRegular() {
		return source, seen, fmt.Errorf("%s is not a file", path)
	}
	f, err := os.Open(path)
	if err != nil {
		return source, seen, err
	}
	defer f.Close()
	before, err := f.Stat()
	if err != nil {
		return source, seen, err
	}
	seen, _ = StampOfOpen(f) // zero where there is none
	sum := sha256.New()
	n, err := read(sum, io.LimitReader(f, before.Size()+1)) // a file may grow as fast as it is read
	if err != nil {
		return source, seen, err
	}
	after, err := os.Stat(path)
	if err != nil || !os.SameFile(before, after) || n != after.Size() ||
		before.Size() != after.Size() || !before.ModTime().Equal(after.ModTime()) {
		return source, seen, fmt.Errorf("%s: %w", path, ErrUnsettled)
	}
	if now, err := StampOfOpen(f); err != nil || now != seen {
		seen = Stamp{}
	}
	return scan.Source{File: filepath.Base(path), SHA256: hex.EncodeToString(sum.Sum(nil)), Bytes: n}, seen, nil
}

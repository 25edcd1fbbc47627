package inbox

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"time"

	"tipwright/scan"
)

func TestStable(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	got, seen, err := Stable(t.Context(), path)
	// SHA-256 of "abc" as printed in FIPS 180-2, appendix B.1.
	want := scan.Source{File: "left.ply", SHA256: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", Bytes: 3}
	if err != nil || got != want {
		t.Errorf("%+v, %v, want %+v", got, err, want)
	}
	if at, err := StampOf(path); err != nil || seen != at || seen.Size != 3 {
		t.Errorf("it was seen as %+v and is %+v, %v", seen, at, err)
	}
	if _, _, err := Stable(t.Context(), filepath.Dir(path)); err == nil {
		t.Error("a folder was read")
	}
	if _, _, err := Stable(t.Context(), path+".none"); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file: %v", err)
	}
}

// A large file is not read to its end for one who has gone.
func TestStableStops(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := Stable(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("read on: %v", err)
	}
}

// A file that grows as fast as it is read is not read for ever.
func TestStableGrowing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := os.OpenFile(path, os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	_, _, err = stable(path, func(w io.Writer, from io.Reader) (int64, error) {
		return io.Copy(w, readerFunc(func(p []byte) (int, error) {
			if _, err := f.WriteString("more"); err != nil {
				t.Fatal(err)
			}
			return from.Read(p)
		}))
	})
	if !errors.Is(err, ErrUnsettled) {
		t.Error(err)
	}
}

type readerFunc func([]byte) (int, error)

func (f readerFunc) Read(p []byte) (int, error) { return f(p) }

func TestStableNotices(t *testing.T) {
	later := time.Date(2030, 1, 2, 3, 4, 5, 0, time.UTC)
	for name, disturb := range map[string]func(path string) error{
		"longer":    func(p string) error { return os.WriteFile(p, []byte("abcd"), 0o644) },
		"shorter":   func(p string) error { return os.Truncate(p, 1) },
		"same size": func(p string) error { return os.Chtimes(p, later, later) },
		"replaced": func(p string) error {
			old, err := os.Stat(p)
			return errors.Join(err, os.WriteFile(p+".new", []byte("abx"), 0o644), os.Chtimes(p+".new", old.ModTime(), old.ModTime()), os.Rename(p+".new", p))
		},
		"taken away": os.Remove,
	} {
		path := filepath.Join(t.TempDir(), "left.ply")
		if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
			t.Fatal(err)
		}
		_, _, err := stable(path, func(w io.Writer, f io.Reader) (int64, error) {
			n, err := io.Copy(w, f)
			return n, errors.Join(err, disturb(path))
		})
		if !errors.Is(err, ErrUnsettled) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A file that was touched while it was read, and holds what it held, is stable; nothing is to be told from its times.
func TestStableTouched(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.ply")
	if err := os.WriteFile(path, []byte("abc"), 0o644); err != nil {
		t.Fatal(err)
	}
	got, seen, err := stable(path, func(w io.Writer, f io.Reader) (int64, error) {
		n, err := io.Copy(w, f)
		return n, errors.Join(err, os.Link(path, path+".backup"))
	})
	if err != nil || got.Bytes != 3 {
		t.Errorf("%+v, %v", got, err)
	}
	if at, err := StampOf(path); err != nil || at.Changed != 0 && seen != (Stamp{}) {
		t.Errorf("it was seen as %+v, %v", seen, err)
	}
}

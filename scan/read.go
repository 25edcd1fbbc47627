package scan

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Read reads the scan in a file. What cannot be read, and why, comes back as a *[FormatError]; an error of
// the file system lies beneath it, so that errors.Is finds fs.ErrNotExist and its like.
func Read(path string, lim Limits) (*Scan, error) {
	name := filepath.Base(path)
	data, err := contents(path, lim.filled().MaxBytes)
	if err != nil {
		var f *FormatError
		if errors.As(err, &f) {
			f.File = name
			return nil, f
		}
		return nil, &FormatError{File: name, Msg: "it cannot be read", Err: err, Mend: mendFor(err)}
	}
	return Decode(data, name, lim)
}

// contents reads a whole file that must not be larger than limit, and notices when it grows or shrinks
// meanwhile.
func contents(path string, limit int64) ([]byte, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &FormatError{Msg: "it is not a file but a folder or a device", Mend: "Name the scan's file"}
	}
	if info.Size() > limit {
		return nil, tooLarge(info.Size(), limit)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	data := make([]byte, info.Size())
	n, err := io.ReadFull(f, data)
	switch {
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return nil, &FormatError{Msg: fmt.Sprintf("it was cut to %d bytes while it was read", n), Mend: stillCopying}
	case err != nil:
		return nil, err
	}
	if n, _ := f.Read(make([]byte, 1)); n > 0 {
		return nil, &FormatError{Msg: "it grew while it was read", Mend: stillCopying}
	}
	return data, nil
}

func tooLarge(size, limit int64) *FormatError {
	return &FormatError{Msg: fmt.Sprintf("it has %d bytes, and no more than %d are read", size, limit),
		Mend: "Export a coarser scan, or cut it down to the outboard wing"}
}

func mendFor(err error) string {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "Look whether the name is right"
	case errors.Is(err, fs.ErrPermission):
		return "Give yourself the right to read it"
	}
	return "Copy it again"
}

// Decode reads the scan from a file's contents. The contents decide on the format, and only where they are
// not clear does the ending of the name. All errors are *[FormatError].
func Decode(data []byte, name string, lim Limits) (*Scan, error) {
	in := &input{name: filepath.Base(name), data: data, lim: lim.filled()}
	if int64(len(data)) > in.lim.MaxBytes {
		err := tooLarge(int64(len(data)), in.lim.MaxBytes)
		err.File = in.name
		return nil, err
	}
	if err := in.refuseHollow(); err != nil {
		return nil, err
	}
	if err := in.refuseForeign(); err != nil {
		return nil, err
	}
	f, err := in.format()
	if err != nil {
		return nil, err
	}
	s, err := f.read(in)
	if err != nil {
		return nil, err
	}
	sum := sha256.Sum256(data)
	s.Source = Source{File: in.name, SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data))}
	return s, nil
}

// format is one kind of file that can be read.
type format struct {
	endings []string             // of the name, lower case
	fits    func(in *input) bool // by the contents
	read    func(*input) (*Scan, error)
}

// formats lists the kinds in the order in which the contents are asked. The binary STL goes before its ASCII
// brother, since its header may well begin with "solid".
func formats() []format {
	return []format{
		{[]string{".ply"}, looksPLY, readPLY},
		{[]string{".stl"}, looksBinarySTL, readSTL},
		{nil, looksTextSTL, readTextSTL},
		{[]string{".obj"}, looksOBJ, readOBJ},
		{[]string{".xyz", ".txt", ".csv", ".asc", ".pts", ".tsv"}, looksXYZ, readXYZ},
	}
}

// format finds the reader for the input.
func (in *input) format() (*format, error) {
	all := formats()
	if i := slices.IndexFunc(all, func(f format) bool { return f.fits(in) }); i >= 0 {
		return &all[i], nil
	}
	ending := strings.ToLower(filepath.Ext(in.name))
	if i := slices.IndexFunc(all, func(f format) bool { return slices.Contains(f.endings, ending) }); i >= 0 {
		return &all[i], nil
	}
	return nil, in.refuse(exportInstead, "neither its contents nor its name tell a format that can be read")
}

// refuseHollow refuses files with nothing in them: copying programs often lay a file down first and fill it later.
func (in *input) refuseHollow() error {
	if len(in.data) == 0 {
		return in.refuse(stillCopying, "the file is empty")
	}
	begin := in.data[:min(len(in.data), 4096)]
	if !slices.ContainsFunc(begin, func(c byte) bool { return c != 0 }) {
		return in.refuse(stillCopying, "the file begins with %d empty bytes", len(begin))
	}
	return nil
}

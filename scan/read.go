package scan

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// Read reads the scan in a file. The contents decide on its format, and only where they are not clear does the
// ending of the name. All errors are *[FormatError]; one of the file system lies beneath where it is the cause,
// so that errors.Is finds fs.ErrNotExist and its like.
//
// Binary files pass through in blocks: beside the scan itself, no more than two megabytes are needed for each processor
// and two more, and while the corners of an STL are joined 24 to 48 bytes for each point that it is expected to have.
func Read(path string, lim Limits) (*Scan, error) {
	return ReadKnown(path, Source{}, func(*os.File) bool { return false }, lim)
}

// ReadKnown is [Read] for a file whose source is known, and becomes the scan's, if still tells of the open file, before
// its first byte is read and after the last, that it is still the one whose source that is. Then it is not summed up
// again, which would take as long as all else that is done with a binary file.
func ReadKnown(path string, known Source, still func(f *os.File) bool, lim Limits) (*Scan, error) {
	name := filepath.Base(path)
	f, err := open(path)
	if err != nil {
		var format *FormatError
		if errors.As(err, &format) {
			return nil, format
		}
		return nil, &FormatError{File: name, Msg: "it cannot be read", Err: err, Mend: mendFor(err)}
	}
	defer f.Close()
	if still(f) {
		if s, err := readOpen(f, name, &known, lim); still(f) {
			return s, err
		}
	}
	return readOpen(f, name, nil, lim)
}

// readOpen reads an open file from its beginning.
func readOpen(f *os.File, name string, known *Source, lim Limits) (*Scan, error) {
	info, err := f.Stat()
	if err == nil {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		return nil, &FormatError{File: name, Msg: "it cannot be read", Err: err, Mend: mendFor(err)}
	}
	if err := checkSize(name, info.Size(), lim); err != nil {
		return nil, err
	}
	in := newInput(f, name, info.Size(), known, lim.filled())
	if err := in.begin(headBytes); err != nil {
		return nil, err
	}
	return decode(in)
}

// Decode reads the scan from a file's whole contents, as [Read] does. A glTF that keeps its points in another
// file is refused by both unless the two come in one archive: the sum in the scan's source covers one file.
func Decode(data []byte, name string, lim Limits) (*Scan, error) {
	name = filepath.Base(name)
	if err := checkSize(name, int64(len(data)), lim); err != nil {
		return nil, err
	}
	return decode(inputOf(data, name, nil, lim.filled()))
}

func decode(in *input) (*Scan, error) {
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
	if s.Source, err = in.source(); err != nil {
		return nil, err
	}
	if err := in.checkTail(s); err != nil {
		return nil, err
	}
	return s, nil
}

// open opens a file.
func open(path string) (*os.File, error) {
	info, err := os.Stat(path) // before it is opened: opening a pipe would wait for a writer
	if err != nil {
		return nil, err
	}
	if !info.Mode().IsRegular() {
		return nil, &FormatError{File: filepath.Base(path), Msg: "it is not a file but a folder or a device", Mend: "Name the scan's file"}
	}
	return os.Open(path)
}

func checkSize(name string, size int64, lim Limits) error {
	if most := lim.filled().MaxBytes; size > most {
		return &FormatError{File: name, Msg: fmt.Sprintf("it has %d bytes, and no more than %d are read", size, most), Mend: exportCoarser, Over: OverBytes}
	}
	return nil
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
		{[]string{".pcd"}, looksPCD, readPCD},
		{[]string{".off"}, looksOFF, readOFF},
		{[]string{".las"}, looksLAS, readLAS},
		{[]string{".glb", ".gltf"}, looksGLTF, readGLTF},
		{[]string{".zip", ".3mf"}, looksZIP, readZIP},
		{nil, looksGZ, readGZ},
		{[]string{".stl"}, looksBinarySTL, readSTL},
		{nil, looksTextSTL, readTextSTL},
		{nil, looksLongSTL, readSTL},
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
	if i := slices.IndexFunc(all, func(f format) bool { return slices.Contains(f.endings, in.ending()) }); i >= 0 {
		return &all[i], nil
	}
	return nil, in.refuse(exportInstead, "neither its contents nor its name tell a format that can be read")
}

// ending returns what the name ends in, lower case, with its dot.
func (in *input) ending() string { return strings.ToLower(filepath.Ext(in.name)) }

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

// checkTail looks at what a file ended with: a copy that stopped within a file laid down in full leaves zeros.
// No mesh ends so. A cloud may, where the scanner writes zeros for directions without an echo.
func (in *input) checkTail(s *Scan) error {
	const suspicious = 4096
	zeros := in.tally.zeros
	if zeros < suspicious {
		return nil
	}
	if len(s.Triangles) > 0 {
		return in.at(in.size-zeros, stillCopying, "the last %d bytes of the file are all empty", zeros)
	}
	s.Messages = append(s.Messages, Cautionf("empty-tail", "The last %d bytes of the file are all empty. "+
		"If its copy was not complete, a part of the wing is missing: compare it with the original.", zeros))
	return nil
}

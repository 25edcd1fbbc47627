package scan

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
)

// headBytes is how much of a file is read before its format is known. A PLY header must end within.
const headBytes = 1 << 20

// input is one file on the way to a scan. Formats that are read in one go ask for the whole; the binary ones
// take what comes after the beginning block by block, so that a large file is never in memory as a whole.
type input struct {
	name  string    // base name, for messages
	size  int64     // bytes of the file
	data  []byte    // its beginning, or all of it
	rest  io.Reader // what comes after data, tallied on the way
	bare  io.Reader // the same, not tallied
	tally tally
	known *Source // what is told of it if it is not summed up
	lim   Limits

	nested bool // it lies within an archive

	// beside opens another file of the same archive by its relative path with slashes, and tells its size. It is
	// nil where there is no archive.
	beside func(name string) (io.ReadCloser, int64, error)
}

// newInput takes a file of the given size. It is summed up unless its source is known.
func newInput(r io.Reader, name string, size int64, known *Source, lim Limits) *input {
	in := &input{name: name, size: size, bare: r, lim: lim, known: known}
	if known == nil {
		in.tally.sum = sha256.New()
	}
	in.rest = io.TeeReader(r, &in.tally)
	return in
}

// begin reads its first head bytes.
func (in *input) begin(head int64) error {
	in.data = make([]byte, min(in.size, head))
	n, err := io.ReadFull(in.rest, in.data)
	if err != nil {
		return in.broken(int64(n), err)
	}
	return nil
}

// inputOf takes a file that is in memory.
func inputOf(data []byte, name string, known *Source, lim Limits) *input {
	in := newInput(bytes.NewReader(nil), name, int64(len(data)), known, lim)
	in.data = data
	in.tally.Write(data)
	return in
}

// load brings in all that has not been read yet.
func (in *input) load() error {
	have := len(in.data)
	if int64(have) == in.size {
		return nil
	}
	data := roomFor[byte](int(in.size))
	copy(data, in.data)
	n, err := io.ReadFull(in.rest, data[have:])
	if err != nil {
		return in.broken(int64(have+n), err)
	}
	in.data = data
	return nil
}

// source passes over what no reader asked for and tells what file it was.
func (in *input) source() (Source, error) {
	if _, err := io.Copy(io.Discard, in.rest); err != nil {
		return Source{}, in.broken(in.tally.bytes, err)
	}
	switch {
	case in.tally.bytes < in.size:
		return Source{}, in.broken(in.tally.bytes, io.ErrUnexpectedEOF)
	case in.tally.bytes > in.size:
		return Source{}, in.refuse(stillCopying, "it grew while it was read")
	}
	if in.known != nil {
		return *in.known, nil
	}
	return Source{File: in.name, SHA256: hex.EncodeToString(in.tally.sum.Sum(nil)), Bytes: in.size}, nil
}

// broken makes the error for a file that could not be read to its end.
func (in *input) broken(n int64, err error) *FormatError {
	if err == io.EOF || err == io.ErrUnexpectedEOF {
		return in.refuse(stillCopying, "it was cut from %d to %d bytes while it was read", in.size, n)
	}
	if f := (*FormatError)(nil); errors.As(err, &f) {
		return f // a member of an archive has said it already
	}
	f := in.at(n, mendFor(err), "it cannot be read on")
	f.Err = err
	return f
}

// tally counts the bytes of a file as they pass, and sums them up.
type tally struct {
	sum   hash.Hash // nil if nobody asks for it
	bytes int64
	zeros int64 // how many the last bytes are zero
}

// Write is part of [io.Writer] and never fails.
func (t *tally) Write(p []byte) (int, error) {
	if t.sum != nil {
		t.sum.Write(p)
	}
	t.bytes += int64(len(p))
	last := len(p)
	for last > 0 && p[last-1] == 0 {
		last--
	}
	if last > 0 {
		t.zeros = 0
	}
	t.zeros += int64(len(p) - last)
	return len(p), nil
}

// stillCopying is what to do about a file that ends too early.
const stillCopying = "The file seems to be still copying or was cut off: copy it again and wait until the copy is complete"

// exportAgain is what to do about a file that is damaged or that its program wrote wrongly.
const exportAgain = "Export the scan again, best as binary PLY or STL"

// exportCoarser is what to do about a file that is too large.
const exportCoarser = "Export a coarser scan, or cut it down to the outboard wing"

// at makes the error for a byte offset.
func (in *input) at(offset int64, mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Offset: offset, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// onLine makes the error for a line of a text file, counted from 1.
func (in *input) onLine(line int, mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Line: line, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// refuse makes the error for a file as a whole.
func (in *input) refuse(mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// checkCounts refuses more points or triangles than the limits allow.
func (in *input) checkCounts(points, triangles int64) error {
	if points > int64(in.lim.MaxPoints) {
		return in.over(OverPoints, "it has %d points, and no more than %d are read", points, in.lim.MaxPoints)
	}
	if triangles > in.lim.maxTriangles() {
		return in.over(OverPoints, "it has %d triangles, and no more than %d are read", triangles, in.lim.maxTriangles())
	}
	return nil
}

package scan

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"io"
)

// looksGZ tells a single file packed with gzip (RFC 1952).
func looksGZ(in *input) bool { return bytes.HasPrefix(in.data, []byte("\x1f\x8b")) }

// readGZ reads the one scan in a file packed with gzip, as flow solvers keep their surfaces: left.stl.gz.
func readGZ(in *input) (*Scan, error) {
	if in.nested {
		return nil, in.refuse(unpackFirst, "it is packed twice")
	}
	if err := in.load(); err != nil {
		return nil, err
	}
	data, err := in.inflate()
	if err != nil {
		return nil, err
	}
	if isTar(data) {
		return nil, in.refuse(unpackIt, "it is a packed archive, which is not read here")
	}
	name := in.name
	if in.ending() == ".gz" {
		name = name[:len(name)-len(".gz")]
	}
	inner := inputOf(data, name, &Source{Bytes: int64(len(data))}, in.lim) // the file around it is what is summed up
	inner.nested = true
	s, err := decode(inner)
	if err != nil {
		return nil, (&archive{in: in}).within(inner.name, err)
	}
	return s, nil
}

// inflate unpacks the file, no further than the limits allow and no scan shrinks.
func (in *input) inflate() ([]byte, error) {
	most := min(in.lim.MaxBytes, mostPacked*in.size+1<<20)
	z, err := gzip.NewReader(bytes.NewReader(in.data))
	var unpacked bytes.Buffer
	if err == nil {
		// What the file says of its size is a hint, and held to a bound before any memory is taken.
		const most32 = 64 << 20
		unpacked.Grow(int(min(int64(binary.LittleEndian.Uint32(in.data[len(in.data)-4:])), most, most32)))
		_, err = io.Copy(&unpacked, io.LimitReader(z, most+1))
	}
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF):
		return nil, in.refuse(stillCopying, "what is packed in it ends too early")
	case err != nil:
		f := in.refuse("Pack it again, or use the scan's own file", "what is packed in it is damaged")
		f.Err = err
		return nil, f
	case int64(unpacked.Len()) > in.lim.MaxBytes:
		return nil, in.over(OverBytes, "it unpacks to more than the %d bytes that are read", in.lim.MaxBytes)
	case int64(unpacked.Len()) > most:
		return nil, in.refuse(unpackFirst, "it unpacks from %d to more than %d bytes, which no scan does", in.size, most)
	}
	return unpacked.Bytes(), nil
}

// isTar tells an archive of several files by the mark in its first header (POSIX.1-1988, ustar).
func isTar(data []byte) bool {
	const at = 257
	return len(data) > at && bytes.HasPrefix(data[at:], []byte("ustar"))
}

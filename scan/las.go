package scan

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
)

// The places in the public header block of a LAS file, and the least sizes (ASPRS, LAS Specification 1.4 R15,
// 2019, tables 3 and 4; the earlier versions agree as far as they go).
const (
	lasVersion      = 24
	lasPointsAt     = 96
	lasFormat       = 104
	lasRecordLength = 105
	lasLegacyCount  = 107
	lasScales       = 131
	lasOffsets      = 155
	lasCount        = 247 // since version 1.4
	lasHeader       = 227
	lasHeader14     = 375
	lasHighest      = 10 // number of the last point format
	lasFlags        = 15 // in a point, the byte that says whether it is withheld
)

// lasLeast gives how many bytes a point of each format has at least.
func lasLeast(format byte) int {
	return [...]int{20, 28, 26, 34, 57, 63, 30, 36, 38, 59, 67}[format]
}

func looksLAS(in *input) bool { return bytes.HasPrefix(in.data, []byte("LASF")) }

// lasHead is what of the header is needed.
type lasHead struct {
	minor    byte // of the version, 1.minor
	format   byte
	length   int // of a point, bytes
	start    int64
	points   int64
	scale    [3]float64
	offset   [3]float64
	withheld byte // the flag of a point that counts as deleted
}

func readLASHead(in *input) (*lasHead, error) {
	if in.size < lasHeader {
		return nil, in.at(in.size, stillCopying, "the file ends within the LAS header")
	}
	d := in.data
	h := &lasHead{
		minor: d[lasVersion+1], format: d[lasFormat], length: int(binary.LittleEndian.Uint16(d[lasRecordLength:])),
		start: int64(binary.LittleEndian.Uint32(d[lasPointsAt:])), points: int64(binary.LittleEndian.Uint32(d[lasLegacyCount:])),
	}
	if d[lasVersion] != 1 || h.minor > 4 {
		return nil, in.at(lasVersion, exportInstead, "it is LAS version %d.%d, and only 1.0 to 1.4 are known", d[lasVersion], h.minor)
	}
	if h.format >= 64 { // the packing program sets the high bits
		return nil, in.refuse(exportUnpacked, "its points are packed, as in a LAZ file, which is not read here")
	}
	if h.format > lasHighest || h.length < lasLeast(h.format) {
		return nil, in.at(lasFormat, exportAgain, "its points are of format %d with %d bytes, which LAS does not know", h.format, h.length)
	}
	h.withheld = 1 << 7
	if h.format >= 6 {
		h.withheld = 1 << 2
	}
	if h.minor == 0 {
		h.withheld = 0
	}
	if h.minor < 4 {
		return h, h.place(in)
	}
	if in.size < lasHeader14 {
		return nil, in.at(in.size, stillCopying, "the file ends within the LAS header")
	}
	if n := binary.LittleEndian.Uint64(d[lasCount:]); n != 0 {
		h.points = int64(min(n, math.MaxInt64))
	}
	return h, h.place(in)
}

// exportUnpacked is what to do about a packed LAZ file.
const exportUnpacked = "Export the scan as LAS without packing, or as PLY"

// place reads the step and origin of the coordinates, and holds the promised points to the file.
func (h *lasHead) place(in *input) error {
	for axis := range 3 {
		h.scale[axis] = math.Float64frombits(binary.LittleEndian.Uint64(in.data[lasScales+8*axis:]))
		h.offset[axis] = math.Float64frombits(binary.LittleEndian.Uint64(in.data[lasOffsets+8*axis:]))
		if s := math.Abs(h.scale[axis]); !(s > 0 && s <= farthest) || !(math.Abs(h.offset[axis]) <= farthest) {
			return in.at(lasScales, exportAgain, "a step of %v from %v for its coordinates makes no sense", h.scale[axis], h.offset[axis])
		}
	}
	if err := in.checkCounts(h.points, 0); err != nil {
		return err
	}
	if h.start < lasHeader {
		return in.at(lasPointsAt, exportAgain, "its points cannot begin at byte %d, within the header", h.start)
	}
	if have := in.size - h.start; h.points > have/int64(h.length) {
		return in.at(in.size, stillCopying, "the header promises %d points of %d bytes from byte %d, but only %d bytes are there", h.points, h.length, h.start, max(have, 0))
	}
	return nil
}

// readLAS reads a cloud of LAS version 1.0 to 1.4. Points that are marked as withheld are left out, since they
// count as deleted; all else that a point has beside its position is passed over.
func readLAS(in *input) (*Scan, error) {
	h, err := readLASHead(in)
	if err != nil {
		return nil, err
	}
	b := &build{in: in, wide: make([][3]float64, 0, h.points)}
	w := newWindow(in, 0)
	if err = w.skip(h.start); err == nil {
		err = h.read(w, b)
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		err = in.at(in.size, stillCopying, "the file ends within its %d points", h.points)
	}
	if err != nil {
		return nil, err
	}
	if n := int(h.points) - len(b.wide); n > 0 {
		b.messages = append(b.messages, Notef("withheld", "%d of %d points are marked as withheld, which means deleted. They were left out.", n, h.points))
	}
	return b.scan("las")
}

func (h *lasHead) read(w *window, b *build) error {
	for range h.points {
		d, err := w.take(h.length)
		if err != nil {
			return err
		}
		if d[lasFlags]&h.withheld != 0 {
			continue
		}
		var p [3]float64
		for axis := range p {
			p[axis] = float64(float64(int32(binary.LittleEndian.Uint32(d[4*axis:])))*h.scale[axis]) + h.offset[axis]
		}
		b.wide = append(b.wide, p)
	}
	return nil
}

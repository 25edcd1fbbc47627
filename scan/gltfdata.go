package scan

import (
	"encoding/base64"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"net/url"
	"path/filepath"
	"strings"

	"github.com/qmuntal/gltf"
)

// gltfNumbers are the numbers of one accessor before sparse ones take their places: count rows of so many
// components, each row stride bytes after the last.
type gltfNumbers struct {
	data       []byte // nil stands for zeros
	kind       gltf.ComponentType
	components int
	normalized bool
	stride     int
	count      int
}

// at returns one component of a row. Whole numbers of a normalized accessor stand for fractions (glTF 2.0
// Specification, section 3.11).
func (n *gltfNumbers) at(row, component int) float64 {
	if n.data == nil {
		return 0
	}
	d := n.data[row*n.stride+component*componentBytes(n.kind):]
	v, most := 0.0, 1.0
	switch n.kind {
	case gltf.ComponentByte:
		v, most = float64(int8(d[0])), math.MaxInt8
	case gltf.ComponentUbyte:
		v, most = float64(d[0]), math.MaxUint8
	case gltf.ComponentShort:
		v, most = float64(int16(binary.LittleEndian.Uint16(d))), math.MaxInt16
	case gltf.ComponentUshort:
		v, most = float64(binary.LittleEndian.Uint16(d)), math.MaxUint16
	case gltf.ComponentUint:
		return float64(binary.LittleEndian.Uint32(d))
	default:
		return float64(math.Float32frombits(binary.LittleEndian.Uint32(d)))
	}
	if n.normalized {
		return max(v/most, -1)
	}
	return v
}

func componentBytes(kind gltf.ComponentType) int {
	switch kind {
	case gltf.ComponentByte, gltf.ComponentUbyte:
		return 1
	case gltf.ComponentShort, gltf.ComponentUshort:
		return 2
	}
	return 4
}

// nth returns an item of a list by the number that a document gives; nil if there is none.
func nth[T any](items []*T, i int) *T {
	if i < 0 || i >= len(items) {
		return nil
	}
	return items[i]
}

// maxSparse bounds how many values an accessor may promise for each that is there: those left out are zero, and a
// surface is not mostly zero.
const maxSparse = 1000

// accessor brings in the numbers of an accessor that must have so many components.
func (g *gltfReader) accessor(i int, want gltf.AccessorType, what string) (*gltfNumbers, *gltf.Accessor, error) {
	a := nth(g.doc.Accessors, i)
	if a == nil {
		return nil, nil, g.in.refuse(exportAgain, "it has no accessor %d for %s", i, what)
	}
	if a.Type != want || a.Count < 1 {
		return nil, nil, g.in.refuse(exportAgain, "accessor %d for %s has %d values of type %v, and %v is needed", i, what, a.Count, a.Type, want)
	}
	n := &gltfNumbers{kind: a.ComponentType, components: want.Components(), normalized: a.Normalized, count: a.Count}
	if a.BufferView != nil {
		if err := g.view(n, *a.BufferView, a.ByteOffset); err != nil {
			return nil, nil, err
		}
	} else if a.Sparse == nil || a.Count/maxSparse > a.Sparse.Count {
		return nil, nil, g.in.refuse(exportGLB, "accessor %d for %s has no numbers, or too few for the %d that it promises", i, what, a.Count)
	}
	return n, a, nil
}

// view finds the bytes of the numbers in a buffer view, from an offset on.
func (g *gltfReader) view(n *gltfNumbers, i, offset int) error {
	v := nth(g.doc.BufferViews, i)
	if v == nil {
		return g.in.refuse(exportAgain, "it has no buffer view %d", i)
	}
	for name := range v.Extensions {
		if strings.Contains(name, "meshopt") {
			return g.packed(name)
		}
	}
	d, err := g.buffer(v.Buffer)
	if err != nil {
		return err
	}
	if v.ByteOffset < 0 || v.ByteLength < 0 || v.ByteOffset > len(d) || v.ByteLength > len(d)-v.ByteOffset {
		return g.in.refuse(exportAgain, "buffer view %d takes bytes %d and %d more from a buffer of %d", i, v.ByteOffset, v.ByteLength, len(d))
	}
	d = d[v.ByteOffset : v.ByteOffset+v.ByteLength]
	row := n.components * componentBytes(n.kind)
	if n.stride = v.ByteStride; n.stride == 0 {
		n.stride = row
	}
	if n.stride < row || n.stride > 1<<16 || offset < 0 || offset > len(d) || (len(d)-offset-row)/n.stride < n.count-1 || len(d)-offset < row {
		return g.in.refuse(exportAgain, "buffer view %d of %d bytes cannot hold %d values, %d bytes apart, from byte %d on", i, len(d), n.count, n.stride, offset)
	}
	n.data = d[offset:]
	return nil
}

// buffer brings in the bytes of a buffer: the second chunk of a GLB, a data URI, or a file beside.
func (g *gltfReader) buffer(i int) ([]byte, error) {
	b := nth(g.doc.Buffers, i)
	if b == nil {
		return nil, g.in.refuse(exportAgain, "it has no buffer %d", i)
	}
	if d, ok := g.buffers[i]; ok {
		return d, nil
	}
	var d []byte
	var err error
	switch _, packed, embedded := strings.Cut(b.URI, ";base64,"); {
	case b.URI == "" && i == 0 && g.binary != nil:
		d = g.binary
	case b.URI == "":
		return nil, g.in.refuse(exportGLB, "the bytes of buffer %d are not there", i)
	case embedded && strings.HasPrefix(b.URI, "data:"):
		if d, err = base64.StdEncoding.DecodeString(packed); err != nil {
			return nil, g.in.refuse(exportAgain, "the bytes of buffer %d are not valid base64", i)
		}
	default:
		if d, err = g.beside(b.URI); err != nil {
			return nil, err
		}
	}
	if b.ByteLength < 1 || b.ByteLength > len(d) {
		return nil, g.in.refuse(stillCopying, "buffer %d should have %d bytes, but has %d", i, b.ByteLength, len(d))
	}
	g.buffers[i] = d[:b.ByteLength]
	return g.buffers[i], nil
}

// exportTogether is what to do about a document whose points lie in a file beside it. On disk they are not
// read: a delivery is known by the sum of the one file, which would stay the same when the points change.
const exportTogether = "Export the scan as one GLB file, or pack both files into one ZIP"

// beside reads a file of the same archive that the document names by a path relative to its own folder.
func (g *gltfReader) beside(uri string) ([]byte, error) {
	u, err := url.Parse(uri)
	if err != nil || u.Scheme != "" || u.Host != "" || !filepath.IsLocal(filepath.FromSlash(u.Path)) {
		return nil, g.in.refuse(exportGLB, "its points lie elsewhere, in %s, and only files in its own folder are read", shown([]byte(uri)))
	}
	name := u.Path
	if g.in.beside == nil {
		return nil, g.in.refuse(exportTogether, "its points lie in another file, %s, and one file must hold all of a scan", shown([]byte(name)))
	}
	r, size, err := g.in.beside(name)
	if err != nil {
		mend := fmt.Sprintf("Put %s beside it, or export the scan as one GLB file", shown([]byte(name)))
		if !errors.Is(err, fs.ErrNotExist) {
			mend = exportGLB
		}
		f := g.in.refuse(mend, "its points lie in another file, %s, which cannot be read", shown([]byte(name)))
		f.Err = err
		return nil, f
	}
	defer r.Close()
	if g.bytes += size; g.bytes > g.in.lim.MaxBytes {
		return nil, g.in.over(OverBytes, "with the files that it names it has more than %d bytes, and no more than these are read", g.in.lim.MaxBytes)
	}
	d := make([]byte, size)
	if _, err := io.ReadFull(r, d); err != nil {
		f := g.in.refuse(stillCopying, "its points lie in another file, %s, which cannot be read on", shown([]byte(name)))
		f.Err = err
		return nil, f
	}
	return d, nil
}

// sparse brings in which rows of an accessor have other values, and the values.
func (g *gltfReader) sparse(a *gltf.Accessor, components int) (rows, values *gltfNumbers, err error) {
	s := a.Sparse
	if s.Count < 1 || s.Count > a.Count {
		return nil, nil, g.in.refuse(exportAgain, "%d sparse values for %d make no sense", s.Count, a.Count)
	}
	rows = &gltfNumbers{kind: s.Indices.ComponentType, components: 1, count: s.Count}
	values = &gltfNumbers{kind: a.ComponentType, components: components, normalized: a.Normalized, count: s.Count}
	if err := g.view(rows, s.Indices.BufferView, s.Indices.ByteOffset); err != nil {
		return nil, nil, err
	}
	if err := g.view(values, s.Values.BufferView, s.Values.ByteOffset); err != nil {
		return nil, nil, err
	}
	for i := range rows.count {
		if r := rows.at(i, 0); !(r >= 0 && r < float64(a.Count)) || r != math.Trunc(r) {
			return nil, nil, g.in.refuse(exportAgain, "a sparse value stands for number %v of %d", r, a.Count)
		}
	}
	return rows, values, nil
}

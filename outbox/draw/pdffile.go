package draw

import (
	"bytes"
	"compress/zlib"
	"errors"
	"fmt"
	"strconv"
)

// finished makes the file of what the PDF library wrote, for which the library has no calls or slow ones. It
// tells readers to print at 100 per cent and on one side (ISO 32000-1, table 150: PrintScaling of PDF 1.6, Duplex
// of 1.7), and it packs the pages, all by one packer: the library would make a new one, a large piece of memory,
// for each page.
func finished(pdf []byte) ([]byte, error) {
	const version, wish = "%PDF-1.3", "/ViewerPreferences <</PrintScaling /None /Duplex /Simplex>>\n"
	unknown := errors.New("the PDF library writes in an unknown way, so that printing without scaling cannot be asked for")
	body, table, ok := splitPDF(pdf)
	if !ok || !bytes.HasPrefix(body, []byte(version)) {
		return nil, unknown
	}
	f := &pdfFile{packer: newPacker()}
	f.out.Grow(len(pdf))
	if !f.pack(body) {
		return nil, unknown
	}
	at := bytes.LastIndex(f.out.Bytes(), []byte("/Type /Catalog\n"))
	if at < 0 {
		return nil, unknown
	}
	at += len("/Type /Catalog\n")
	tail := bytes.Clone(f.out.Bytes()[at:])
	f.out.Truncate(at)
	f.out.WriteString(wish)
	f.out.Write(tail)
	copy(f.out.Bytes(), "%PDF-1.7")
	if !f.crossReferences(table) {
		return nil, unknown
	}
	return f.out.Bytes(), nil
}

// splitPDF parts the objects of a PDF from the cross-reference table and what follows it.
func splitPDF(pdf []byte) (body, table []byte, ok bool) {
	i := bytes.LastIndex(pdf, []byte("startxref\n"))
	if i < 0 {
		return nil, nil, false
	}
	number, _, _ := bytes.Cut(pdf[i+len("startxref\n"):], []byte("\n"))
	at, err := strconv.Atoi(string(number))
	if err != nil || at < 0 || at > i || !bytes.HasPrefix(pdf[at:], []byte("xref\n")) {
		return nil, nil, false
	}
	return pdf[:at], pdf[at:], true
}

// pdfFile is a PDF that is written anew with its streams packed.
type pdfFile struct {
	out    bytes.Buffer
	packer *packer
	moved  []move
}

// move says that what lay at a place or behind it lies by some bytes farther on now.
type move struct{ from, by int }

// pack copies the objects and packs each stream; ok is false for a stream that does not end where it should.
func (f *pdfFile) pack(body []byte) (ok bool) {
	const head, begin, end = "<</Length ", ">>\nstream\n", "\nendstream\n"
	at := 0
	for {
		i := bytes.Index(body[at:], []byte(head))
		if i < 0 {
			f.out.Write(body[at:])
			return true
		}
		number, rest, found := bytes.Cut(body[at+i+len(head):], []byte(begin))
		n, err := strconv.Atoi(string(number))
		if !found || err != nil || n < 0 || n > len(rest) || !bytes.HasPrefix(rest[n:], []byte(end)) {
			return false
		}
		f.out.Write(body[at : at+i])
		data := f.packer.pack(rest[:n])
		fmt.Fprintf(&f.out, "<</Filter /FlateDecode /Length %d%s", len(data), begin)
		f.out.Write(data)
		at = len(body) - len(rest) + n
		f.moved = append(f.moved, move{at, f.out.Len() - at})
	}
}

// crossReferences copies the table with the objects' new places. The catalogue is the last object and begins before
// what was put into it, so that moves nothing but the table.
func (f *pdfFile) crossReferences(table []byte) (ok bool) {
	start := f.out.Len()
	for line := range bytes.Lines(table) {
		if len(line) == 20 && bytes.HasSuffix(line, []byte(" 00000 n \n")) {
			at, err := strconv.Atoi(string(line[:10]))
			if err != nil {
				return false
			}
			fmt.Fprintf(&f.out, "%010d 00000 n \n", f.placeOf(at))
			continue
		}
		f.out.Write(line)
		if string(line) == "startxref\n" {
			fmt.Fprintf(&f.out, "%d\n%%%%EOF\n", start)
			return true
		}
	}
	return false
}

// placeOf returns where what lay at a place lies now.
func (f *pdfFile) placeOf(at int) int {
	by := 0
	for _, m := range f.moved {
		if m.from <= at {
			by = m.by
		}
	}
	return at + by
}

// packer packs one piece of data after the other.
type packer struct {
	b bytes.Buffer
	z *zlib.Writer
}

func newPacker() *packer {
	p := &packer{}
	p.z, _ = zlib.NewWriterLevel(&p.b, zlib.BestSpeed) // an error for unknown levels only
	return p
}

// pack returns the data packed (RFC 1950); it stands until the next call. Writing into memory cannot fail.
func (p *packer) pack(data []byte) []byte {
	p.b.Reset()
	p.z.Reset(&p.b)
	_, _ = p.z.Write(data)
	_ = p.z.Close()
	return p.b.Bytes()
}

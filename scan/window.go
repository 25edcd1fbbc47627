package scan

import "io"

// windowBytes is how much of a binary body is in memory at a time, unless one row needs more.
const windowBytes = 1 << 18

// window walks over the binary body of a file from front to back.
type window struct {
	in    *input
	buf   []byte
	pos   int    // of the next byte, in buf
	base  int64  // place of buf's first byte in the file
	store []byte // what buf is taken from once the beginning is used up
}

// newWindow begins at a place within the beginning of the file that the input holds.
func newWindow(in *input, pos int) *window { return &window{in: in, buf: in.data, pos: pos} }

// at returns the place of the next byte in the file.
func (w *window) at() int64 { return w.base + int64(w.pos) }

// left returns how many bytes follow.
func (w *window) left() int64 { return w.in.size - w.at() }

// take passes over n bytes and returns them; they are good until the next call. An error is a file that
// ends before.
func (w *window) take(n int) ([]byte, error) {
	if n > len(w.buf)-w.pos {
		if err := w.fill(n); err != nil {
			return nil, err
		}
	}
	d := w.buf[w.pos : w.pos+n]
	w.pos += n
	return d, nil
}

// fill brings at least n bytes before the window.
func (w *window) fill(n int) error {
	if int64(n) > w.left() {
		return io.ErrUnexpectedEOF
	}
	kept := w.buf[w.pos:]
	length := int(min(max(int64(n), windowBytes), w.left()))
	if length > len(w.store) {
		w.store = make([]byte, length)
	}
	next := w.store[:length]
	copy(next, kept) // the two may overlap
	w.base, w.pos, w.buf = w.at(), 0, next
	got, err := io.ReadFull(w.in.rest, next[len(kept):])
	if err != nil {
		return w.in.broken(w.base+int64(len(kept)+got), err)
	}
	return nil
}

// readUnsummed fills p with the next bytes, which do not pass through the window, and leaves it to the caller to sum up
// what comes from the file only now. An error is a file that ends before.
func (w *window) readUnsummed(p []byte) (fresh []byte, err error) {
	if int64(len(p)) > w.left() {
		return nil, io.ErrUnexpectedEOF
	}
	n := copy(p, w.buf[w.pos:])
	if w.pos += n; n == len(p) {
		return nil, nil
	}
	got, err := io.ReadFull(w.in.bare, p[n:])
	w.base, w.pos, w.buf = w.at()+int64(got), 0, nil
	if err != nil {
		return nil, w.in.broken(w.base, err)
	}
	return p[n:], nil
}

// skip passes over n bytes without keeping them.
func (w *window) skip(n int64) error {
	if n > w.left() {
		return io.ErrUnexpectedEOF
	}
	for n > 0 {
		piece := min(n, windowBytes)
		if _, err := w.take(int(piece)); err != nil {
			return err
		}
		n -= piece
	}
	return nil
}

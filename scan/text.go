package scan

import (
	"bytes"
	"fmt"
	"unicode"
	"unicode/utf8"
)

// lines walks over the lines of a text, whether they end in LF, in CRLF or, as old programs wrote, in CR alone.
type lines struct {
	rest []byte
	last int  // where in rest the next LF is, -1 if there is none
	no   int  // number of the line that next returned last, from 1
	open bool // that line ran to the end of the text without a line end
}

func newLines(text []byte) *lines {
	l := &lines{rest: bytes.TrimPrefix(text, []byte("\xef\xbb\xbf"))}
	l.last = bytes.IndexByte(l.rest, '\n')
	return l
}

// next returns the next line without its ending.
func (l *lines) next() (line []byte, ok bool) {
	if len(l.rest) == 0 {
		return nil, false
	}
	l.no++
	line = l.rest
	if l.last >= 0 {
		line = line[:l.last]
	}
	if i := bytes.IndexByte(line, '\r'); i >= 0 && i < len(line)-1 || i >= 0 && l.last < 0 {
		l.pass(i + 1)
		return line[:i], true
	}
	if l.last < 0 {
		l.rest, l.open = nil, true
		return line, true
	}
	l.pass(l.last + 1)
	if len(line) > 0 && line[len(line)-1] == '\r' {
		line = line[:len(line)-1]
	}
	return line, true
}

// pass goes n bytes on. The LF is looked for only once it was passed, so that a text with none costs no more.
func (l *lines) pass(n int) {
	l.rest = l.rest[n:]
	if l.last >= n {
		l.last -= n
	} else if l.last >= 0 {
		l.last = bytes.IndexByte(l.rest, '\n')
	}
}

// mend returns what to do about a line that is too short: the last one may have been cut off.
func (l *lines) mend() string {
	if l.open {
		return stillCopying
	}
	return exportAgain
}

// word splits the first word off a line. Words are divided by blanks and tabs; there is none when it is empty.
func word(line []byte) (first, rest []byte) {
	i := 0
	for i < len(line) && isBlank(line[i]) {
		i++
	}
	j := i
	for j < len(line) && !isBlank(line[j]) {
		j++
	}
	return line[i:j], line[j:]
}

func isBlank(c byte) bool {
	return c <= ' ' && (c == ' ' || c == '\t' || c == '\r' || c == '\v' || c == '\f')
}

// isText tells text from binary by the beginning of a file: no control characters but blanks and line ends.
func isText(data []byte) bool {
	for _, c := range data[:min(len(data), 1024)] {
		if c < ' ' && c != '\n' && !isBlank(c) || c == 0x7f {
			return false
		}
	}
	return true
}

// shown renders a piece of the file for a message: short, and without control characters. What is no text is
// shown by the values of its bytes.
func shown(piece []byte) string {
	const most = 40
	if !readable(piece) {
		return shownBytes(piece)
	}
	cut := len(piece) > most
	if cut {
		piece = piece[:most]
		for len(piece) > 0 && !utf8.Valid(piece) && len(piece) > most-utf8.UTFMax {
			piece = piece[:len(piece)-1]
		}
	}
	s := bytes.Map(func(r rune) rune {
		if r == utf8.RuneError || !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, bytes.ReplaceAll(piece, []byte{'\t'}, []byte{' '}))
	if cut {
		return `"` + string(s) + `..."`
	}
	return `"` + string(s) + `"`
}

// readable tells a text with at most one character in eight that cannot be printed, as letters in an old encoding
// are, from binary data.
func readable(piece []byte) bool {
	strange, all := 0, 0
	for _, r := range string(piece[:min(len(piece), 64)]) {
		if all++; r == utf8.RuneError || !unicode.IsPrint(r) && r != '\t' {
			strange++
		}
	}
	return 8*strange <= all
}

// shownBytes renders the first bytes of binary data in hexadecimal, "the bytes 9f 00 c1 ...".
func shownBytes(piece []byte) string {
	const most = 8
	s := fmt.Sprintf("the bytes % x", piece[:min(len(piece), most)])
	if len(piece) > most {
		s += " ..."
	}
	return s
}

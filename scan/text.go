package scan

import (
	"bytes"
	"unicode/utf8"
)

// lines walks over the lines of a text, whether they end in LF, CRLF or, as old programs wrote, in CR alone.
type lines struct {
	rest []byte
	end  byte
	no   int  // number of the line that next returned last, from 1
	open bool // that line ran to the end of the text without a line end
}

func newLines(text []byte) *lines {
	l := &lines{rest: bytes.TrimPrefix(text, []byte("\xef\xbb\xbf")), end: '\n'}
	if bytes.IndexByte(l.rest, '\n') < 0 {
		l.end = '\r'
	}
	return l
}

// next returns the next line without its ending.
func (l *lines) next() (line []byte, ok bool) {
	if len(l.rest) == 0 {
		return nil, false
	}
	l.no++
	if i := bytes.IndexByte(l.rest, l.end); i >= 0 {
		line, l.rest = l.rest[:i], l.rest[i+1:]
	} else {
		line, l.rest, l.open = l.rest, nil, true
	}
	if n := len(line); n > 0 && line[n-1] == '\r' {
		line = line[:n-1]
	}
	return line, true
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

func isBlank(c byte) bool { return c == ' ' || c == '\t' || c == '\r' || c == '\v' || c == '\f' }

// isText tells text from binary by the beginning of a file: no control characters but blanks and line ends.
func isText(data []byte) bool {
	for _, c := range data[:min(len(data), 1024)] {
		if c < ' ' && c != '\n' && !isBlank(c) || c == 0x7f {
			return false
		}
	}
	return true
}

// shown renders a piece of the file for a message: short, and without control characters.
func shown(piece []byte) string {
	const most = 40
	cut := len(piece) > most
	if cut {
		piece = piece[:most]
		for len(piece) > 0 && !utf8.Valid(piece) && len(piece) > most-utf8.UTFMax {
			piece = piece[:len(piece)-1]
		}
	}
	s := bytes.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f || r == utf8.RuneError {
			return '?'
		}
		return r
	}, piece)
	if cut {
		return `"` + string(s) + `..."`
	}
	return `"` + string(s) + `"`
}

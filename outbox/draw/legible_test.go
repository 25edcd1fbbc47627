package draw

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestLegible(t *testing.T) {
	for text, want := range map[string]string{
		"Marsh Wren, Übung 日本 é":       "Marsh Wren, Übung 日本 é",
		"two\n\tlines":                 "two\n\tlines",
		"red \x1b[31m, bell \a, \x7f":  "red \ufffd[31m, bell \ufffd, \ufffd",
		"to the \u202eleft\u202c":      "to the \ufffdleft\ufffd",
		"apart \u2066from\u2069 it":    "apart \ufffdfrom\ufffd it",
		"next line \u0085":             "next line \ufffd",
		"\xff\xfe is no text":          "\ufffd is no text",
		"می\u200cخواهم, joined or not": "می\u200cخواهم, joined or not",
	} {
		if got := Legible(text); got != want {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		got := LegibleLine(string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")))
		if !utf8.ValidString(got) || strings.ContainsFunc(got, unicode.IsControl) || Legible(got) != got {
			t.Fatalf("%q", got)
		}
	})
}

// In a value of DXF a caret begins a control character (the format's reference, from memory); with a space
// after it it is itself.
func TestDXFCaret(t *testing.T) {
	for words, want := range map[string]string{"a^Jb": "a^ Jb", "^": "^ ", "%%d ^^": "% %d ^ ^ "} {
		if got := asDXF(words); got != want {
			t.Errorf("%q: %q, want %q", words, got, want)
		}
	}
}

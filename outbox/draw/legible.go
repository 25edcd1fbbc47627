package draw

import (
	"strings"
	"unicode"
)

// unreadable stands for what is not shown.
const unreadable = '\ufffd'

// Legible returns a text, which may be of anybody's making, without what cannot be read or would change how what
// follows reads: control characters but tabs and ends of lines, marks that turn the direction of the text around
// them (Unicode's bidirectional controls), and bytes that are no UTF-8. U+FFFD stands in their place.
func Legible(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r >= ' ' && r <= '~', r == '\n', r == '\t':
		case unicode.IsControl(r), unicode.Is(unicode.Bidi_Control, r), r == 0xfffe, r == 0xffff:
			return unreadable
		}
		return r
	}, strings.ToValidUTF8(s, string(unreadable)))
}

// LegibleLine is [Legible] for a text that must stay on one line.
func LegibleLine(s string) string {
	return strings.NewReplacer("\n", " ", "\t", " ").Replace(Legible(s))
}

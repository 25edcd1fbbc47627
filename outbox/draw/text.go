package draw

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// capital is the height of a capital over the size of the type, from the font metrics of Helvetica.
const capital = 0.718

// helvetica holds the widths of the characters from space to tilde in thousandths of the type's size, from
// the font metrics that belong to the standard fonts of PDF.
var helvetica = [95]uint16{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278,
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556,
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778,
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556,
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556,
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584,
}

// Width returns how wide a text runs, mm, when its capitals are height mm high; a character outside ASCII
// counts as wide as what stands for it in DXF, so it is an estimate for those.
func Width(words string, height float64) float64 {
	sum := 0
	for _, c := range []byte(ASCII(words)) {
		sum += int(helvetica[c-' '])
	}
	return float64(sum) / 1000 * height / capital
}

// Wrap breaks a text between words so that no line runs wider than width mm; a single word that does is
// broken where it must. A number and its unit are one word.
func Wrap(words string, height, width float64) []string {
	var lines []string
	line := ""
	for _, w := range withUnits(strings.Fields(words)) {
		for Width(w, height) > width && utf8.RuneCountInString(w) > 1 {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := fitting(w, height, width)
			lines, w = append(lines, head), w[len(head):]
		}
		switch {
		case line == "":
			line = w
		case Width(line+" "+w, height) <= width:
			line += " " + w
		default:
			lines, line = append(lines, line), w
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

// withUnits joins the unit to the number before it.
func withUnits(words []string) []string {
	var out []string
	for _, w := range words {
		if n := len(out); n > 0 && unitWords.MatchString(w) && unicode.IsDigit(rune(out[n-1][len(out[n-1])-1])) {
			out[n-1] += " " + w
			continue
		}
		out = append(out, w)
	}
	return out
}

var unitWords = regexp.MustCompile(`^(mm|%)[.,;:)]*$`)

// fitting returns the longest beginning of w that is no wider than width, at least one character.
func fitting(w string, height, width float64) string {
	_, end := utf8.DecodeRuneInString(w)
	for end < len(w) {
		_, n := utf8.DecodeRuneInString(w[end:])
		if Width(w[:end+n], height) > width {
			break
		}
		end += n
	}
	return w[:end]
}

// ASCII writes a text with the characters from space to tilde alone, for formats and fonts that know no
// others: accents are dropped, signs are spelt out, and what has no counterpart becomes a question mark.
func ASCII(words string) string {
	if plainASCII(words) {
		return words
	}
	var b strings.Builder
	for _, r := range words {
		b.WriteString(asciiOf(r))
	}
	return b.String()
}

func plainASCII(words string) bool {
	for _, c := range []byte(words) {
		if c < ' ' || c > '~' {
			return false
		}
	}
	return true
}

func asciiOf(r rune) string {
	switch {
	case r >= ' ' && r <= '~':
		return string(r)
	case r < ' ' || r >= 0x7f && r <= 0xa0:
		return " "
	case r >= 0xc0 && r <= 0x17f:
		return strings.Fields(latin)[r-0xc0]
	}
	switch r {
	case '±':
		return "+/-"
	case '°':
		return " deg"
	case '²', '³', '¹':
		return map[rune]string{'¹': "1", '²': "2", '³': "3"}[r]
	case '½', '¼', '¾':
		return map[rune]string{'½': "1/2", '¼': "1/4", '¾': "3/4"}[r]
	case 'µ', 'μ':
		return "u"
	case '·', '•':
		return "-"
	case '\u2010', '\u2011', '\u2012', '–', '—', '−':
		return "-"
	case '‘', '’', '‚', '′':
		return "'"
	case '“', '”', '„', '″', '«', '»':
		return `"`
	case '…':
		return "..."
	}
	return "?"
}

// latin holds what stands for the letters from U+00C0 to U+017F, in the order of the code.
const latin = "A A A A A A AE C E E E E I I I I D N O O O O O x O U U U U Y Th ss " +
	"a a a a a a ae c e e e e i i i i d n o o o o o / o u u u u y th y " +
	"A a A a A a C c C c C c C c D d D d E e E e E e E e E e G g G g G g G g H h H h " +
	"I i I i I i I i I i IJ ij J j K k k L l L l L l L l L l N n N n N n 'n N n " +
	"O o O o O o OE oe R r R r R r S s S s S s S s T t T t T t U u U u U u U u U u U u " +
	"W w Y y Y Z z Z z Z z s"

// windows1252 encodes a text for the standard fonts of PDF; what the code lacks is spelt as in ASCII.
func windows1252(words string) string {
	const upper = "€\x00‚ƒ„…†‡ˆ‰Š‹Œ\x00Ž\x00\x00‘’“”•–—˜™š›œ\x00žŸ" // 0x80 to 0x9f
	if plainASCII(words) {
		return words
	}
	var b strings.Builder
	for _, r := range words {
		at := -1
		if r > '~' {
			if i := strings.IndexRune(upper, r); i >= 0 {
				at = utf8.RuneCountInString(upper[:i])
			}
		}
		switch {
		case at >= 0:
			b.WriteByte(byte(0x80 + at))
		case r > 0xa0 && r <= 0xff && r != 0xad:
			b.WriteByte(byte(r))
		case r == '−':
			b.WriteByte(0x96)
		default:
			b.WriteString(asciiOf(r))
		}
	}
	return b.String()
}

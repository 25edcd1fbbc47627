package sheet

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// mendError is what is wrong with one value and what the builder can do about it.
type mendError struct {
	msg, mend string
}

// Error gives both, as a sentence for whoever has no better place for the mend.
func (e *mendError) Error() string { return e.msg + ": " + e.mend }

// mendf makes a mendError; format and args say what is wrong.
func mendf(mend, format string, args ...any) error {
	return &mendError{msg: fmt.Sprintf(format, args...), mend: mend}
}

// reader reads a quantity, such as "48 1/16 in", from the left.
type reader struct {
	text string // as written, for messages
	rest string // still to be read, in plain characters
}

// number is a number as it stood in the text.
type number struct {
	value float64
	text  string
	whole bool // written without a fraction or a point
}

func newReader(text string) *reader {
	return &reader{text: text, rest: strings.TrimSpace(plain(text))}
}

// plain writes the typographer's characters that phones and word processors put in as a keyboard's.
func plain(text string) string {
	var b strings.Builder
	for _, c := range text {
		switch {
		case c == '⁄' || c == '∕':
			b.WriteByte('/')
		case c == '−' || c == '–':
			b.WriteByte('-')
		case c == '′' || c == '’' || c == '‘':
			b.WriteByte('\'')
		case c == '″' || c == '”' || c == '“':
			b.WriteByte('"')
		case unicode.IsSpace(c):
			b.WriteByte(' ')
		default:
			b.WriteString(vulgar(c))
		}
	}
	return strings.ReplaceAll(b.String(), "''", `"`)
}

// vulgar spells out a fraction that is one character, with a space before it; other characters stay.
func vulgar(c rune) string {
	const signs, spelt = "½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞", "1/2 1/3 2/3 1/4 3/4 1/5 2/5 3/5 4/5 1/6 5/6 1/8 3/8 5/8 7/8"
	i := strings.IndexRune(signs, c)
	if i < 0 {
		return string(c)
	}
	return " " + strings.Fields(spelt)[utf8.RuneCountInString(signs[:i])]
}

// comma refuses a comma, of which nobody can say whether it stands for a point or for thousands.
func (r *reader) comma() error {
	if !strings.Contains(r.rest, ",") {
		return nil
	}
	return mendf(fmt.Sprintf("write %q, with a point, or %q", strings.ReplaceAll(r.rest, ",", "."),
		strings.ReplaceAll(r.rest, ",", "")), "%q has a comma", r.text)
}

func (r *reader) done() bool { return r.rest == "" }

func (r *reader) spaces() { r.rest = strings.TrimLeft(r.rest, " ") }

// sign reads a sign, if there is one, and returns -1 or 1.
func (r *reader) sign() float64 {
	sign := 1.0
	if rest, ok := strings.CutPrefix(r.rest, "-"); ok {
		sign, r.rest = -1, rest
	} else {
		r.rest = strings.TrimPrefix(r.rest, "+")
	}
	r.spaces()
	return sign
}

// digits takes the decimal digits that stand next.
func (r *reader) digits() string {
	n := 0
	for n < len(r.rest) && r.rest[n] >= '0' && r.rest[n] <= '9' {
		n++
	}
	d := r.rest[:n]
	r.rest = r.rest[n:]
	return d
}

// number reads "48", "48.5", ".5", "1/16", "48 1/16" or "48-1/16", and the spaces after it.
func (r *reader) number() (number, error) {
	before := r.rest
	defer r.spaces()
	whole := r.digits()
	if rest, ok := strings.CutPrefix(r.rest, "."); ok {
		r.rest = rest
		return r.decimal(whole + "." + r.digits())
	}
	if whole == "" {
		return number{}, mendf("write a number and its unit, as in \"48 1/16 in\"", "%q has no number where one should stand", r.text)
	}
	if strings.HasPrefix(r.rest, "/") {
		r.rest = before
		return r.fraction("")
	}
	after := r.rest
	if rest := strings.TrimLeft(r.rest, " -"); rest != r.rest {
		r.rest = rest
		if d := r.digits(); d != "" && strings.HasPrefix(r.rest, "/") {
			r.rest = rest
			return r.fraction(whole)
		}
	}
	r.rest = after
	n, err := r.decimal(whole)
	n.whole = true
	return n, err
}

func (r *reader) decimal(text string) (number, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		return number{}, mendf("write a number such as 48.5", "%q is not a number that can be used", text)
	}
	return number{value: v, text: text}, nil
}

// fraction reads "1/16", to be added to whole, which may be empty.
func (r *reader) fraction(whole string) (number, error) {
	above := r.digits()
	r.rest = strings.TrimPrefix(r.rest, "/")
	below := r.digits()
	text := strings.TrimSpace(whole + " " + above + "/" + below)
	w, errW := strconv.ParseFloat("0"+whole, 64)
	a, errA := strconv.ParseFloat(above, 64)
	b, errB := strconv.ParseFloat(below, 64)
	if errW != nil || errA != nil || errB != nil || b == 0 {
		return number{}, mendf("write a fraction such as 1/16", "%q is not a fraction that can be used", text)
	}
	if whole != "" && a >= b {
		return number{}, mendf("carry the whole part over", "the fraction in %q is one or more", text)
	}
	return number{value: w + a/b, text: text}, nil
}

// unit takes the word or the inch or foot mark that stands next, and the spaces after it.
func (r *reader) unit() string {
	defer r.spaces()
	if strings.HasPrefix(r.rest, `"`) || strings.HasPrefix(r.rest, "'") {
		u := r.rest[:1]
		r.rest = r.rest[1:]
		return u
	}
	n := strings.IndexFunc(r.rest, func(c rune) bool { return !unicode.IsLetter(c) })
	if n < 0 {
		n = len(r.rest)
	}
	u := r.rest[:n]
	r.rest = r.rest[n:]
	return u
}

package sheet

import (
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/BurntSushi/toml"

	"tipwright/scan"
)

// Errors is everything that is wrong with one wing sheet, by line, one to a line of text.
type Errors []*scan.FormatError

// Error writes one error a line: "wing.toml, line 7: ...".
func (e Errors) Error() string {
	lines := make([]string, len(e))
	for i, err := range e {
		lines[i] = err.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the errors one by one.
func (e Errors) Unwrap() []error {
	out := make([]error, len(e))
	for i, err := range e {
		out[i] = err
	}
	return out
}

// mostBytes bounds a wing sheet: the blank one has three thousand.
const mostBytes = 64 << 10

// Read reads the wing sheet at path. What is wrong in the sheet comes back as [Errors]; a file that cannot
// be read, as the error of the file system.
func Read(path string) (*Sheet, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("wing sheet: %w", err)
	}
	defer f.Close()
	data, err := io.ReadAll(io.LimitReader(f, mostBytes+1))
	if err != nil {
		return nil, fmt.Errorf("wing sheet: %w", err)
	}
	return Parse(data, filepath.Base(path))
}

// Parse reads a wing sheet from its contents, which are in UTF-8 or, if they begin with its mark, in UTF-16; name is
// the file's, for messages and for Source. All that is wrong is returned at once, as [Errors]; the sheet is nil then.
func Parse(data []byte, name string) (*Sheet, error) {
	if len(data) > mostBytes {
		return nil, Errors{{File: name, Msg: "this is too long for a wing sheet", Mend: "Is a scan named as the sheet?"}}
	}
	text := InUTF8(data)
	if deep(text) {
		return nil, Errors{{File: name, Msg: "a line has more dots or brackets than any line of a wing sheet", Mend: "Is another file named as the sheet?"}}
	}
	p := parser{name: name, sheet: Default(), lines: map[string]int{}, bad: map[string]bool{}}
	p.read(text)
	p.resolve()
	if len(p.errs) > 0 {
		slices.SortFunc(p.errs, func(a, b *scan.FormatError) int {
			return cmp.Or(cmp.Compare(a.Line, b.Line), strings.Compare(a.Msg, b.Msg))
		})
		return nil, p.errs
	}
	sum := sha256.Sum256(data)
	p.sheet.Source = scan.Source{File: name, SHA256: hex.EncodeToString(sum[:]), Bytes: int64(len(data))}
	return p.sheet, nil
}

// parser gathers what a sheet says and what is wrong with it.
type parser struct {
	name  string
	meta  toml.MetaData
	lines map[string]int  // of the keys and tables that were read without error
	bad   map[string]bool // keys that were refused
	sheet *Sheet
	errs  Errors
}

func (p *parser) fail(line int, where string, err error) {
	e := &scan.FormatError{File: p.name, Line: line, Msg: err.Error()}
	if m, ok := errors.AsType[*mendError](err); ok {
		e.Msg, e.Mend = m.msg, sentence(m.mend)
	}
	if where != "" {
		p.bad[where] = true
		e.Msg = where + ": " + e.Msg
	}
	p.errs = append(p.errs, e)
}

// sentence begins a mend with a capital letter; it never begins with anything but ASCII.
func sentence(s string) string {
	if s == "" {
		return ""
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// mostDeep bounds the dots and opening brackets of a line, each of which may lead one table deeper.
const mostDeep = 100

// deep tells whether a line leads so deep that the decoder would take hours over it.
func deep(data []byte) bool {
	for line := range bytes.Lines(data) {
		if bytes.Count(line, []byte(".")) > mostDeep || bytes.Count(line, []byte("{"))+bytes.Count(line, []byte("[")) > mostDeep {
			return true
		}
	}
	return false
}

// mostKeys bounds the keys that are looked at one by one, with plies and mistakes among them: finding the line of
// one takes the longer the more there are.
const mostKeys = 500

// read takes every key of the sheet.
func (p *parser) read(data []byte) {
	var top map[string]toml.Primitive
	meta, err := toml.NewDecoder(bytes.NewReader(data)).Decode(&top)
	if err != nil {
		p.syntax(data, err)
		return
	}
	p.meta = meta
	known := keys()
	if n := len(meta.Keys()); n > mostKeys {
		p.fail(0, "", mendf("is another file named as the sheet?", "it has %d keys, and a wing sheet has no more than %d", n, len(known)))
		return
	}
	for name, value := range top {
		if isTable(known, name) {
			p.table(known, name, value)
		} else {
			p.key(known, name, value)
		}
	}
}

func isTable(known []key, name string) bool {
	return slices.ContainsFunc(known, func(k key) bool { return strings.HasPrefix(k.name, name+".") })
}

func (p *parser) table(known []key, name string, value toml.Primitive) {
	data, line := p.look(value)
	if _, ok := data.(map[string]any); !ok {
		p.fail(line, name, mendf("write ["+name+"] on a line of its own and its keys below it", "%s stands where a table should", kind(data)))
		return
	}
	var inner map[string]toml.Primitive
	if err := p.meta.PrimitiveDecode(value, &inner); err != nil {
		p.fail(line, name, err)
		return
	}
	for leaf, v := range inner {
		p.key(known, name+"."+leaf, v)
	}
	p.lines[name] = line
}

func (p *parser) key(known []key, name string, value toml.Primitive) {
	data, line := p.look(value)
	i := slices.IndexFunc(known, func(k key) bool { return k.name == name })
	if i < 0 {
		p.fail(line, "", unknown(known, name, data))
		return
	}
	if err := known[i].read(p.sheet, data); err != nil {
		p.fail(line, name, err)
		return
	}
	p.lines[name] = line
	p.sheet.given[name] = true
}

// probe takes a value as it stands and fails, since the decoder tells lines only in its errors.
type probe struct{ data any }

func (v *probe) UnmarshalTOML(data any) error {
	v.data = data
	return errors.New("located")
}

// look returns a value as the decoder holds it and the line of its key. A table that has no line of its own,
// as in "wire.kerf = ...", lies where its first key does.
func (p *parser) look(value toml.Primitive) (any, int) {
	var v probe
	err := p.meta.PrimitiveDecode(value, &v)
	at, _ := errors.AsType[toml.ParseError](err)
	line := at.Position.Line
	if line > 0 {
		return v.data, line
	}
	var inner map[string]toml.Primitive
	if _, ok := v.data.(map[string]any); !ok || p.meta.PrimitiveDecode(value, &inner) != nil {
		return v.data, 0
	}
	for _, child := range inner {
		if _, l := p.look(child); line == 0 || (l > 0 && l < line) {
			line = l
		}
	}
	return v.data, line
}

// syntax reports a file that is not TOML at all; the decoder stops at the first such place.
func (p *parser) syntax(data []byte, err error) {
	at, ok := errors.AsType[toml.ParseError](err)
	if !ok {
		p.fail(0, "", err)
		return
	}
	line := at.Position.Line
	text := ""
	if all := strings.Split(string(data), "\n"); line >= 1 && line <= len(all) {
		text = all[line-1]
	}
	if bytes.IndexByte(data, 0) >= 0 {
		p.fail(0, "", mendf("save it as plain text in UTF-8", "this is not a text file"))
		return
	}
	if strings.Contains(at.Message, "already been defined") {
		key, _, _ := strings.Cut(text, "=")
		p.fail(line, "", mendf("leave one of the two lines out", "%s stands here a second time", strings.TrimSpace(key)))
		return
	}
	p.fail(line, "", mendf(syntaxMend(text), "this line cannot be read (%s)", at.Message))
}

// syntaxMend guesses what a builder meant by a line that is not TOML.
func syntaxMend(line string) string {
	name, value, _ := strings.Cut(line, "=")
	name, value = strings.TrimSpace(name), strings.TrimSpace(value)
	switch {
	case strings.ContainsAny(line, "“”„‘’"):
		return `use straight quotes, as in chord = "1220 mm"`
	case value != "" && !strings.ContainsAny(value, `"',[{#`) && strings.ContainsAny(value, "abcdefghijklmnopqrstuvwxyz"):
		return fmt.Sprintf("put the value in quotes: %s = %q", name, value)
	case strings.Contains(value, ",") && !strings.ContainsAny(value, `"[{`):
		return "write a decimal point, not a comma"
	case strings.Contains(value, `"`) && strings.Count(value, `"`)%2 == 1:
		return `write "in" and "ft" for inches and feet, and a quote at each end of the value`
	}
	return `write one key a line, as in chord = "1220 mm"`
}

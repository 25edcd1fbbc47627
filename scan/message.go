package scan

import "fmt"

// Level says how much a message weighs. The gravest level among the messages is the verdict.
type Level int

// The levels, in rising order, as the design's result.json names them.
const (
	Note    Level = iota // worth knowing, nothing to do
	Caution              // delivered, but read this before you cut
	Refusal              // not delivered: nothing of it may be used
)

// String returns the word that result.json uses: "note", "caution" or "refusal".
func (l Level) String() string {
	return [...]string{"note", "caution", "refusal"}[l]
}

// Message is one thing that the builder is told about a scan, in plain words: what is so, and what to do.
type Message struct {
	Code  string // stable, for machines: "scale-corrected"
	Level Level
	Text  string // whole sentences, for a builder
}

// Notef makes a note.
func Notef(code, format string, args ...any) Message {
	return Message{code, Note, fmt.Sprintf(format, args...)}
}

// Cautionf makes a caution.
func Cautionf(code, format string, args ...any) Message {
	return Message{code, Caution, fmt.Sprintf(format, args...)}
}

// RefusalError is the error of a step that cannot go on with this input: the wing is not to be found, or
// what was found cannot be trusted. It becomes the one message of a refused delivery.
type RefusalError struct {
	Code string // stable, for machines: "no-wing"
	Text string // what is wrong
	Mend string // what to do next
}

// Error returns what is wrong and what to do, in that order.
func (e *RefusalError) Error() string { return e.Text + " " + e.Mend }

// Message returns the refusal as a message for the delivery.
func (e *RefusalError) Message() Message { return Message{e.Code, Refusal, e.Error()} }

// Refusef makes a refusal; mend says what the builder can do about it.
func Refusef(code, mend, format string, args ...any) *RefusalError {
	return &RefusalError{Code: code, Text: fmt.Sprintf(format, args...), Mend: mend}
}

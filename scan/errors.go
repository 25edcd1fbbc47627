package scan

import (
	"fmt"
	"strings"
)

// FormatError is the error for a file that is not what it claims to be. It says which file, where in it
// (a line for text, a byte offset for binary), what was found, and what to do next.
type FormatError struct {
	File   string
	Line   int   // counted from 1; 0 where lines mean nothing
	Offset int64 // bytes from the start; used when Line is 0 and Offset is positive
	Msg    string
	Mend   string // what the builder can do; may be empty
	Err    error  // the cause, if another error lies beneath
	Over   Limit  // that the file goes over; empty for any other error
}

// Cut tells whether the file ends too early, as one does that is still being copied.
func (e *FormatError) Cut() bool { return e.Mend == stillCopying }

// Error renders "left.ply, line 12: vertex count -3 makes no sense. Export the scan again."
func (e *FormatError) Error() string {
	var b strings.Builder
	b.WriteString(e.File)
	switch {
	case e.Line > 0:
		fmt.Fprintf(&b, ", line %d", e.Line)
	case e.Offset > 0:
		fmt.Fprintf(&b, ", byte %d", e.Offset)
	}
	b.WriteString(": ")
	b.WriteString(e.Msg)
	if e.Err != nil {
		fmt.Fprintf(&b, " (%v)", e.Err)
	}
	if e.Mend != "" {
		b.WriteString(". ")
		b.WriteString(e.Mend)
		if !strings.ContainsAny(e.Mend[len(e.Mend)-1:], ".?!") {
			b.WriteByte('.')
		}
	}
	return b.String()
}

// Unwrap returns the cause.
func (e *FormatError) Unwrap() error { return e.Err }

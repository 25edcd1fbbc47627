package scan

import "fmt"

// input is one file's contents on the way to a scan.
type input struct {
	name string // base name, for messages
	data []byte
	lim  Limits
}

// stillCopying is what to do about a file that ends too early.
const stillCopying = "The file seems to be still copying or was cut off: copy it again and wait until the copy is complete"

// exportAgain is what to do about a file that is damaged or that its program wrote wrongly.
const exportAgain = "Export the scan again, best as binary PLY or STL"

// at makes the error for a byte offset.
func (in *input) at(offset int, mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Offset: int64(offset), Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// onLine makes the error for a line of a text file, counted from 1.
func (in *input) onLine(line int, mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Line: line, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// refuse makes the error for a file as a whole.
func (in *input) refuse(mend, format string, args ...any) *FormatError {
	return &FormatError{File: in.name, Msg: fmt.Sprintf(format, args...), Mend: mend}
}

// checkCounts refuses more points or triangles than the limits allow.
func (in *input) checkCounts(points, triangles int64) error {
	const mend = "Export a coarser scan, or cut it down to the outboard wing"
	if points > int64(in.lim.MaxPoints) {
		return in.refuse(mend, "it has %d points, and no more than %d are read", points, in.lim.MaxPoints)
	}
	if triangles > in.lim.maxTriangles() {
		return in.refuse(mend, "it has %d triangles, and no more than %d are read", triangles, in.lim.maxTriangles())
	}
	return nil
}

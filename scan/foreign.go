package scan

import (
	"bytes"
	"slices"
)

// exportInstead is what to do about a format that is not read here.
const exportInstead = "Export the scan as PLY or STL"

// foreign is a kind of file that is known but not read.
type foreign struct {
	what    string // "an E57 file"
	mark    string // what its contents have at offset
	offset  int
	endings []string // of the name, for contents without a mark
}

// foreigners lists them. Files that a builder might drop by mistake are named as what they are.
func foreigners() []foreign {
	return []foreign{
		{"an E57 file", "ASTM-E57", 0, []string{".e57"}},
		{"a LAZ file", "", 0, []string{".laz"}},
		{"a USDZ file", "", 0, []string{".usdz"}},
		{"a packed archive", "\x1f\x8b", 0, []string{".gz", ".tgz"}},
		{"a packed archive", "7z\xbc\xaf\x27\x1c", 0, []string{".7z"}},
		{"a USD file", "#usda", 0, []string{".usd", ".usda", ".usdc"}},
		{"an FBX file", "; FBX", 0, []string{".fbx"}},
		{"a STEP file", "ISO-10303-21", 0, []string{".step", ".stp"}},
		{"an IGES file", "", 0, []string{".iges", ".igs"}},
		{"a DXF drawing", "", 0, []string{".dxf", ".dwg"}},
		{"a VRML file", "#VRML", 0, []string{".wrl", ".vrml"}},
		{"a PTX file", "", 0, []string{".ptx"}},
		{"a PDF document", "%PDF", 0, []string{".pdf"}},
		{"a picture", "\x89PNG", 0, []string{".png"}},
		{"a picture", "\xff\xd8\xff", 0, []string{".jpg", ".jpeg"}},
		{"a picture", "GIF8", 0, []string{".gif"}},
		{"a picture", "II*\x00", 0, []string{".tif", ".tiff"}},
		{"a picture", "MM\x00*", 0, nil},
		{"a picture", "ftyphei", 4, []string{".heic", ".heif"}},
		{"a picture", "ftypmif1", 4, nil},
		{"a film", "ftyp", 4, []string{".mp4", ".mov"}},
		{"a text in UTF-16", "\xff\xfe", 0, nil},
		{"a text in UTF-16", "\xfe\xff", 0, nil},
		{"a wing sheet", "", 0, []string{".toml"}},
	}
}

// textMarks tell kinds of text by how it begins, in lower case and without blanks before.
func textMarks() []foreign {
	return []foreign{
		{what: "a web page", mark: "<!doctype html"},
		{what: "a web page", mark: "<html"},
		{what: "an XML file (COLLADA, X3D and AMF files all are)", mark: "<?xml"},
		{what: "an XML file (COLLADA, X3D and AMF files all are)", mark: "<"},
		{what: "a JSON file", mark: "{"},
	}
}

// refuseForeign refuses what is known and not read: by the contents, or by the name if no reader's contents fit.
func (in *input) refuseForeign() error {
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(in.data[:min(len(in.data), 512)], []byte("\xef\xbb\xbf")), " \t\r\n"))
	for _, f := range foreigners() {
		if f.mark != "" && len(in.data) > f.offset && bytes.HasPrefix(in.data[f.offset:], []byte(f.mark)) {
			return in.refuseKind(f)
		}
	}
	for _, f := range textMarks() {
		if bytes.HasPrefix(text, []byte(f.mark)) && isText(in.data) && !looksGLTF(in) {
			return in.refuseKind(f)
		}
	}
	if isDXF(text) {
		return in.refuseKind(foreign{what: "a DXF drawing"})
	}
	if isPTX(in.data) {
		return in.refuseKind(foreign{what: "a PTX file"})
	}
	if slices.ContainsFunc(formats(), func(f format) bool { return f.fits(in) }) {
		return nil
	}
	for _, f := range foreigners() {
		if slices.Contains(f.endings, in.ending()) {
			return in.refuseKind(f)
		}
	}
	return nil
}

func (in *input) refuseKind(f foreign) error {
	return in.refuse(exportInstead, "it is %s, which is not read here", f.what)
}

// isDXF tells a drawing by its first group: 0, SECTION.
func isDXF(text []byte) bool {
	f := bytes.Fields(text)
	return len(f) >= 2 && string(f[0]) == "0" && string(f[1]) == "section"
}

// isPTX tells a grid of points by its first lines, of which two hold a whole number each and the next ones a
// transform; taken as points, the transform would be wrong.
func isPTX(data []byte) bool {
	l := newLines(data[:min(len(data), 512)])
	for range 2 {
		line, _ := l.next()
		if _, ok := wholeNumber(bytes.TrimSpace(line)); !ok {
			return false
		}
	}
	return isText(data)
}

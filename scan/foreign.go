package scan

import (
	"bytes"
	"cmp"
	"slices"
)

// exportInstead is what to do about a format that is not read here.
const exportInstead = "Export the scan as PLY or STL"

// What to do about files that no other export of the same kind would mend.
const (
	scanInstead  = "Export the surface itself from the scanning program as PLY or STL; a picture has no sizes in it"
	unpackIt     = "Unpack it and drop the scan within, as PLY or STL"
	filmInstead  = "Scan the wing with the scanning program and export the surface as PLY or STL; a film has no sizes in it"
	gridInstead  = "Export the wing's surface as STL or PLY"
	solidInstead = "Export the scan from the scanning program as PLY or STL; a drawing or model from a CAD program shows the wing as designed, not as built"
)

// foreign is a kind of file that is known but not read.
type foreign struct {
	what    string // "an E57 file"
	mark    string // what its contents have at offset
	offset  int
	endings []string // of the name, for contents without a mark
	mend    string   // what to do instead, exportInstead if empty
}

// foreigners lists them. Files that a builder might drop by mistake are named as what they are.
func foreigners() []foreign {
	all := []foreign{
		{what: "an E57 file", mark: "ASTM-E57", endings: []string{".e57"}},
		{what: "a LAZ file", endings: []string{".laz"}},
		{what: "a USDZ file", endings: []string{".usdz"}},
		{what: "a packed archive", endings: []string{".gz", ".tgz"}, mend: unpackIt},
		{what: "a packed archive", mark: "7z\xbc\xaf\x27\x1c", endings: []string{".7z"}, mend: unpackIt},
		{what: "a packed archive", mark: "Rar!\x1a\x07", endings: []string{".rar"}, mend: unpackIt},
		{what: "a USD file", mark: "#usda", endings: []string{".usd", ".usda", ".usdc"}},
		{what: "a USD file", mark: "PXR-USDC"},
		{what: "an FBX file", mark: "; FBX", endings: []string{".fbx"}},
		{what: "an FBX file", mark: "Kaydara FBX Binary"},
		{what: "a Draco file", mark: "DRACO", endings: []string{".drc"}},
		{what: "a BLEND file", mark: "BLENDER", endings: []string{".blend"}},
		{what: "a VRML file", mark: "#VRML", endings: []string{".wrl", ".vrml"}},
		{what: "a PTX file", endings: []string{".ptx"}},
		{what: "an HDF file", mark: "\x89HDF", endings: []string{".h5", ".hdf5"}},
		{what: "a VTK file", mark: "# vtk DataFile", endings: []string{".vtk"}},
		{what: "a MSH file", mark: "$MeshFormat", endings: []string{".msh"}},
		{what: "a PDF document", mark: "%PDF", endings: []string{".pdf"}},
		{what: "a text in UTF-16", mark: "\xff\xfe"},
		{what: "a text in UTF-16", mark: "\xfe\xff"},
		{what: "a wing sheet", endings: []string{".toml"}},
	}
	return slices.Concat(all, solids(), grids(), pictures(), films())
}

// grids lists meshes that programs calculate with, and lists of triangles. Some of them are lines of numbers that
// would pass for points, so that here the name goes before such contents.
func grids() []foreign {
	all := []foreign{
		{mark: "MeshVersionFormatted", endings: []string{".mesh", ".meshb"}},
		{mark: "NDIME=", endings: []string{".su2"}},
		{mark: "*HEADING", endings: []string{".inp"}},
		{mark: "@(#)ADF", endings: []string{".cgns"}},
		{endings: []string{".node", ".ele", ".face", ".edge", ".bdf", ".nas", ".unv"}},
	}
	for i := range all {
		all[i].what, all[i].mend = "a mesh for calculations", gridInstead
	}
	return append(all, foreign{what: "a list of triangles without a head", endings: []string{".raw", ".tri"}, mend: gridInstead})
}

// solids lists the formats of CAD programs.
func solids() []foreign {
	return []foreign{
		{what: "a STEP file", mark: "ISO-10303-21", endings: []string{".step", ".stp"}, mend: solidInstead},
		{what: "an IGES file", endings: []string{".iges", ".igs"}, mend: solidInstead},
		{what: "a DWG drawing", mark: "AC10", endings: []string{".dwg"}, mend: solidInstead},
		{what: "a 3DM file", mark: "3D Geometry File Format", endings: []string{".3dm"}, mend: solidInstead},
		{what: "a DXF drawing", endings: []string{".dxf"}, mend: solidInstead},
	}
}

// pictures lists formats of still pictures.
func pictures() []foreign {
	all := []foreign{
		{mark: "\x89PNG", endings: []string{".png"}},
		{mark: "\xff\xd8\xff", endings: []string{".jpg", ".jpeg"}},
		{mark: "GIF8", endings: []string{".gif"}},
		{mark: "II*\x00", endings: []string{".tif", ".tiff", ".dng"}},
		{mark: "MM\x00*"},
		{mark: "ftyphei", offset: 4, endings: []string{".heic", ".heif"}},
		{mark: "ftyphev", offset: 4},
		{mark: "ftypmif1", offset: 4},
		{mark: "ftypmsf1", offset: 4},
		{mark: "ftypavif", offset: 4, endings: []string{".avif"}},
		{mark: "WEBP", offset: 8, endings: []string{".webp"}},
		{mark: "\x00\x00\x00\x00", offset: 6, endings: []string{".bmp"}}, // with BM before, see marked
	}
	for i := range all {
		all[i].what, all[i].mend = "a picture", scanInstead
	}
	return all
}

// films lists formats of moving pictures. They come after the pictures, which use one of the containers too.
func films() []foreign {
	all := []foreign{
		{mark: "ftyp", offset: 4, endings: []string{".mp4", ".mov", ".m4v"}},
		{mark: "AVI ", offset: 8, endings: []string{".avi"}},
		{mark: "\x1aE\xdf\xa3", endings: []string{".mkv", ".webm"}},
	}
	for i := range all {
		all[i].what, all[i].mend = "a film", filmInstead
	}
	return all
}

// marked tells whether contents have the mark, and where it alone says too little, what stands before it.
func (f foreign) marked(data []byte) bool {
	if f.mark == "" || len(data) <= f.offset || !bytes.HasPrefix(data[f.offset:], []byte(f.mark)) {
		return false
	}
	switch f.offset {
	case 6:
		return bytes.HasPrefix(data, []byte("BM"))
	case 8:
		return bytes.HasPrefix(data, []byte("RIFF"))
	}
	return true
}

// textMarks tell kinds of text by how it begins, in lower case and without blanks before.
func textMarks() []foreign {
	return []foreign{
		{what: "a web page", mark: "<!doctype html"},
		{what: "a web page", mark: "<html"},
		{what: "an XML file (COLLADA, X3D and AMF files all are)", mark: "<?xml"},
		{what: "an XML file (COLLADA, X3D and AMF files all are)", mark: "<"},
		{what: "a JSON file", mark: "{"},
		{what: "a table of a flow over a grid", mark: "variables"},
		{what: "a table of a flow over a grid", mark: "title="},
		{what: "a table of a flow over a grid", mark: "title ="},
	}
}

// refuseForeign refuses what is known and not read: by the contents, or by the name if no reader's contents fit.
func (in *input) refuseForeign() error {
	if looksBinarySTL(in) { // whatever its header begins with
		return nil
	}
	text := bytes.ToLower(bytes.TrimLeft(bytes.TrimPrefix(in.data[:min(len(in.data), 512)], []byte("\xef\xbb\xbf")), " \t\r\n"))
	for _, f := range foreigners() {
		if f.marked(in.data) {
			return in.refuseKind(f)
		}
	}
	for _, f := range textMarks() {
		if bytes.HasPrefix(text, []byte(f.mark)) && isText(in.data) && !looksGLTF(in) {
			return in.refuseKind(f)
		}
	}
	if isDXF(text) {
		return in.refuseKind(foreign{what: "a DXF drawing", mend: solidInstead})
	}
	if isIGES(in.data) {
		return in.refuseKind(foreign{what: "an IGES file", mend: solidInstead})
	}
	if isPTX(in.data) {
		return in.refuseKind(foreign{what: "a PTX file"})
	}
	if slices.ContainsFunc(formats(), func(f format) bool { return f.fits(in) }) {
		return in.refuseGrid()
	}
	for _, f := range foreigners() {
		if slices.Contains(f.endings, in.ending()) {
			return in.refuseKind(f)
		}
	}
	return nil
}

// refuseGrid refuses what is named a grid and would be read as a text of points.
func (in *input) refuseGrid() error {
	f, err := in.format()
	if err != nil || !slices.Contains(f.endings, ".xyz") {
		return nil
	}
	for _, g := range grids() {
		if slices.Contains(g.endings, in.ending()) {
			return in.refuseKind(g)
		}
	}
	return nil
}

func (in *input) refuseKind(f foreign) error {
	return in.refuse(cmp.Or(f.mend, exportInstead), "it is %s, which is not read here", f.what)
}

// isDXF tells a drawing by its first group: 0, SECTION.
func isDXF(text []byte) bool {
	f := bytes.Fields(text)
	return len(f) >= 2 && string(f[0]) == "0" && string(f[1]) == "section"
}

// isIGES tells lines of 80 columns, the first with S in column 73 and its own number after.
func isIGES(data []byte) bool {
	line, _ := newLines(data[:min(len(data), 512)]).next()
	return len(line) >= 80 && len(bytes.TrimRight(line, " ")) == 80 && line[72] == 'S' && isWhole(bytes.TrimSpace(line[73:80]))
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

package scan

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"errors"
	"slices"
	"strings"

	"github.com/qmuntal/gltf"
)

// exportGLB is what to do about a glTF file that needs something that is not read or not there.
const exportGLB = "Export the scan as one GLB file without compression, or as PLY"

// The binary form, GLB: a header of 12 bytes, then chunks with a header of 8 each (Khronos Group, glTF 2.0
// Specification, section 4.4).
const (
	glbHeader = 12
	glbChunk  = 8
	glbJSON   = 0x4e4f534a
	glbBinary = 0x004e4942
)

func looksGLB(in *input) bool { return bytes.HasPrefix(in.data, []byte("glTF")) }

// looksGLTF tells the text form: JSON with the one member that a glTF must have, or with the name's word for it.
func looksGLTF(in *input) bool {
	if looksGLB(in) {
		return true
	}
	text := bytes.TrimLeft(bytes.TrimPrefix(in.data, []byte("\xef\xbb\xbf")), " \t\r\n")
	if !bytes.HasPrefix(text, []byte("{")) {
		return false
	}
	return in.ending() == ".gltf" || bytes.Contains(text, []byte(`"asset"`)) && bytes.Contains(text, []byte(`"buffers"`))
}

// gltfReader reads the meshes of a glTF 2.0 scene. The library gives the document's types; numbers are fetched
// here, since the library's own way makes room for as many as the document claims.
type gltfReader struct {
	in      *input
	doc     gltf.Document
	binary  []byte // the GLB's second chunk, nil if there is none
	build   *build
	buffers map[int][]byte
	bytes   int64 // of the buffers that were brought in from elsewhere
}

func readGLTF(in *input) (*Scan, error) {
	if err := in.load(); err != nil {
		return nil, err
	}
	g := &gltfReader{in: in, build: &build{in: in}, buffers: map[int][]byte{}}
	text := bytes.TrimPrefix(in.data, []byte("\xef\xbb\xbf"))
	if looksGLB(in) {
		var err error
		if text, err = g.chunks(); err != nil {
			return nil, err
		}
	}
	if err := g.decode(text); err != nil {
		return nil, err
	}
	if err := g.checkExtensions(); err != nil {
		return nil, err
	}
	if err := g.scene(); err != nil {
		return nil, err
	}
	s, err := g.build.scan("gltf")
	if err != nil {
		return nil, err
	}
	s.Unit = Metre
	return s, nil
}

// chunks splits a GLB and returns its JSON.
func (g *gltfReader) chunks() ([]byte, error) {
	d := g.in.data
	if len(d) < glbHeader+glbChunk {
		return nil, g.in.at(g.in.size, stillCopying, "the file ends within the GLB header")
	}
	if v := binary.LittleEndian.Uint32(d[4:]); v != 2 {
		return nil, g.in.at(4, "Export the scan as GLB of version 2, or as PLY", "it is GLB version %d, and only version 2 is read", v)
	}
	if n := int64(binary.LittleEndian.Uint32(d[8:])); n > g.in.size {
		return nil, g.in.at(g.in.size, stillCopying, "it should have %d bytes, but only %d are there", n, g.in.size)
	} else if n < g.in.size {
		g.build.messages = append(g.build.messages, Notef("left-over", "The file goes on for %d bytes after the end that its header gives. The rest was not read.", g.in.size-n))
		d = d[:max(n, glbHeader)]
	}
	text, rest, err := g.chunk(d, glbHeader, glbJSON)
	if err != nil {
		return nil, err
	}
	if text == nil {
		return nil, g.in.at(glbHeader, exportAgain, "the first part of the GLB is not JSON")
	}
	for len(rest) >= glbChunk && g.binary == nil {
		if g.binary, rest, err = g.chunk(d, len(d)-len(rest), glbBinary); err != nil {
			return nil, err
		}
	}
	return text, nil
}

// chunk returns the chunk at a place if it is of the kind, and what comes after it.
func (g *gltfReader) chunk(d []byte, at int, kind uint32) (body, rest []byte, err error) {
	if len(d)-at < glbChunk {
		return nil, nil, g.in.at(int64(len(d)), exportAgain, "the file ends within the header of a part")
	}
	n := int64(binary.LittleEndian.Uint32(d[at:]))
	found := binary.LittleEndian.Uint32(d[at+4:])
	d = d[at+glbChunk:]
	if n > int64(len(d)) {
		return nil, nil, g.in.at(int64(at), exportAgain, "a part of %d bytes goes beyond the %d that are left", n, len(d))
	}
	if rest = d[n:]; found == kind {
		body = d[:n:n]
	}
	return body, rest, nil
}

// decode reads the JSON. Its version is asked first, since version 1 differs in everything.
func (g *gltfReader) decode(text []byte) error {
	var head struct {
		Asset *struct {
			Version string `json:"version"`
		} `json:"asset"`
	}
	text = bytes.TrimRight(text, "\x00 \t\r\n") // writers fill the part up with either
	if err := json.Unmarshal(text, &head); err != nil {
		return g.badJSON(text, err)
	}
	switch {
	case head.Asset == nil:
		return g.in.refuse(exportInstead, "it is a JSON file but no glTF, since it has no asset")
	case !strings.HasPrefix(head.Asset.Version, "2."):
		return g.in.refuse("Export the scan as glTF of version 2, or as PLY", "it is glTF version %s, and only version 2 is read", shown([]byte(head.Asset.Version)))
	}
	if err := json.Unmarshal(text, &g.doc); err != nil {
		return g.badJSON(text, err)
	}
	return nil
}

func (g *gltfReader) badJSON(text []byte, err error) error {
	mend := exportAgain
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) && syntax.Offset >= int64(len(text)) {
		mend = stillCopying
	}
	f := g.in.refuse(mend, "its JSON cannot be read")
	f.Err = err
	return f
}

// checkExtensions refuses documents that cannot be understood without an extension that is not known here. Those
// about looks do not matter; quantised meshes are read.
func (g *gltfReader) checkExtensions() error {
	for _, name := range g.doc.ExtensionsRequired {
		switch {
		case isLooks(name) || name == "KHR_mesh_quantization":
		case strings.Contains(name, "draco") || strings.Contains(name, "meshopt"):
			return g.packed(name)
		default:
			return g.in.refuse(exportGLB, "it cannot be read without the glTF extension %s, which is not known here", shown([]byte(name)))
		}
	}
	return nil
}

func (g *gltfReader) packed(name string) error {
	return g.in.refuse(exportGLB, "its mesh is compressed (%s), which is not read here", name)
}

// isLooks tells an extension that changes how a surface looks, not where it lies.
func isLooks(name string) bool {
	_, after, _ := strings.Cut(name, "_")
	return slices.ContainsFunc([]string{"materials", "texture", "lights", "xmp"}, func(kind string) bool { return strings.HasPrefix(after, kind) })
}

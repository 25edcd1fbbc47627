package outbox

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image/color"
	"math"

	"gonum.org/v1/gonum/spatial/r3"
)

// Names of the scanned panel's files for other viewers.
const (
	SolidPLYName = "departures.ply"
	SolidGLBName = "departures.glb"
)

// seenMesh is the part of a mesh that was seen: its points, numbered anew, and triangles.
type seenMesh struct {
	nodes     []*skinNode
	triangles [][3]uint32
}

func (g *skinMesh) seenPart() seenMesh {
	var s seenMesh
	number := make(map[int]uint32)
	of := func(k int) uint32 {
		n, ok := number[k]
		if !ok {
			n = uint32(len(s.nodes))
			number[k] = n
			s.nodes = append(s.nodes, &g.nodes[k])
		}
		return n
	}
	for _, f := range g.faces() {
		a, b, c, d := of(f[0]), of(f[1]), of(f[2]), of(f[3])
		s.triangles = append(s.triangles, [3]uint32{a, b, c}, [3]uint32{a, c, d})
	}
	return s
}

// little writes numbers in little-endian order. Writing into memory cannot fail.
func little(b *bytes.Buffer, v any) { _ = binary.Write(b, binary.LittleEndian, v) }

func single(p r3.Vec) [3]float32 { return [3]float32{float32(p.X), float32(p.Y), float32(p.Z)} }

// ply writes the seen skin as binary PLY (G. Turk, "The PLY polygon file format", 1994, from memory): wing
// frame, mm, with colour, departure and its uncertainty (k = 2) at every point.
func (g *skinMesh) ply() []byte {
	s := g.seenPart()
	var b bytes.Buffer
	fmt.Fprintf(&b, "ply\nformat binary_little_endian 1.0\ncomment wing frame, mm: x aft, y to starboard, z up; departure and u in mm\n"+
		"element vertex %d\nproperty float x\nproperty float y\nproperty float z\n"+
		"property uchar red\nproperty uchar green\nproperty uchar blue\nproperty float departure_mm\nproperty float u_mm\n"+
		"element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(s.nodes), len(s.triangles))
	for _, n := range s.nodes {
		c := departureColour(n.departure / g.span)
		little(&b, single(n.at()))
		b.Write([]byte{c.R, c.G, c.B})
		little(&b, [2]float32{float32(n.departure), float32(n.u)})
	}
	for _, t := range s.triangles {
		b.WriteByte(3)
		little(&b, t)
	}
	return b.Bytes()
}

// Numbers of the glTF 2.0 specification (Khronos Group, 2017; ISO/IEC 12113:2022, from memory).
const (
	glbMagic, glbVersion  = 0x46546c67, 2
	glbJSON, glbBIN       = 0x4e4f534a, 0x004e4942
	glFloat, glUint       = 5126, 5125
	glUshort              = 5123
	glArray, glElement    = 34962, 34963
	glTriangles           = 4
	metresFromMillimetres = 1e-3
)

// upright takes the wing frame, mm, to that of glTF: metres, y up, right-handed.
func upright(p r3.Vec) r3.Vec { return r3.Vec{X: p.X, Y: p.Z, Z: -p.Y} }

// linear takes a colour to linear light, as glTF wants the colours of points.
func linear(c color.RGBA) [4]uint16 {
	of := func(v uint8) uint16 {
		x := float64(v) / 255
		if x <= 0.04045 {
			x /= 12.92
		} else {
			x = math.Pow((x+0.055)/1.055, 2.4)
		}
		return uint16(math.Round(65535 * x))
	}
	return [4]uint16{of(c.R), of(c.G), of(c.B), 65535}
}

// glb writes the seen skin as binary glTF 2.0 with the colours of the departures.
func (g *skinMesh) glb() ([]byte, error) {
	s := g.seenPart()
	if len(s.triangles) == 0 {
		return nil, nil
	}
	var places, normals, colours, index bytes.Buffer
	lo, hi := [3]float32{}, [3]float32{}
	for i, n := range s.nodes {
		p := single(r3.Scale(metresFromMillimetres, upright(n.at())))
		for k, v := range p {
			if i == 0 || v < lo[k] {
				lo[k] = v
			}
			if i == 0 || v > hi[k] {
				hi[k] = v
			}
		}
		little(&places, p)
		little(&normals, single(upright(n.normal)))
		little(&colours, linear(departureColour(n.departure/g.span)))
	}
	for _, t := range s.triangles {
		little(&index, t)
	}
	return glbFile(len(s.nodes), 3*len(s.triangles), lo, hi, places.Bytes(), normals.Bytes(), colours.Bytes(), index.Bytes())
}

// glbFile puts the parts together: places, normals, colours, indices, each a multiple of four bytes.
func glbFile(points, indices int, lo, hi [3]float32, parts ...[]byte) ([]byte, error) {
	type object = map[string]any
	var views []object
	at := 0
	for i, p := range parts {
		target := glArray
		if i == len(parts)-1 {
			target = glElement
		}
		views = append(views, object{"buffer": 0, "byteOffset": at, "byteLength": len(p), "target": target})
		at += len(p)
	}
	scene := object{
		"asset": object{"version": "2.0", "generator": "tipwright"}, "scene": 0, "scenes": []object{{"nodes": []int{0}}},
		"nodes": []object{{"mesh": 0, "name": "scanned panel"}},
		"meshes": []object{{"primitives": []object{{"attributes": object{"POSITION": 0, "NORMAL": 1, "COLOR_0": 2},
			"indices": 3, "material": 0, "mode": glTriangles}}}},
		"materials":   []object{{"doubleSided": true, "pbrMetallicRoughness": object{"metallicFactor": 0, "roughnessFactor": 1}}},
		"buffers":     []object{{"byteLength": at}},
		"bufferViews": views,
		"accessors": []object{
			{"bufferView": 0, "componentType": glFloat, "count": points, "type": "VEC3", "min": lo, "max": hi},
			{"bufferView": 1, "componentType": glFloat, "count": points, "type": "VEC3"},
			{"bufferView": 2, "componentType": glUshort, "normalized": true, "count": points, "type": "VEC4"},
			{"bufferView": 3, "componentType": glUint, "count": indices, "type": "SCALAR"},
		},
	}
	text, err := json.Marshal(scene)
	if err != nil {
		return nil, err
	}
	for len(text)%4 != 0 {
		text = append(text, ' ')
	}
	data := bytes.Join(parts, nil)
	var b bytes.Buffer
	little(&b, []uint32{glbMagic, glbVersion, uint32(12 + 8 + len(text) + 8 + len(data)), uint32(len(text)), glbJSON})
	b.Write(text)
	little(&b, []uint32{uint32(len(data)), glbBIN})
	b.Write(data)
	return b.Bytes(), nil
}

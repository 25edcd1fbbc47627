package outbox

import (
	"bytes"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"image/color"
	"math"
	"slices"

	"gonum.org/v1/gonum/spatial/r3"
)

// Names of the scanned panel's files for other viewers.
const (
	SolidPLYName = "departures.ply"
	SolidGLBName = "departures.glb"
)

// seenMesh is the part of a mesh that was seen: its points, numbered anew, their colours, and triangles.
type seenMesh struct {
	nodes     []*skinNode
	colours   []color.RGBA
	triangles [][3]uint32
}

func (g *skinMesh) seenPart() seenMesh {
	var s seenMesh
	faces := g.faces()
	number := make([]uint32, len(g.nodes)) // from 1; 0 has none yet
	s.triangles = make([][3]uint32, 0, 2*len(faces))
	of := func(k int) uint32 {
		if number[k] == 0 {
			s.nodes = append(s.nodes, &g.nodes[k])
			s.colours = append(s.colours, departureColour(g.nodes[k].departure/g.span))
			number[k] = uint32(len(s.nodes))
		}
		return number[k] - 1
	}
	for _, f := range faces {
		a, b, c, d := of(f[0]), of(f[1]), of(f[2]), of(f[3])
		s.triangles = append(s.triangles, [3]uint32{a, b, c}, [3]uint32{a, c, d})
	}
	return s
}

// little appends numbers in little-endian order.
func little(b []byte, v ...uint32) []byte {
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, x)
	}
	return b
}

// littleFloats appends numbers of four bytes in little-endian order.
func littleFloats(b []byte, v ...float32) []byte {
	for _, x := range v {
		b = binary.LittleEndian.AppendUint32(b, math.Float32bits(x))
	}
	return b
}

func single(p r3.Vec) [3]float32 { return [3]float32{float32(p.X), float32(p.Y), float32(p.Z)} }

// ply writes the seen skin as binary PLY (G. Turk, "The PLY polygon file format", 1994, from memory): wing
// frame, mm, with colour, departure and its uncertainty (k = 2) at every point.
func (s seenMesh) ply() []byte {
	b := fmt.Appendf(nil, "ply\nformat binary_little_endian 1.0\ncomment wing frame, mm: x aft, y to starboard, z up; departure and u in mm\n"+
		"element vertex %d\nproperty float x\nproperty float y\nproperty float z\n"+
		"property uchar red\nproperty uchar green\nproperty uchar blue\nproperty float departure_mm\nproperty float u_mm\n"+
		"element face %d\nproperty list uchar int vertex_indices\nend_header\n", len(s.nodes), len(s.triangles))
	b = slices.Grow(b, 23*len(s.nodes)+13*len(s.triangles))
	for i, n := range s.nodes {
		p, c := single(n.at()), s.colours[i]
		b = append(littleFloats(b, p[:]...), c.R, c.G, c.B)
		b = littleFloats(b, float32(n.departure), float32(n.u))
	}
	for _, t := range s.triangles {
		b = little(append(b, 3), t[:]...)
	}
	return b
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

// linearTable takes the channels of a colour to linear light, as glTF wants the colours of points.
func linearTable() (table [256]uint16) {
	for v := range table {
		x := float64(v) / 255
		if x <= 0.04045 {
			x /= 12.92
		} else {
			x = math.Pow((x+0.055)/1.055, 2.4)
		}
		table[v] = uint16(math.Round(65535 * x))
	}
	return table
}

// glb writes the seen skin as binary glTF 2.0 with the colours of the departures.
func (s seenMesh) glb() ([]byte, error) {
	if len(s.triangles) == 0 {
		return nil, nil
	}
	var places, normals, colours, index []byte
	lo, hi := [3]float32{}, [3]float32{}
	light := linearTable()
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
		q, c := single(upright(n.normal)), s.colours[i]
		places, normals = littleFloats(places, p[:]...), littleFloats(normals, q[:]...)
		for _, v := range [4]uint16{light[c.R], light[c.G], light[c.B], 65535} {
			colours = binary.LittleEndian.AppendUint16(colours, v)
		}
	}
	for _, t := range s.triangles {
		index = little(index, t[:]...)
	}
	return glbFile(len(s.nodes), 3*len(s.triangles), lo, hi, places, normals, colours, index)
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
	b := little(nil, glbMagic, glbVersion, uint32(12+8+len(text)+8+len(data)), uint32(len(text)), glbJSON)
	b = little(append(b, text...), uint32(len(data)), glbBIN)
	return append(b, data...), nil
}

package scan

import (
	"encoding/base64"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// glb packs JSON and bytes into the binary form.
func glb(text string, bin []byte) []byte {
	for len(text)%4 != 0 {
		text += " "
	}
	for len(bin)%4 != 0 {
		bin = append(bin, 0)
	}
	b := []byte("glTF\x02\x00\x00\x00")
	b = binary.LittleEndian.AppendUint32(b, uint32(12+8+len(text)+8+len(bin)))
	b = binary.LittleEndian.AppendUint32(b, uint32(len(text)))
	b = append(append(b, "JSON"...), text...)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(bin)))
	return append(append(b, "BIN\x00"...), bin...)
}

const asset = `"asset":{"version":"2.0"},`

func embedded(b []byte) string {
	return fmt.Sprintf(`"buffers":[{"byteLength":%d,"uri":"data:application/octet-stream;base64,%s"}],`, len(b), base64.StdEncoding.EncodeToString(b))
}

// plainGLB is what a phone writes: one mesh, positions, then indices of four bytes.
func plainGLB(_ testing.TB, s *Scan) []byte {
	var b []byte
	for i := range s.Points {
		for _, c := range s.At(i) {
			b = appendFloat(b, c)
		}
	}
	points := len(b)
	for _, t := range s.Triangles {
		for _, c := range t {
			b = binary.LittleEndian.AppendUint32(b, c)
		}
	}
	return glb(fmt.Sprintf(`{%s"scene":0,"scenes":[{"nodes":[0]}],"nodes":[{"mesh":0}],"meshes":[{"primitives":[{"attributes":{"POSITION":0},"indices":1}]}],`+
		`"accessors":[{"bufferView":0,"componentType":5126,"count":%d,"type":"VEC3"},{"bufferView":1,"componentType":5125,"count":%d,"type":"SCALAR"}],`+
		`"bufferViews":[{"buffer":0,"byteLength":%d},{"buffer":0,"byteOffset":%d,"byteLength":%d}],"buffers":[{"byteLength":%d}]}`,
		asset, len(s.Points), 3*len(s.Triangles), points, points, len(b)-points, len(b)), b)
}

// turnedGLTF has indices of two bytes before points that stand among normals, in a node that swaps axes and
// mirrors, beneath one that halves all lengths. All of it is exact in binary numbers.
func turnedGLTF(_ testing.TB, s *Scan) []byte {
	var b []byte
	for _, t := range s.Triangles {
		for _, c := range []int{0, 2, 1} { // the mirror turns them round
			b = binary.LittleEndian.AppendUint16(b, uint16(t[c]))
		}
	}
	for len(b)%4 != 0 {
		b = append(b, 0)
	}
	at := len(b)
	for i := range s.Points {
		p := s.At(i)
		b = append(b, 0, 0, 0, 0)
		for _, c := range []float64{2 * p[1], 2 * p[0], 2 * p[2]} {
			b = appendFloat(b, c)
		}
		b = append(b, 1, 2, 3, 4, 5, 6, 7, 8)
	}
	return fmt.Appendf(nil, `{%s%s"nodes":[{"name":"none"},{"matrix":[0,1,0,0, 1,0,0,0, 0,0,1,0, 0,0,0,1],"mesh":0},{"scale":[0.5,0.5,0.5],"children":[1,0]}],`+
		`"meshes":[{"primitives":[{"attributes":{"NORMAL":7,"POSITION":1},"indices":0,"mode":4}]}],"accessors":[{"bufferView":0,"componentType":5123,"count":%d,"type":"SCALAR"},`+
		`{"bufferView":1,"byteOffset":4,"componentType":5126,"count":%d,"type":"VEC3"}],"bufferViews":[{"buffer":0,"byteLength":%d},`+
		`{"buffer":0,"byteOffset":%d,"byteLength":%d,"byteStride":24}]}`, asset, embedded(b), 3*len(s.Triangles), len(s.Points), at, at, len(b)-at)
}

// sparseGLTF has no positions but sparse ones, in a document of meshes alone.
func sparseGLTF(_ testing.TB, s *Scan) []byte {
	var b []byte
	for i := range s.Points {
		b = binary.LittleEndian.AppendUint32(b, uint32(i))
	}
	rows := len(b)
	for i := range s.Points {
		for _, c := range s.At(i) {
			b = appendFloat(b, c)
		}
	}
	points := len(b)
	for _, t := range s.Triangles {
		for _, c := range t {
			b = binary.LittleEndian.AppendUint32(b, c)
		}
	}
	return fmt.Appendf(nil, `{%s%s"meshes":[{"primitives":[{"attributes":{"POSITION":0},"indices":1}]}],"accessors":[{"componentType":5126,"count":%d,"type":"VEC3",`+
		`"sparse":{"count":%[3]d,"indices":{"bufferView":0,"componentType":5125},"values":{"bufferView":0,"byteOffset":%d}}},`+
		`{"bufferView":0,"byteOffset":%d,"componentType":5125,"count":%d,"type":"SCALAR"}],"bufferViews":[{"buffer":0,"byteLength":%d}]}`,
		asset, embedded(b), len(s.Points), rows, points, 3*len(s.Triangles), len(b))
}

// gltfTriangle is one triangle, (0, 0, 0), (2, 0, 0), (0, 0.5, 0), in 36 bytes, with %s for members of the
// document and for those of the primitive.
func gltfTriangle(document, primitive string) []byte {
	var b []byte
	for _, c := range []float64{0, 0, 0, 2, 0, 0, 0, 0.5, 0} {
		b = appendFloat(b, c)
	}
	return glb(fmt.Sprintf(`{%s"buffers":[{"byteLength":36}],"bufferViews":[{"buffer":0,"byteLength":36}],"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],`+
		`%s"meshes":[{"primitives":[{"attributes":{"POSITION":0}%s}]}]}`, asset, document, primitive), b)
}

// TestGLTFPlacement stands one triangle in several ways; where its corners come to lie is worked out by hand.
func TestGLTFPlacement(t *testing.T) {
	for _, c := range []struct {
		what, nodes string
		want        [][3]float64
	}{
		{"no nodes", ``, [][3]float64{{0, 0, 0}, {2, 0, 0}, {0, 0.5, 0}}},
		{"moved", `"nodes":[{"mesh":0,"translation":[1,-2,3]}],`, [][3]float64{{1, -2, 3}, {3, -2, 3}, {1, -1.5, 3}}},
		{"a quarter turn about z", `"nodes":[{"mesh":0,"rotation":[0,0,0.7071067811865476,0.7071067811865476]}],`, [][3]float64{{0, 0, 0}, {0, 2, 0}, {-0.5, 0, 0}}},
		{"a quarter turn about y, not of unit length", `"nodes":[{"mesh":0,"rotation":[0,2,0,2]}],`, [][3]float64{{0, 0, 0}, {0, 0, -2}, {0, 0.5, 0}}},
		{"a quarter turn about x", `"nodes":[{"mesh":0,"rotation":[1,0,0,1]}],`, [][3]float64{{0, 0, 0}, {2, 0, 0}, {0, 0, 0.5}}},
		{"scale, turn, move", `"nodes":[{"mesh":0,"scale":[3,4,5],"rotation":[0,0,1,1],"translation":[10,0,0]}],`, [][3]float64{{10, 0, 0}, {10, 6, 0}, {8, 0, 0}}},
		{"the parent last", `"nodes":[{"children":[1],"translation":[10,0,0]},{"mesh":0,"scale":[2,2,2]}],`, [][3]float64{{10, 0, 0}, {14, 0, 0}, {10, 1, 0}}},
		{"mirrored", `"nodes":[{"mesh":0,"scale":[-1,1,1]}],`, [][3]float64{{0, 0, 0}, {0, 0.5, 0}, {-2, 0, 0}}},
		{"twice", `"nodes":[{"mesh":0},{"mesh":0,"translation":[0,0,1]}],`, [][3]float64{{0, 0, 0}, {2, 0, 0}, {0, 0.5, 0}, {0, 0, 1}, {2, 0, 1}, {0, 0.5, 1}}},
		{"one scene of two", `"scene":1,"scenes":[{"nodes":[0]},{"nodes":[1]}],"nodes":[{"mesh":0},{"mesh":0,"translation":[0,0,1]}],`, [][3]float64{{0, 0, 1}, {2, 0, 1}, {0, 0.5, 1}}},
	} {
		s, err := Decode(gltfTriangle(c.nodes, ""), "left.glb", Limits{})
		if err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		var got [][3]float64
		for _, f := range s.Triangles {
			for _, k := range f {
				got = append(got, s.At(int(k)))
			}
		}
		if !slices.EqualFunc(got, c.want, close9) || s.Unit != Metre || s.Format != "gltf" {
			t.Errorf("%s: %v, want %v", c.what, got, c.want)
		}
	}
}

func close9(a, b [3]float64) bool {
	return math.Abs(a[0]-b[0])+math.Abs(a[1]-b[1])+math.Abs(a[2]-b[2]) < 1e-6
}

// TestGLTFNumbers reads whole numbers as positions, plain and as fractions: 127 of a signed byte and 65535 of an
// unsigned short stand for 1, and what would lie below -1 for -1 (glTF 2.0 Specification, section 3.11).
func TestGLTFNumbers(t *testing.T) {
	for _, c := range []struct {
		kind, stride int
		normalized   bool
		bytes        string
		want         [3]float64
	}{
		{5120, 4, false, "\x7f\x80\x05", [3]float64{127, -128, 5}}, {5120, 4, true, "\x7f\x80\x00", [3]float64{1, -1, 0}}, {5121, 4, false, "\xff\x00\x01", [3]float64{255, 0, 1}},
		{5121, 4, true, "\xff\x00\x33", [3]float64{1, 0, 0.2}}, {5122, 8, false, "\xff\x7f\x00\x80\x01\x00", [3]float64{32767, -32768, 1}},
		{5122, 8, true, "\xff\x7f\x00\x80\x00\x00", [3]float64{1, -1, 0}}, {5123, 8, true, "\xff\xff\x00\x00\x33\x33", [3]float64{1, 0, 0.2}},
	} {
		data := glb(fmt.Sprintf(`{%s"extensionsRequired":["KHR_mesh_quantization","KHR_texture_transform"],"buffers":[{"byteLength":%d}],"bufferViews":[{"buffer":0,"byteLength":%[2]d,"byteStride":%d}],`+
			`"accessors":[{"bufferView":0,"componentType":%d,"normalized":%v,"count":1,"type":"VEC3"}],"meshes":[{"primitives":[{"mode":0,"attributes":{"POSITION":0}}]}]}`,
			asset, len(c.bytes), c.stride, c.kind, c.normalized), []byte(c.bytes))
		s, err := Decode(data, "left.glb", Limits{})
		if err != nil || !close9(s.At(0), c.want) || s.Triangles != nil {
			t.Errorf("%+v: %+v %v", c, s, err)
		}
	}
}

// TestGLTFModes makes triangles of strips, fans, small indices and several primitives that share their points.
func TestGLTFModes(t *testing.T) {
	var b []byte
	for _, c := range []float64{0, 0, 0, 2, 0, 0, 2, 1, 0, 0, 1, 0} {
		b = appendFloat(b, c)
	}
	b = append(b, 0, 1, 3, 2, 0, 1, 2, 3)
	for _, c := range []struct {
		primitives string
		triangles  int
		points     int
		message    string
	}{
		{`{"attributes":{"POSITION":0},"indices":1,"mode":5}`, 2, 4, ""},
		{`{"attributes":{"POSITION":0},"indices":2,"mode":6}`, 2, 4, ""},
		{`{"attributes":{"POSITION":0},"mode":6}`, 2, 4, ""},
		{`{"attributes":{"POSITION":0},"indices":3},{"attributes":{"POSITION":0},"indices":4}`, 2, 4, ""},
		{`{"attributes":{"POSITION":0},"mode":6},{"attributes":{"POSITION":0},"mode":0},{"attributes":{"POSITION":0},"mode":3}`, 2, 4, "points-beside-mesh"},
		{`{"attributes":{"POSITION":0},"mode":0}`, 0, 4, ""},
	} {
		data := glb(fmt.Sprintf(`{%s"buffers":[{"byteLength":56}],"bufferViews":[{"buffer":0,"byteLength":48},{"buffer":0,"byteOffset":48,"byteLength":8}],`+
			`"accessors":[{"bufferView":0,"componentType":5126,"count":4,"type":"VEC3"},{"bufferView":1,"componentType":5121,"count":4,"type":"SCALAR"},`+
			`{"bufferView":1,"byteOffset":4,"componentType":5121,"count":4,"type":"SCALAR"},{"bufferView":1,"componentType":5121,"count":3,"type":"SCALAR"},`+
			`{"bufferView":1,"byteOffset":5,"componentType":5121,"count":3,"type":"SCALAR"}],"meshes":[{"primitives":[%s]}]}`, asset, c.primitives), b)
		s, err := Decode(data, "left.glb", Limits{MaxPoints: 4})
		if err != nil || len(s.Triangles) != c.triangles || len(s.Points) != c.points || (len(s.Messages) > 0) != (c.message != "") {
			t.Errorf("%s: %+v %v", c.primitives, s, err)
			continue
		}
		up := 0.0
		for _, f := range s.Triangles {
			a, b, c := s.At(int(f[0])), s.At(int(f[1])), s.At(int(f[2]))
			up += ((b[0]-a[0])*(c[1]-a[1]) - (b[1]-a[1])*(c[0]-a[0])) / 2
		}
		if c.triangles > 0 && !strings.Contains(c.primitives, `"indices":3`) && math.Abs(up-2) > 1e-9 {
			t.Errorf("%s: the square has an area of %v", c.primitives, up)
		}
	}
}

// TestGLTFBeside refuses points from another file, on disk too: the sum of the source would not cover them.
func TestGLTFBeside(t *testing.T) {
	dir := t.TempDir()
	var b []byte
	for _, c := range []float64{0, 0, 0, 2, 0, 0, 0, 0.5, 0} {
		b = appendFloat(b, c)
	}
	document := func(uri string) []byte {
		return fmt.Appendf(nil, `{%s"buffers":[{"byteLength":36,"uri":"%s"}],"bufferViews":[{"buffer":0,"byteLength":36}],`+
			`"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}]}`, asset, uri)
	}
	put := func(name string, data []byte) {
		if err := os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	put("shop/left wing.bin", b)
	put("shop/parts/a.bin", b)
	for _, c := range []struct{ uri, says, mend string }{
		{"left%20wing.bin", `"left wing.bin"`, exportTogether}, {"parts/a.bin", "lie in another file", "pack both files into one ZIP"},
		{"../secret.bin", "lie elsewhere", "as one GLB"}, {"%2e%2e/secret.bin", "lie elsewhere", "as one GLB"}, {"/etc/hostname", "lie elsewhere", "as one GLB"},
		{"https://example.org/a.bin", "lie elsewhere", "as one GLB"}, {"//example.org/a.bin", "lie elsewhere", "as one GLB"},
		{"data:text/plain,hello", "lie elsewhere", "as one GLB"}, {"data:application/gltf-buffer;base64,?", "not valid base64", "again"},
	} {
		put("shop/left.gltf", document(c.uri))
		_, err := Read(filepath.Join(dir, "shop/left.gltf"), Limits{})
		if f, ok := err.(*FormatError); !ok || !strings.Contains(err.Error(), c.says) || !strings.Contains(f.Mend, c.mend) {
			t.Errorf("%s: %v", c.uri, err)
		}
	}
}

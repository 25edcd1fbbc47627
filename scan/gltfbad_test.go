package scan

import (
	"strings"
	"testing"
)

func TestGLTFMalformed(t *testing.T) {
	good := string(gltfTriangle(`"extensionsUsed":["KHR_draco_mesh_compression"],"nodes":[{"mesh":0,"children":[1]},{}],`, `,"indices":0`))
	good = strings.Replace(good, `"meshes"`, `"scenes":[{"nodes":[0]}],"meshes"`, 1)
	text := good[20 : strings.LastIndex(good, "}")+1]
	bin := good[len(good)-36:]
	for _, c := range []struct{ old, new, says, mend string }{
		{`"version":"2.0"`, `"version":"1.0"`, `glTF version "1.0"`, "version 2"},
		{`"asset":{"version":"2.0"},`, ``, "no asset", exportInstead},
		{`"count":3`, `"count":"3"`, "JSON cannot be read", exportAgain},
		{`]}]}`, ``, "JSON cannot be read", stillCopying},
		{`"extensionsUsed"`, `"extensionsRequired"`, "compressed (KHR_draco_mesh_compression)", exportGLB},
		{`"extensionsUsed":["KHR_draco_mesh_compression"]`, `"extensionsRequired":["EXT_meshopt_compression"]`, "compressed (EXT_meshopt_compression)", exportGLB},
		{`"extensionsUsed":["KHR_draco_mesh_compression"]`, `"extensionsRequired":["EXT_mesh_gpu_instancing"]`, "without the glTF extension", exportGLB},
		{`"bufferViews":[{`, `"bufferViews":[{"extensions":{"EXT_meshopt_compression":{}},`, "compressed (EXT_meshopt_compression)", exportGLB},
		{`"bufferView":0,`, ``, "has no numbers", exportGLB},
		{`"bufferView":0,`, `"sparse":{"count":1,"indices":{"bufferView":0,"componentType":5125},"values":{"bufferView":0}},`, "indices", exportAgain},
		{`"bufferView":0,`, `"sparse":{"count":4,"indices":{"bufferView":0,"componentType":5125},"values":{"bufferView":0}},`, "4 sparse values for 3", exportAgain},
		{`"bufferView":0,`, `"sparse":{"count":3,"indices":{"bufferView":0,"byteOffset":13,"componentType":5121},"values":{"bufferView":0}},`, "stands for number 64 of 3", exportAgain},
		{`"bufferView":0,`, `"bufferView":1,`, "no buffer view 1", exportAgain},
		{`"bufferView":0,`, `"bufferView":-1,`, "no buffer view -1", exportAgain},
		{`"bufferView":0,`, `"bufferView":0,"byteOffset":-4,`, "cannot hold", exportAgain},
		{`"bufferView":0,`, `"bufferView":0,"byteOffset":4,`, "cannot hold", exportAgain},
		{`"bufferView":0,`, `"bufferView":0,"byteOffset":9223372036854775807,`, "cannot hold", exportAgain},
		{`"bufferViews":[{"buffer":0,`, `"bufferViews":[{"buffer":0,"byteStride":4,`, "cannot hold", exportAgain},
		{`"bufferViews":[{"buffer":0,`, `"bufferViews":[{"buffer":0,"byteOffset":1,`, "takes bytes 1 and 36 more", exportAgain},
		{`"bufferViews":[{"buffer":0,`, `"bufferViews":[{"buffer":0,"byteOffset":-1,`, "takes bytes -1", exportAgain},
		{`"bufferViews":[{"buffer":0,`, `"bufferViews":[{"buffer":2,`, "no buffer 2", exportAgain},
		{`"bufferViews":[{`, `"bufferViews":[null,{`, "no buffer view 0", exportAgain},
		{`"buffers":[{"byteLength":36}]`, `"buffers":[{"byteLength":99}]`, "should have 99 bytes, but has 36", stillCopying},
		{`"buffers":[{"byteLength":36}]`, `"buffers":[{"byteLength":0}]`, "should have 0 bytes", stillCopying},
		{`"count":3`, `"count":4`, "cannot hold", exportAgain},
		{`"count":3`, `"count":-1`, "-1 values", exportAgain},
		{`"count":3`, `"count":2000000000`, "cannot hold", exportAgain},
		{`"type":"VEC3"`, `"type":"VEC2"`, "VEC3 is needed", exportAgain},
		{`"componentType":5126`, `"componentType":5125`, "whole numbers of 4 bytes", exportAgain},
		{`"POSITION":0`, `"POSITION":1`, "no accessor 1", exportAgain},
		{`"mesh":0`, `"mesh":1`, "no mesh 1", exportAgain},
		{`"nodes":[0]`, `"nodes":[2]`, "node 2 is not there", exportAgain},
		{`{}]`, `{"children":[0]}]`, "stands in two places", exportAgain},
		{`{}]`, `null]`, "node 1", exportAgain},
		{`"nodes":[0]`, `"nodes":[1]`, "neither a mesh nor a cloud", exportAgain},
		{`"indices":0`, `"mode":1`, "neither a mesh nor a cloud", exportAgain},
		{`"indices":0`, `"indices":0`, "accessor 0 for indices", exportAgain},
	} {
		if !strings.Contains(text, c.old) {
			t.Fatalf("%s is not there", c.old)
		}
		_, err := Decode(glb(strings.Replace(text, c.old, c.new, 1), []byte(bin)), "left.glb", Limits{})
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || !strings.Contains(f.Mend, c.mend) {
			t.Errorf("%s: %v, want %s", c.new, err, c.says)
		}
	}
}

// TestGLBMalformed damages the binary form's headers.
func TestGLBMalformed(t *testing.T) {
	good := string(gltfTriangle("", ""))
	for _, c := range []struct {
		at         int
		bytes      string
		cut        int
		says, mend string
	}{
		{4, "\x01", 0, "GLB version 1", "version 2"}, {8, "\xff\xff", 0, "it should have 65535 bytes", stillCopying}, {12, "\xff\xff", 0, "goes beyond", exportAgain},
		{16, "BIN\x00", 0, "not JSON", exportAgain}, {len(good) - 40, "NONE", 0, "bytes of buffer 0 are not there", exportGLB}, {0, "glTF", 15, "within the GLB header", stillCopying},
		{8, "\x0d\x00\x00\x00", 0, "within the header of a part", exportAgain},
	} {
		data := []byte(good)
		copy(data[c.at:], c.bytes)
		if c.cut > 0 {
			data = data[:c.cut]
		}
		_, err := Decode(data, "left.glb", Limits{})
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || !strings.Contains(f.Mend, c.mend) {
			t.Errorf("%q: %v, want %s", c.bytes, err, c.says)
		}
	}
	s, err := Decode([]byte(good+"and more"), "left.glb", Limits{})
	if err != nil {
		t.Fatal(err)
	}
	has(t, s, "left-over", Note)
}

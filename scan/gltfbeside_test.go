package scan

import (
	"fmt"
	"strings"
	"testing"
)

// TestGLTFArchived reads points from another file of the same archive, and tells when it is not there or short.
func TestGLTFArchived(t *testing.T) {
	var b []byte
	for _, c := range []float64{0, 0, 0, 2, 0, 0, 0, 0.5, 0} {
		b = appendFloat(b, c)
	}
	for _, c := range []struct{ uri, says string }{
		{"left%20wing.bin", ""}, {"./parts/a.bin", ""}, {"../secret.bin", "lie elsewhere"},
		{"none.bin", `Put "none.bin" beside it`}, {"short.bin", "should have 36 bytes, but has 30"},
	} {
		document := fmt.Sprintf(`{%s"buffers":[{"byteLength":36,"uri":"%s"}],"bufferViews":[{"buffer":0,"byteLength":36}],`+
			`"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}]}`, asset, c.uri)
		data := packed(t, "left.gltf", document, "left wing.bin", string(b), "parts/a.bin", string(b), "short.bin", string(b[:30]))
		s, err := Decode(data, "left.zip", Limits{})
		if c.says == "" && (err != nil || len(s.Triangles) != 1) {
			t.Errorf("%s: %v", c.uri, err)
		}
		if c.says != "" && (err == nil || !strings.Contains(err.Error(), c.says)) {
			t.Errorf("%s: %v", c.uri, err)
		}
	}
}

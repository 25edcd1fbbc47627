package scan

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// packed makes an archive of names and contents, in their order; a name that ends in a slash is a folder.
func packed(t testing.TB, members ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	w := zip.NewWriter(&b)
	for i := 0; i < len(members); i += 2 {
		m, err := w.Create(members[i])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := m.Write([]byte(members[i+1])); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// sharedOBJ is what phones share: the mesh in a folder, its pictures and materials, and what a system packs along.
func sharedOBJ(t testing.TB, s *Scan) []byte {
	return packed(t, "scan/", "", "scan/picture.jpg", "\xff\xd8\xff", "scan/textured.mtl", "newmtl skin\n", "scan/textured.obj", string(texturedOBJ(t, s)),
		"__MACOSX/scan/._textured.obj", "\x00\x05", "scan/.hidden.ply", "ply\n", "read me.txt", "Made on a phone.\n")
}

// sharedGLTF keeps the points in a file beside the document.
func sharedGLTF(t testing.TB, s *Scan) []byte {
	text := plainGLB(t, s)
	end := 20 + binary.LittleEndian.Uint32(text[12:])
	document := strings.Replace(string(text[20:end]), `"buffers":[{`, `"buffers":[{"uri":"scene.bin",`, 1)
	bin := text[end+8:]
	return packed(t, "left/scene.gltf", document, "left/scene.bin", string(bin), "left/textures/a.png", "\x89PNG")
}

func TestArchive(t *testing.T) {
	mesh := string(written(t, one(), WriteOBJ))
	for _, name := range []string{"a.obj", "deep/in/it/a.OBJ", "../a.obj", "/a.obj"} {
		s, err := Decode(packed(t, name, mesh), "left.zip", Limits{})
		if err != nil || s.Format != "obj" || len(s.Triangles) != 1 || s.Source.File != "left.zip" {
			t.Errorf("%s: %+v %v", name, s, err)
		}
	}
	if s, err := Decode(packed(t, "points.txt", "1 2 3\n4 5 6\n", "a.jpg", ""), "left.zip", Limits{}); err != nil || len(s.Points) != 2 {
		t.Error(s, err)
	}
	if s, err := Decode(packed(t, "a.3mf", string(assembled3MF(t, one()))), "left.zip", Limits{}); err != nil || len(s.Triangles) != 1 {
		t.Error(s, err)
	}
}

func TestArchiveRefused(t *testing.T) {
	mesh := string(written(t, one(), WriteOBJ))
	inner := string(packed(t, "a.obj", mesh))
	locked := packed(t, "a.obj", mesh)
	for _, mark := range []string{"PK\x03\x04", "PK\x01\x02"} { // the flags stand 6 and 8 bytes after these
		at := bytes.Index(locked, []byte(mark))
		locked[at+6+2*strings.Count(mark, "\x01")] |= 1
	}
	odd := packed(t, "a.obj", mesh)
	odd[bytes.Index(odd, []byte("PK\x01\x02"))+10] = 14 // LZMA
	damaged := packed(t, "a.obj", mesh+strings.Repeat("# a long remark that says nothing\n", 99))
	damaged[bytes.Index(damaged, []byte("PK\x07\x08"))-9] ^= 0xff
	for _, c := range []struct {
		data       []byte
		says, mend string
	}{
		{packed(t, "a.obj", mesh, "b.stl", "solid"), `there are 2 scans in it: "a.obj", "b.stl"`, "only the one scan"},
		{packed(t, "a.ply", "", "b.ply", "", "c.ply", "", "d.ply", "", "e.ply", "", "f.ply", ""), `"d.ply", and 2 more`, "only the one scan"},
		{packed(t, "a.fbx", "", "a.png", ""), `only "a.fbx", "a.png"`, exportInstead},
		{packed(t), "empty", exportInstead}, {packed(t, "folder/", ""), "empty", exportInstead},
		{packed(t, "a.zip", inner), `another archive in it, "a.zip"`, unpackFirst}, {packed(t, "a.ply", inner), "an archive within an archive", unpackFirst},
		{packed(t, "a.usdc", "PXR-USDC"), "USDZ", exportInstead}, {packed(t, "a.obj", ""), "the file is empty", stillCopying},
		{packed(t, "a.obj", strings.Repeat("v 0 0 0\n", 1<<19)), "which no scan does", unpackFirst},
		{packed(t, "a.obj", "v 1 2\n"), "three numbers", exportAgain},
		{locked, "password", "password"}, {odd, "cannot be unpacked", "ordinary ZIP"}, {damaged, `"a.obj" in it is damaged`, exportAgain},
		{[]byte(inner[:len(inner)-30]), "list of files", stillCopying}, {packed(t, "word/document.xml", "<a/>", "[Content_Types].xml", "<a/>"), "no scan in it", exportInstead},
		{packed(t, "a.gltf", `{"asset":{"version":"2.0"},"buffers":[{"byteLength":3,"uri":"../b.bin"}],"bufferViews":[{"buffer":0,"byteLength":3}],`+
			`"accessors":[{"bufferView":0,"componentType":5126,"count":3,"type":"VEC3"}],"meshes":[{"primitives":[{"attributes":{"POSITION":0}}]}]}`), "lie elsewhere", exportGLB},
	} {
		s, err := Decode(c.data, "left.zip", Limits{})
		f, ok := err.(*FormatError)
		if s != nil || !ok || !strings.Contains(f.Error(), c.says) || !strings.Contains(f.Mend, c.mend) || !strings.Contains(f.File, "left.zip") {
			t.Errorf("%v, want %s", err, c.says)
		}
	}
	if _, err := Decode(packed(t, "a.obj", "v 1 2\n"), "left.zip", Limits{}); err == nil || !strings.HasPrefix(err.Error(), "a.obj in left.zip, line 1: ") {
		t.Error(err)
	}
}

// TestArchiveBombs makes promises that are not kept: a member that says it is small and is not, and one that says it is large.
func TestArchiveBombs(t *testing.T) {
	good := packed(t, "a.obj", strings.Repeat("v 0 0 0\n", 1000))
	at := bytes.Index(good, []byte("PK\x01\x02")) + 24
	for _, size := range []string{"\x10\x00\x00\x00", "\x00\x00\x00\x10", "\xfe\xff\xff\xff"} {
		data := bytes.Clone(good)
		copy(data[at:], size)
		if s, err := Decode(data, "left.zip", Limits{}); err == nil {
			t.Errorf("%q: %d points", size, len(s.Points))
		} else {
			checkRefusal(t, err)
		}
	}
}

// model3MF packs a model into the parts that a 3MF file must have.
func model3MF(t testing.TB, model string, more ...string) []byte {
	return packed(t, append([]string{"[Content_Types].xml", "<Types/>", "_rels/.rels",
		`<Relationships><Relationship Target="/3D/thumb.png" Id="a" Type="thumbnail"/><Relationship Target="/3D/Model.model" Id="b" Type="` + threeMFStart + `"/></Relationships>`,
		"3D/model.model", `<?xml version="1.0" encoding="UTF-8"?>` + "\n" + model}, more...)...)
}

// mesh3MF writes points, changed by move, and triangles.
func mesh3MF(s *Scan, move func(p [3]float64) [3]float64) string {
	var b strings.Builder
	b.WriteString("<mesh><vertices>\n")
	for i := range s.Points {
		p := move(s.At(i))
		fmt.Fprintf(&b, "<vertex x=\"%v\" y=\"%v\" z=\"%v\"/>\n", p[0], p[1], p[2])
	}
	b.WriteString("</vertices><triangles>\n")
	for _, t := range s.Triangles {
		fmt.Fprintf(&b, "<triangle v1=\"%d\" v2=\"%d\" v3=\"%d\" pid=\"1\" p1=\"0\"/>\n", t[0], t[1], t[2])
	}
	b.WriteString("</triangles></mesh>")
	return b.String()
}

// assembled3MF has the mesh in a part of its own, turned from y, z, x by a component, and doubled by the build;
// a support beside it is no part of the body. All of it is exact in binary numbers.
func assembled3MF(t testing.TB, s *Scan) []byte {
	part := `<model unit="millimeter" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02"><resources><object id="7" type="model">` +
		mesh3MF(s, func(p [3]float64) [3]float64 { return [3]float64{p[1] / 2, p[2] / 2, p[0] / 2} }) + `</object></resources><build/></model>`
	return model3MF(t, `<model unit="inch" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02" xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06">`+
		`<metadata name="Title">left</metadata><resources><object id="2"><components>`+
		`<component objectid="7" p:path="/3D/Objects/a.model" transform="0 1 0 0 0 1 1 0 0 0 0 0"/></components></object>`+
		`<object id="3" type="support">`+mesh3MF(one(), func(p [3]float64) [3]float64 { return p })+`</object></resources>`+
		`<build><item objectid="2" transform="2 0 0 0 2 0 0 0 2 0 0 0"/><item objectid="3"/></build></model>`, "3D/Objects/a.model", part)
}

// Test3MF reads the units and a transform that moves and mirrors; where the corners come to lie is worked out by
// hand from the specification's row vectors.
func Test3MF(t *testing.T) {
	for word, c := range map[string]struct {
		unit Unit
		x    float64
	}{`unit="micron"`: {Millimetre, 0.021}, ``: {Millimetre, 21}, `unit="centimeter"`: {Centimetre, 21}, `unit="meter"`: {Metre, 21}, `unit="foot"`: {Foot, 21}} {
		data := model3MF(t, `<model `+word+`><resources><object id="1">`+mesh3MF(one(), func(p [3]float64) [3]float64 { return p })+`</object></resources>`+
			`<build><item objectid="1" transform="-1 0 0 0 3 0 0 0 1 23 0 5"/></build></model>`)
		s, err := Decode(data, "left.3mf", Limits{})
		if err != nil {
			t.Fatal(err)
		}
		f := s.Triangles[0]
		scale := c.x / 21
		got := [3][3]float64{s.At(int(f[0])), s.At(int(f[1])), s.At(int(f[2]))}
		want := [3][3]float64{{23 * scale, 0, 5 * scale}, {23 * scale, 1.5 * scale, 5 * scale}, {21 * scale, 0, 5 * scale}}
		for i := range want {
			if !close9(got[i], want[i]) {
				t.Errorf("%s: %v, want %v", word, got, want)
			}
		}
		if s.Unit != c.unit || s.Format != "3mf" {
			t.Errorf("%s: %q %q", word, s.Unit, s.Format)
		}
	}
}

func Test3MFMalformed(t *testing.T) {
	good := `<model unit="inch"><resources><object id="1">` + mesh3MF(one(), func(p [3]float64) [3]float64 { return p }) + `</object><object id="2"><components>` +
		`<component objectid="1"/></components></object></resources><build><item objectid="2" transform="1 0 0 0 1 0 0 0 1 0 0 0"/></build></model>`
	for _, c := range []struct {
		old, new, says string
		line           int
	}{
		{`unit="inch"`, `unit="cubit"`, `unit "cubit"`, 0}, {"<build>.*</build>", "<build></build>", "places no object", 0}, {`objectid="2"`, `objectid="9"`, `no object "9"`, 0},
		{`objectid="1"`, `objectid="2"`, "a part of itself", 0}, {`component objectid="1"`, `component path="/3D/b.model" objectid="1"`, `no part "3D/b.model"`, 0},
		{`x="2"`, `x="two"`, `but "two"`, 4}, {`x="2"`, ``, "no number x", 4}, {`v3="2"`, `v3="3"`, "uses point 3 of an object with 3", 8}, {`v3="2"`, `v3="-1"`, "v3 is no number", 7},
		{`transform="1 `, `transform="`, "twelve numbers", 8}, {`transform="1 `, `transform="one `, "twelve numbers", 8}, {"<object id=\"2\">", "<object id=\"2\"><object>", "within another", 8},
		{"</model>", "", "does not come to an end", 8}, {"</object><object", "<object", "within another", 8}, {"<resources>", "<resources", "XML cannot be read", 2}, {"<model", "<thing", "begins with the element", 2},
		{"<triangles>(?s).*</triangles>", "<triangles/>", "", 0},
	} {
		changed := regexp.MustCompile(c.old).ReplaceAllString(good, c.new)
		if changed == good {
			t.Fatalf("%s is not there", c.old)
		}
		s, err := Decode(model3MF(t, changed), "left.3mf", Limits{})
		if c.says == "" {
			if err != nil {
				t.Fatal(err)
			}
			has(t, s, "no-triangles", Caution)
			continue
		}
		f, ok := err.(*FormatError)
		if !ok || !strings.Contains(f.Msg, c.says) || f.Line != c.line || f.Mend == "" {
			t.Errorf("%s: %v, want %s on line %d", c.new, err, c.says, c.line)
		}
	}
}

// Test3MFOfNothing nests components so that there would be 2^40 of them, without one point.
func Test3MFOfNothing(t *testing.T) {
	var b strings.Builder
	b.WriteString(`<model><resources><object id="0"><mesh/></object>`)
	for i := range 40 {
		fmt.Fprintf(&b, `<object id="%d"><components><component objectid="%d"/><component objectid="%[2]d"/></components></object>`, i+1, i)
	}
	b.WriteString(`</resources><build><item objectid="40"/></build></model>`)
	if _, err := Decode(model3MF(t, b.String()), "left.3mf", Limits{}); err == nil || !strings.Contains(err.Error(), "places more than") {
		t.Error(err)
	}
}

// TestArchiveOnDisk reads an archive by its path, which has a folder of its own beside it.
func TestArchiveOnDisk(t *testing.T) {
	path := filepath.Join(t.TempDir(), "left.zip")
	if err := os.WriteFile(path, sharedGLTF(t, wave(5)), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := Read(path, Limits{})
	if err != nil {
		t.Fatal(err)
	}
	compare(t, s, wave(5), false)
	if s.Unit != Metre {
		t.Error(s.Unit)
	}
}

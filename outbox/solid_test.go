package outbox

import (
	"bytes"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan"
	"tipwright/section"
)

// Faces look outward on both wings, and no face touches what was not seen.
func TestFacesLookOutward(t *testing.T) {
	for _, side := range []section.Side{section.Left, section.Right} {
		g := newSkinMesh(sampleSurvey(t, side))
		faces := g.faces()
		if n := (g.rows - 1) * (g.cols - 1); len(faces) < n*8/10 || len(faces) >= n {
			t.Errorf("%v: %d of %d faces", side, len(faces), n)
		}
		for _, f := range faces {
			var p [4]r3.Vec
			var out r3.Vec
			for i, k := range f {
				p[i], out = g.nodes[k].at(), r3.Add(out, g.nodes[k].normal)
				if !g.nodes[k].seen {
					t.Fatalf("%v: a face reaches where nothing was seen", side)
				}
			}
			if n := r3.Cross(r3.Sub(p[2], p[0]), r3.Sub(p[3], p[1])); r3.Dot(n, out) <= 0 {
				t.Fatalf("%v: face %v looks inward", side, f)
			}
		}
	}
}

// A point lies its departure off the nominal, and carries what the map says there.
func TestMeshLiesOnTheSkin(t *testing.T) {
	s := sampleSurvey(t, section.Left)
	g := newSkinMesh(s)
	step := len(s.Map.Arc) / g.cols
	for _, at := range [][2]int{{3, 20}, {11, g.cols / 3}, {20, g.cols - 30}} {
		n := g.nodes[at[0]*g.cols+at[1]]
		arc, st := s.Map.Arc[at[1]*step+step/2], s.Map.Station[at[0]]
		if want := sampleDeparture(arc, st); math.Abs(n.departure-want) > 0.06 {
			t.Errorf("departure %v, want %v", n.departure, want)
		}
		if d := r3.Norm(r3.Sub(n.at(), n.base)); math.Abs(d-math.Abs(n.departure)) > 1e-9 {
			t.Errorf("the point lies %v off for a departure of %v", d, n.departure)
		}
		if n.base.Y != st {
			t.Errorf("station %v on a left wing lies at y %v", st, n.base.Y)
		}
	}
}

// The PLY file is read back by the program's own reader as what was written.
func TestSolidPLYReadsBack(t *testing.T) {
	g := newSkinMesh(sampleSurvey(t, section.Right))
	path := filepath.Join(t.TempDir(), SolidPLYName)
	if err := os.WriteFile(path, g.seenPart().ply(), 0o644); err != nil {
		t.Fatal(err)
	}
	s, err := scan.Read(path, scan.DefaultLimits)
	if err != nil {
		t.Fatal(err)
	}
	want := g.seenPart()
	if len(s.Points) != len(want.nodes) || len(s.Triangles) != len(want.triangles) {
		t.Errorf("%d points and %d triangles, want %d and %d", len(s.Points), len(s.Triangles), len(want.nodes), len(want.triangles))
	}
}

// The GLB file keeps the rules of its format: lengths, alignment, indices in range, bounds that hold.
func TestSolidGLBIsWhole(t *testing.T) {
	g := newSkinMesh(sampleSurvey(t, section.Left))
	data, err := g.seenPart().glb()
	if err != nil {
		t.Fatal(err)
	}
	word := func(i int) int { return int(binary.LittleEndian.Uint32(data[i:])) }
	if string(data[:4]) != "glTF" || word(8) != len(data) || word(12)%4 != 0 {
		t.Fatalf("head % x of %d bytes", data[:20], len(data))
	}
	var doc struct {
		Buffers     []struct{ ByteLength int }
		BufferViews []struct{ ByteOffset, ByteLength int }
		Accessors   []struct {
			Count    int
			Min, Max []float32
		}
	}
	if err := json.Unmarshal(data[20:20+word(12)], &doc); err != nil {
		t.Fatal(err)
	}
	bin := data[20+word(12)+8:]
	if len(bin) != doc.Buffers[0].ByteLength || len(doc.BufferViews) != 4 {
		t.Fatalf("%d bytes for %+v", len(bin), doc)
	}
	v := doc.BufferViews[0]
	places := make([][3]float32, doc.Accessors[0].Count)
	if err := binary.Read(bytes.NewReader(bin[v.ByteOffset:v.ByteOffset+v.ByteLength]), binary.LittleEndian, places); err != nil {
		t.Fatal(err)
	}
	for _, p := range places {
		for k := range p {
			if p[k] < doc.Accessors[0].Min[k] || p[k] > doc.Accessors[0].Max[k] || p[k] != p[k] {
				t.Fatalf("%v lies outside %v to %v", p, doc.Accessors[0].Min, doc.Accessors[0].Max)
			}
		}
	}
	// The chord lies along x in metres, inboard of a left wing along -z.
	if a := doc.Accessors[0]; a.Max[0] < 1.1 || a.Max[0] > 1.3 || a.Min[2] > -0.5 || a.Max[2] > 0 {
		t.Errorf("from %v to %v m", a.Min, a.Max)
	}
	v = doc.BufferViews[3]
	index := make([]uint32, doc.Accessors[3].Count)
	if err := binary.Read(bytes.NewReader(bin[v.ByteOffset:v.ByteOffset+v.ByteLength]), binary.LittleEndian, index); err != nil {
		t.Fatal(err)
	}
	for _, i := range index {
		if int(i) >= len(places) {
			t.Fatalf("index %d of %d points", i, len(places))
		}
	}
}

// The page holds what the view needs: every point, its departure as the map has it, to the micrometre.
func TestSolidViewHoldsTheMap(t *testing.T) {
	g := newSkinMesh(sampleSurvey(t, section.Right))
	v, err := newSolidView(g)
	if err != nil {
		t.Fatal(err)
	}
	var p packed
	if err := json.Unmarshal([]byte(v.Data), &p); err != nil {
		t.Fatal(err)
	}
	raw, err := base64.StdEncoding.DecodeString(p.Departure)
	if err != nil || len(raw) != 2*p.Rows*p.Columns || p.Rows*p.Columns > 65535 {
		t.Fatalf("%d bytes for %d by %d points, %v", len(raw), p.Rows, p.Columns, err)
	}
	for i, n := range g.nodes {
		got := int16(binary.LittleEndian.Uint16(raw[2*i:]))
		if n.seen && math.Abs(float64(got)/1000-n.departure) > 0.00051 || !n.seen && got != math.MinInt16 {
			t.Fatalf("point %d: %v for %v, seen %v", i, got, n.departure, n.seen)
		}
	}
	if len(v.Data) > 1<<20 {
		t.Errorf("%d bytes", len(v.Data))
	}
	long := sampleSurvey(t, section.Left)
	long.Stations = 9000
	long.Map = section.Map{}
	sampleMap(long)
	if v, err = newSolidView(newSkinMesh(long)); err != nil || len(v.Data)+len(v.Picture) > 1<<20 {
		t.Errorf("a panel 9 m long takes %d bytes, %v", len(v.Data)+len(v.Picture), err)
	}
	bare, err := newSolidView(newSkinMesh(&section.Survey{Side: section.Left, Loft: sampleSurvey(t, section.Left).Loft}))
	if bare != nil || err != nil {
		t.Errorf("a view of nothing: %v, %v", bare, err)
	}
}

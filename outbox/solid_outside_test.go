package outbox

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/scan/outside"
	"tipwright/section"
)

// readSkin is what another program's library read of the scanned panel.
type readSkin struct {
	By, File                 string
	Points, Colours, Normals [][3]float64
	Triangles                [][3]uint32
	Departures               []float64
}

// The scanned panel's PLY and GLB are read by VTK, Open3D and meshio as what was written: every point, triangle,
// colour, normal and departure.
func TestOutsideSkinFilesAreRead(t *testing.T) {
	t.Parallel()
	for _, side := range []section.Side{section.Left, section.Right} {
		g := newSkinMesh(sampleSurvey(t, side))
		glb, err := g.seenPart().glb()
		if err != nil {
			t.Fatal(err)
		}
		dir := t.TempDir()
		paths := map[string]string{"ply": filepath.Join(dir, SolidPLYName), "glb": filepath.Join(dir, SolidGLBName)}
		for file, data := range map[string][]byte{"ply": g.seenPart().ply(), "glb": glb} {
			if err := os.WriteFile(paths[file], data, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		var read []readSkin
		outside.Script(t, "testdata/skin.py", paths, &read, "numpy", "vtkmodules", "open3d", "meshio")
		if len(read) != 5 {
			t.Fatalf("%d readings", len(read))
		}
		want := g.seenPart()
		for i := range read {
			sameSkin(t, &read[i], g, &want)
		}
	}
}

// sameSkin holds one reading against what was written: GLB in metres with y up, PLY in mm.
func sameSkin(t *testing.T, r *readSkin, g *skinMesh, want *seenMesh) {
	t.Helper()
	what := r.File + " by " + r.By
	if len(r.Points) != len(want.nodes) || len(r.Triangles) != len(want.triangles) {
		t.Errorf("%s: %d points and %d triangles, want %d and %d", what, len(r.Points), len(r.Triangles), len(want.nodes), len(want.triangles))
		return
	}
	for i, f := range want.triangles {
		if r.Triangles[i] != f {
			t.Errorf("%s: triangle %d is %v, want %v", what, i, r.Triangles[i], f)
			return
		}
	}
	vec := func(v [3]float64) r3.Vec { return r3.Vec{X: v[0], Y: v[1], Z: v[2]} }
	for i, n := range want.nodes {
		at, normal := n.at(), n.normal
		c := departureColour(n.departure / g.span)
		colour := r3.Scale(1.0/255, r3.Vec{X: float64(c.R), Y: float64(c.G), Z: float64(c.B)})
		if r.File == "glb" {
			at, normal = r3.Scale(1e-3, r3.Vec{X: at.X, Y: at.Z, Z: -at.Y}), r3.Vec{X: normal.X, Y: normal.Z, Z: -normal.Y}
			// The sRGB curve, IEC 61966-2-1, roughly: colours of points are in linear light (glTF 2.0, 3.9.2).
			colour = r3.Vec{X: math.Pow(colour.X, 2.2), Y: math.Pow(colour.Y, 2.2), Z: math.Pow(colour.Z, 2.2)}
		}
		bad := r3.Norm(r3.Sub(vec(r.Points[i]), at)) > 1e-6*(1+r3.Norm(at)) ||
			r.Colours != nil && r3.Norm(r3.Sub(vec(r.Colours[i]), colour)) > 0.02 ||
			r.Normals != nil && r3.Norm(r3.Sub(vec(r.Normals[i]), normal)) > 1e-5 ||
			r.Departures != nil && math.Abs(r.Departures[i]-n.departure) > 1e-6
		if bad {
			t.Errorf("%s: point %d reads %v, want %v", what, i, r.Points[i], at)
			return
		}
	}
}

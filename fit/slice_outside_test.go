package fit_test

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
	"gonum.org/v1/gonum/spatial/r3"

	"tipwright/fit"
	"tipwright/scan"
	"tipwright/scan/outside"
	"tipwright/section"
	"tipwright/section/airfoil"
	"tipwright/section/simulate"
)

// cut is a slice of a mesh: straight pieces in the section frame, mm.
type cut [][2]r2.Vec

// vtkCuts lets VTK read a mesh and slice it at stations of the wing frame that a transform gives.
func vtkCuts(t *testing.T, s *scan.Scan, wingFromScan section.Transform, side section.Side, stations []float64) []cut {
	t.Helper()
	path := filepath.Join(t.TempDir(), "wing.ply")
	out, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w := bufio.NewWriter(out)
	if err := scan.WritePLY(w, s); err != nil {
		t.Fatal(err)
	}
	if err := w.Flush(); err != nil {
		t.Fatal(err)
	}
	if err := out.Close(); err != nil {
		t.Fatal(err)
	}
	type plane struct {
		Origin [3]float64 `json:"origin"`
		Normal [3]float64 `json:"normal"`
	}
	scanFromWing := wingFromScan.Inverse()
	question := struct {
		File   string  `json:"file"`
		Planes []plane `json:"planes"`
	}{File: path}
	for _, st := range stations {
		o, n := scanFromWing.Apply(r3.Vec{Y: st * side.Inboard()}), scanFromWing.Rotate(r3.Vec{Y: 1})
		question.Planes = append(question.Planes, plane{[3]float64{o.X, o.Y, o.Z}, [3]float64{n.X, n.Y, n.Z}})
	}
	var answer struct {
		Points, Triangles int
		Slices            [][][2][3]float64
	}
	outside.Script(t, "testdata/cut.py", question, &answer, "vtkmodules")
	if answer.Points != len(s.Points) || answer.Triangles != len(s.Triangles) {
		t.Fatalf("VTK reads %d points and %d triangles of %d and %d", answer.Points, answer.Triangles, len(s.Points), len(s.Triangles))
	}
	cuts := make([]cut, len(stations))
	for i, pieces := range answer.Slices {
		for _, p := range pieces {
			var q [2]r2.Vec
			for k, v := range p {
				at := wingFromScan.Apply(r3.Vec{X: v[0], Y: v[1], Z: v[2]})
				if math.Abs(at.Y-stations[i]*side.Inboard()) > 0.01 {
					t.Fatalf("VTK cuts at %.4f, not at station %g", at.Y, stations[i])
				}
				q[k] = r2.Vec{X: at.X, Y: at.Z}
			}
			cuts[i] = append(cuts[i], q)
		}
	}
	return cuts
}

// apart returns how far a slice lies from an outline, mm: the 99th of a hundred of its points, and the worst. The
// tail's end face, which is no skin, does not count.
func (c cut) apart(outline []r2.Vec) (most, worst float64) {
	tail := math.Min(outline[0].X, outline[len(outline)-1].X) - 5
	var off []float64
	for _, p := range c {
		mid := r2.Scale(0.5, r2.Add(p[0], p[1]))
		if mid.X < tail {
			off = append(off, toOutline(outline, mid))
		}
	}
	for _, d := range off {
		worst = math.Max(worst, d)
	}
	for most = 0; share(off, most) < 0.99; most += 0.001 {
	}
	return most, worst
}

// share returns the share of values that do not exceed a limit.
func share(v []float64, limit float64) float64 {
	n := 0
	for _, x := range v {
		if x <= limit {
			n++
		}
	}
	return float64(n) / float64(len(v))
}

// toOutline returns the distance of a point from a polyline.
func toOutline(outline []r2.Vec, q r2.Vec) float64 {
	least := math.Inf(1)
	for i := 1; i < len(outline); i++ {
		a, d := outline[i-1], r2.Sub(outline[i], outline[i-1])
		u := 0.0
		if n := r2.Norm2(d); n > 0 {
			u = math.Min(math.Max(r2.Dot(r2.Sub(q, a), d)/n, 0), 1)
		}
		least = math.Min(least, r2.Norm(r2.Sub(q, r2.Add(a, r2.Scale(u, d)))))
	}
	return least
}

// area returns the area that a slice of a closed body encloses, mm², by the pieces' moments about the origin,
// whatever their order: VTK gives each piece once, but not all run the same way, so they are turned to run round the
// middle.
func (c cut) area() (sum float64) {
	var middle r2.Vec
	for _, p := range c {
		middle = r2.Add(middle, r2.Scale(1/float64(len(c)), p[0]))
	}
	for _, p := range c {
		sum += math.Abs(r2.Cross(r2.Sub(p[0], middle), r2.Sub(p[1], middle))) / 2
	}
	return sum
}

// thickness returns the greatest thickness of a slice square to the chord line, mm, looked for in bins of 4 mm.
func (c cut) thickness() (most float64) {
	upper, lower := map[int]float64{}, map[int]float64{}
	for _, p := range c {
		mid := r2.Scale(0.5, r2.Add(p[0], p[1]))
		k := int(mid.X / 4)
		if v, ok := upper[k]; !ok || mid.Y > v {
			upper[k] = mid.Y
		}
		if v, ok := lower[k]; !ok || mid.Y < v {
			lower[k] = mid.Y
		}
	}
	for k, v := range upper {
		most = math.Max(most, v-lower[k])
	}
	return most
}

// front returns how far aft the slice's foremost point lies.
func (c cut) front() float64 {
	x := math.Inf(1)
	for _, p := range c {
		x = math.Min(x, math.Min(p[0].X, p[1].X))
	}
	return x
}

// exactWing is a mesh without noise, with an edge that stands out past the tip rib, so that the slice at the rib is a
// whole one.
func exactWing(t *testing.T, side section.Side) (*scan.Scan, *simulate.Truth) {
	t.Helper()
	a, err := airfoil.Parse("NACA 23012")
	if err != nil {
		t.Fatal(err)
	}
	w := simulate.Wing{
		Airfoil: a, Side: side, Chord: 1200, Span: 450, Overhang: 60, Taper: 0.05, Twist: 1.5e-5, Sweep: 0.02, Dihedral: -0.05,
		TailThickness: 4, SkinOffset: 0.2,
		Form: []simulate.Wave{{Surface: simulate.Upper, Amplitude: 0.4, Length: 820, Phase: 1.1}, {Surface: simulate.Lower, Amplitude: 0.3, Length: 960, Phase: 2.6}},
	}
	if side == section.Right {
		w.Form[0].Amplitude, w.Chord = 0.7, 1201
	}
	s, truth, err := simulate.Scan(w, simulate.Scanner{Seed: uint64(side), Points: 130_000, Mesh: true, RandomPose: true, Unit: scan.Millimetre})
	if err != nil {
		t.Fatal(err)
	}
	return s, truth
}

// wishes are a builder's.
func wishes() fit.Options {
	return fit.Options{Band: 300, ActAbove: 0.5, SandLimit: 0.2, Density: 450, Laminate: 0.8, Kerf: 1.5, Wire: 0.5, TipLength: 260}
}

// VTK slices the scanned mesh where the program says that the tip rib and the gauges lie, and the outlines are those
// slices. Its slices of the simulated mesh in the true pose are the truth's outlines. What the pair's figures say of
// area and thickness is what the slices have.
func TestOutsideSlicesByVTK(t *testing.T) {
	outside.Slow(t)
	t.Parallel()
	stations := []float64{0, 100, 200, 300}
	var results [2]*fit.Result
	var atRib [2]cut
	var sweep [2]float64
	for k, side := range []section.Side{section.Left, section.Right} {
		s, truth := exactWing(t, side)
		for i, c := range vtkCuts(t, s, truth.WingFromScan, side, stations) {
			if most, worst := c.apart(truth.AsBuiltAt(stations[i])); most > 0.04 || worst > 0.15 {
				t.Errorf("%v, simulated, station %g: %.3f mm off, at worst %.3f", side, stations[i], most, worst)
			}
		}
		v, err := section.Measure(s, section.Options{Airfoil: truth.Wing.Airfoil, Chord: truth.Taped, Side: side, TipRib: 60})
		if err != nil {
			t.Fatal(err)
		}
		r, err := fit.Fit(v, wishes())
		if err != nil {
			t.Fatal(err)
		}
		cuts := vtkCuts(t, s, v.WingFromScan, side, stations)
		results[k], atRib[k] = r, cuts[0]
		sweep[k] = math.Atan((cuts[3].front() - cuts[0].front()) / stations[3])
		most, worst := cuts[0].apart(r.AsBuilt)
		t.Logf("%v: as built %.3f mm, at worst %.3f; U %.3f", side, most, worst, r.OutlineU)
		if most > math.Min(r.OutlineU, 0.1) || worst > 0.25 {
			t.Errorf("%v: the section as built is %.3f mm off the slice, at worst %.3f; U %.3f", side, most, worst, r.OutlineU)
		}
		for i, g := range r.Gauges {
			most, worst := cuts[i].apart(g.Outline)
			t.Logf("%v: %s %.3f mm, at worst %.3f", side, g.Name, most, worst)
			if most > math.Min(g.U, 0.1) || worst > 0.25 {
				t.Errorf("%v: %s is %.3f mm off the slice, at worst %.3f; U %.3f", side, g.Name, most, worst, g.U)
			}
		}
	}
	p := fit.Compare(results[0], results[1], 1)
	for k, got := range []section.Measured{p.Area.Left, p.Area.Right} {
		t.Logf("area %.0f ± %.0f mm2, the slice has %.0f", got.Value, got.U, atRib[k].area())
		if want := atRib[k].area(); math.Abs(got.Value-want) > math.Min(got.U, 2e-4*want) {
			t.Errorf("area %.0f ± %.0f mm2, the slice has %.0f", got.Value, got.U, want)
		}
	}
	for k, got := range []section.Measured{p.Sweep.Left, p.Sweep.Right} {
		holds(t, "sweep, rad", got, sweep[k], 0.002)
	}
	for k, got := range []section.Measured{p.Thickness.Left, p.Thickness.Right} {
		t.Logf("thickness %.3f ± %.3f mm, the slice has %.3f", got.Value, got.U, atRib[k].thickness())
		if want := atRib[k].thickness(); math.Abs(got.Value-want) > 0.1 {
			t.Errorf("thickness %.3f ± %.3f mm, the slice has %.3f", got.Value, got.U, want)
		}
	}
}

package scan

import (
	"errors"
	"io"
	"math"
	"reflect"
	"testing"

	"pgregory.net/rapid"
)

// coordinates draws numbers of all sizes that a scan may have, round ones among them so that points coincide.
func coordinates() *rapid.Generator[float32] {
	return rapid.OneOf(
		rapid.Float32Range(-2000, 2000),
		rapid.Map(rapid.IntRange(-3, 3), func(i int) float32 { return float32(i) }),
		rapid.Float32Range(-1e-20, 1e-20),
		rapid.SampledFrom([]float32{math.SmallestNonzeroFloat32, -1e6, 1e11, 1.0 / 3}),
	)
}

// surfaces draws meshes that a reader has nothing to change on: no point twice, no triangle without area.
func surfaces() *rapid.Generator[*Scan] {
	return rapid.Custom(func(t *rapid.T) *Scan {
		s := &Scan{}
		n := rapid.IntRange(3, 40).Draw(t, "points")
		w := newWelder(n)
		for len(w.points) < n {
			w.number([3]float32{coordinates().Draw(t, "x"), coordinates().Draw(t, "y"), coordinates().Draw(t, "z")})
		}
		s.Points = w.points
		for range rapid.IntRange(1, 60).Draw(t, "triangles") {
			corner := func() uint32 { return uint32(rapid.IntRange(0, n-1).Draw(t, "corner")) }
			s.Triangles = append(s.Triangles, [3]uint32{corner(), corner(), corner()})
		}
		s.dropDegenerate()
		if len(s.Triangles) == 0 {
			t.Skip("no triangle has an area")
		}
		return s
	})
}

// TestReturns writes any surface in every way and wants it back to the last bit.
func TestReturns(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		want := surfaces().Draw(rt, "surface")
		for _, v := range variants() {
			if v.cloud {
				continue // TestCloudsInAnyStyle has these
			}
			got, err := Decode(v.write(t, want), "left"+v.ending, Limits{})
			if err != nil {
				rt.Fatalf("%s: %v", v.name, err)
			}
			if len(got.Triangles) != len(want.Triangles) {
				rt.Fatalf("%s: %d triangles, want %d", v.name, len(got.Triangles), len(want.Triangles))
			}
			if got.Origin != [3]float64{} {
				continue // its points are exact about another origin, and rounded about this one
			}
			for i, w := range want.Triangles {
				for k, c := range got.Triangles[i] {
					if got.At(int(c)) != want.At(int(w[k])) {
						rt.Fatalf("%s: corner %d of triangle %d is %v, want %v", v.name, k, i, got.At(int(c)), want.At(int(w[k])))
					}
				}
			}
		}
	})
}

// TestDamage changes a few bytes of good files: they are refused in full words or give a sound scan, the same
// every time.
func TestDamage(t *testing.T) {
	all := variants()
	var files [][]byte
	for _, v := range all {
		files = append(files, v.write(t, wave(8)))
	}
	rapid.Check(t, func(rt *rapid.T) {
		i := rapid.IntRange(0, len(all)-1).Draw(rt, "variant")
		data := append([]byte(nil), files[i]...)
		for range rapid.IntRange(1, 6).Draw(rt, "changes") {
			at := rapid.IntRange(0, len(data)-1).Draw(rt, "at")
			data[at] = rapid.SampledFrom([]byte("\x00\xff\x80\x7f 0-9.e,;\n\r/#")).Draw(rt, "byte")
		}
		checkDecode(t, data, "left"+all[i].ending)
	})
}

// checkDecode wants a sound scan or a full refusal, and what was read to come back from our own writers.
func checkDecode(t *testing.T, data []byte, name string) {
	t.Helper()
	s, err := Decode(data, name, Limits{MaxPoints: 1 << 16})
	if err != nil {
		var f *FormatError
		if s != nil || !errors.As(err, &f) || f.File == "" || f.Msg == "" || f.Mend == "" || f.Line < 0 || f.Offset < 0 || f.Offset > int64(len(data)) && f.File == name {
			t.Fatalf("no full format error: %#v", err)
		}
		return
	}
	sound(t, s)
	if again, err := Decode(data, name, Limits{MaxPoints: 1 << 16}); err != nil || !reflect.DeepEqual(again, s) {
		t.Fatalf("read twice, it differs: %v", err)
	}
	if s.Triangles == nil || s.Origin != [3]float64{} {
		return
	}
	for _, write := range []func(io.Writer, *Scan) error{WritePLY, WriteOBJ} {
		got, err := Decode(written(t, s, write), "left", Limits{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Origin == [3]float64{} && (!reflect.DeepEqual(got.Points, s.Points) || !reflect.DeepEqual(got.Triangles, s.Triangles)) {
			t.Fatalf("written and read, it differs")
		}
	}
}

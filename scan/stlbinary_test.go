package scan

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"

	"github.com/hschendel/stl"
	"pgregory.net/rapid"
)

// plainSTL reads a binary STL as the library does, and joins corners one after another.
func plainSTL(t *testing.T, data []byte) *Scan {
	t.Helper()
	solid, err := stl.ReadAll(bytes.NewReader(data))
	if err != nil {
		t.Fatal(err)
	}
	s := &Scan{Format: "stl"}
	numbers := map[[3]float32]uint32{}
	for _, f := range solid.Triangles {
		if !usable(f.Vertices[0]) || !usable(f.Vertices[1]) || !usable(f.Vertices[2]) {
			continue
		}
		var c [3]uint32
		for k, v := range f.Vertices {
			n, met := numbers[v]
			if !met {
				n = uint32(len(s.Points))
				numbers[v] = n
				s.Points = append(s.Points, [3]float32{v[0] + 0, v[1] + 0, v[2] + 0})
			}
			c[k] = n
		}
		s.Triangles = append(s.Triangles, c)
	}
	kept := s.Triangles[:0]
	for _, c := range s.Triangles {
		if s.hasArea(c) {
			kept = append(kept, c)
		}
	}
	s.Triangles = kept
	return s
}

// mixedSTL writes a mesh of several blocks with unusable corners, triangles without area, zeros of either sign and,
// if it is shuffled, neighbours far apart in the file.
func mixedSTL(t *testing.T, random *rand.Rand, shuffled bool) []byte {
	s := wave(120)
	for range 500 {
		a := uint32(random.IntN(len(s.Points)))
		s.Triangles = append(s.Triangles, [3]uint32{a, a, uint32(random.IntN(len(s.Points)))})
	}
	random.Shuffle(len(s.Triangles), func(i, j int) {
		if shuffled || random.IntN(1000) == 0 {
			s.Triangles[i], s.Triangles[j] = s.Triangles[j], s.Triangles[i]
		}
	})
	data := written(t, s, WriteSTL)
	put := func(value float32) {
		at := stlHeader + random.IntN(len(s.Triangles))*stlTriangle + 12 + 4*random.IntN(9)
		binary.LittleEndian.PutUint32(data[at:], math.Float32bits(value))
	}
	for range 200 {
		put(float32(math.NaN()))
		put(0)
		put(float32(math.Copysign(0, -1)))
		put(1e30)
	}
	return data
}

// TestBinarySTLAgreesWithTheLibrary wants what the library reads, to the last bit and with the same numbers, on any
// number of processors.
func TestBinarySTLAgreesWithTheLibrary(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	random := rand.New(rand.NewPCG(1, 2))
	for _, shuffled := range []bool{false, true} {
		data := mixedSTL(t, random, shuffled)
		want := plainSTL(t, data)
		for _, processors := range []int{1, 2, 5} {
			runtime.GOMAXPROCS(processors)
			got, err := Decode(data, "left.stl", Limits{})
			if err != nil {
				t.Fatal(err)
			}
			if !reflect.DeepEqual(got.Points, want.Points) {
				t.Errorf("shuffled %v, %d processors: %d points differ from the %d wanted", shuffled, processors, len(got.Points), len(want.Points))
			}
			if !reflect.DeepEqual(got.Triangles, want.Triangles) {
				t.Errorf("shuffled %v, %d processors: %d triangles differ from the %d wanted", shuffled, processors, len(got.Triangles), len(want.Triangles))
			}
			has(t, got, "points-dropped", Caution)
		}
	}
}

// TestTriangleAtOnce holds the quick looks at a triangle's bytes to the plain rules.
func TestTriangleAtOnce(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		var c [3][3]float32
		var v [36]byte
		good, zero := true, false
		for k := range c {
			c[k] = [3]float32{drawNumber(rt, "x"), drawNumber(rt, "y"), drawNumber(rt, "z")}
			good = good && usable(c[k])
			for axis, value := range c[k] {
				zero = zero || value == 0
				binary.LittleEndian.PutUint32(v[12*k+4*axis:], math.Float32bits(value))
			}
		}
		if got := oddTriangle(&v); got != (!good || zero) {
			rt.Fatalf("%v: odd is %v", c, got)
		}
		if got := settleTriangle(&v); got != good {
			rt.Fatalf("%v: usable is %v", c, got)
		}
		for at := 0; at < len(v); at += 4 {
			want := c[at/12][at/4%3] + 0 // -0 becomes 0
			if got := binary.LittleEndian.Uint32(v[at:]); got != math.Float32bits(want) && want == want {
				rt.Fatalf("%v: settled to % x", c, v)
			}
		}
		if got := wide(&v); good && got != enclose(&c[0], &c[1], &c[2]) {
			rt.Fatalf("%v: has an area: %v", c, got)
		}
	})
}

package scan

import (
	"bytes"
	"encoding/binary"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// drawNumber draws any number in single precision: those that matter, and any bits.
func drawNumber(t *rapid.T, label string) float32 {
	if rapid.Bool().Draw(t, label+" is anything") {
		return math.Float32frombits(rapid.Uint32().Draw(t, label))
	}
	f := float32(farthest)
	return rapid.SampledFrom([]float32{0, float32(math.Copysign(0, -1)), 1, -1, f, -f, math.Nextafter32(f, 2*f), -math.Nextafter32(f, 2*f),
		float32(math.Inf(1)), float32(math.Inf(-1)), float32(math.NaN()), math.SmallestNonzeroFloat32}).Draw(t, label)
}

// TestPlain holds the quick looks at points to the plain rule.
func TestPlain(t *testing.T) {
	if farthestBits != math.Float32bits(farthest) {
		t.Errorf("farthestBits is %#x, want %#x", farthestBits, math.Float32bits(farthest))
	}
	rapid.Check(t, func(rt *rapid.T) {
		points := make([][3]float32, rapid.IntRange(0, 5).Draw(rt, "points"))
		want := true
		for i := range points {
			p := [3]float32{drawNumber(rt, "x"), drawNumber(rt, "y"), drawNumber(rt, "z")}
			points[i] = p
			want = want && usable(p) && p != [3]float32{}
		}
		if got := plain(points); got != want {
			rt.Fatalf("%v: plain is %v", points, got)
		}
	})
}

// TestBytesOf reads what a little-endian file holds straight into points.
func TestBytesOf(t *testing.T) {
	points := [][3]float32{{1, -2, 3.5}, {1e-9, 0, 7}}
	memory := bytesOf(points)
	if memory == nil {
		t.Skip("not on this processor")
	}
	var want bytes.Buffer
	if err := binary.Write(&want, binary.LittleEndian, points); err != nil || !bytes.Equal(memory, want.Bytes()) {
		t.Errorf("% x, want % x; %v", memory, want.Bytes(), err)
	}
}

// TestRoom wants room that is all zero, whatever lay there before, in sizes about that of large pages.
func TestRoom(t *testing.T) {
	for _, n := range []int{0, 1, 100, 4<<20/12 - 1, 4<<20/12 + 1, 1 << 20} {
		for range 2 {
			list := roomFor[[3]uint32](n)
			if len(list) != n {
				t.Fatalf("%d of %d", len(list), n)
			}
			for i := range list {
				if list[i] != ([3]uint32{}) {
					t.Fatalf("%v at %d of %d", list[i], i, n)
				}
				list[i] = [3]uint32{1, 2, 3}
			}
		}
	}
}

// TestWeldAgreesWithAMap joins points of which few, half or nearly all lie at the place of another, as a map from places
// would.
func TestWeldAgreesWithAMap(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for _, places := range []int{2, 1000, 100_000, 10_000_000} {
		s := &Scan{Points: make([][3]float32, 100_000), Triangles: make([][3]uint32, 100_000)}
		for i := range s.Points {
			k := random.IntN(places)
			s.Points[i] = [3]float32{float32(k % 10), float32(k / 10), float32(k) / 3}
			if k == 0 && i%2 == 0 {
				s.Points[i][0] = float32(math.Copysign(0, -1))
			}
			for c := range s.Triangles[i] {
				s.Triangles[i][c] = uint32(random.IntN(len(s.Points)))
			}
		}
		numbers := map[[3]float32]uint32{}
		var wantPoints [][3]float32
		number := make([]uint32, len(s.Points))
		for i, p := range s.Points {
			n, met := numbers[p]
			if !met {
				n = uint32(len(wantPoints))
				numbers[p] = n
				wantPoints = append(wantPoints, p)
			}
			number[i] = n
		}
		wantTriangles := slices.Clone(s.Triangles)
		for i, t := range wantTriangles {
			wantTriangles[i] = [3]uint32{number[t[0]], number[t[1]], number[t[2]]}
		}
		s.weld()
		if !slices.Equal(s.Points, wantPoints) || !slices.Equal(s.Triangles, wantTriangles) {
			t.Errorf("%d places: %d points differ from %d", places, len(s.Points), len(wantPoints))
		}
		for _, p := range s.Points {
			for _, c := range p {
				if c == 0 && math.Signbit(float64(c)) {
					t.Fatalf("%d places: a zero has a sign in %v", places, p)
				}
			}
		}
	}
}

// TestDegenerateOverChunks leaves triangles out in some of the pieces that are looked at together.
func TestDegenerateOverChunks(t *testing.T) {
	for _, flat := range []func(i int) bool{
		func(int) bool { return false },
		func(int) bool { return true },
		func(i int) bool { return i == chunkSize-1 },
		func(i int) bool { return i >= chunkSize && i < 2*chunkSize },
		func(i int) bool { return i > 2*chunkSize && i%3 == 0 },
	} {
		s := &Scan{Points: [][3]float32{{0, 0, 0}, {1, 0, 0}, {0, 1, 0}, {0, 0, 1}}}
		var want [][3]uint32
		for i := range 3*chunkSize + 100 {
			c := [3]uint32{0, 1, uint32(2 + i%2)}
			if flat(i) {
				c[2] = 1
			} else {
				want = append(want, c)
			}
			s.Triangles = append(s.Triangles, c)
		}
		s.dropDegenerate()
		if !slices.Equal(s.Triangles, want) {
			t.Errorf("%d triangles, want %d", len(s.Triangles), len(want))
		}
	}
}

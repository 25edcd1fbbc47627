package section

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestPiles holds the chains of blocks to plain lists, also after some have been dropped.
func TestPiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const cells = 4
		p := newPiles(cells)
		var want [cells][]float32
		for range rapid.IntRange(0, 200).Draw(t, "points") {
			k := rapid.IntRange(0, cells-1).Draw(t, "cell")
			d := rapid.Float32Range(-9, 9).Draw(t, "distance")
			p.add(k, d)
			want[k] = append(want[k], d)
		}
		floor := rapid.SampledFrom([]float64{math.Inf(-1), -3, 0, 20}).Draw(t, "floor")
		for k := range cells {
			if got := p.list(k, nil); !slices.Equal(got, want[k]) {
				t.Fatalf("cell %d holds %v, want %v", k, got, want[k])
			}
			p.keepFrom(k, floor)
			left := slices.DeleteFunc(slices.Clone(want[k]), func(d float32) bool { return float64(d) < floor })
			if got := p.list(k, nil); !slices.Equal(got, left) || p.count(k) != len(left) {
				t.Fatalf("from %g on cell %d holds %v, want %v", floor, k, got, left)
			}
		}
	})
}

// TestSomeOf takes an even share of each cell, all where a cell holds no more, and finds the cells of a row side by side.
func TestSomeOf(t *testing.T) {
	m := &Map{Arc: make([]float64, 3), Station: make([]float64, 2), Cells: make([]Cell, 6)}
	cells := newPiles(6)
	for k, n := range []int{3, 0, 10 * cellSample, 1, cellSample, 2} {
		for i := range n {
			cells.add(k, float32(1000*k+i))
		}
	}
	some := m.someOf(cells)
	if got, want := some.columns(1, 0, 2), 1+cellSample+2; len(got) != want {
		t.Errorf("a row shows %d points, want %d", len(got), want)
	}
	if got := some.columns(0, 0, 1); !slices.Equal(got, []float32{0, 1, 2}) {
		t.Errorf("two cells show %v", got)
	}
	got := some.columns(0, 2, 2)
	for i, d := range got {
		if d != float32(2000+10*i) || len(got) != cellSample {
			t.Fatalf("a full cell shows %v, not every tenth", got)
		}
	}
}

// TestMiddling gives the same median as a sort, whatever lists came before.
func TestMiddling(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var m middling
		for range 8 {
			about := rapid.Float32Range(-9, 9).Draw(t, "about")
			v := rapid.SliceOfN(rapid.Float32Range(about-1, about+1), 1, 60).Draw(t, "list")
			sorted := slices.Sorted(slices.Values(v))
			if got, want := m.median(v), float64(sorted[len(v)/2]); got != want {
				t.Fatalf("the median of %v is %v, want %v", v, got, want)
			}
		}
	})
}

// TestMarks goes through what is marked, piece by piece.
func TestMarks(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 400).Draw(t, "points")
		m := newMarks(n)
		var want []int
		for i := range n {
			if rapid.Bool().Draw(t, "marked") {
				m.set(i)
				want = append(want, i)
			}
			if m.has(i) != (len(want) > 0 && want[len(want)-1] == i) {
				t.Fatalf("%d is marked: %v", i, m.has(i))
			}
		}
		var got []int
		for lo := 0; lo < n; lo += 128 {
			m.each(lo, min(lo+128, n), func(i int) { got = append(got, i) })
		}
		if !slices.Equal(got, want) || m.count() != len(want) {
			t.Fatalf("%v are marked, want %v", got, want)
		}
	})
}

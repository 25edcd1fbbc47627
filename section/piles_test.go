package section

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// TestPiles holds the rows of cells to plain lists, also after some distances have been dropped.
func TestPiles(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const rows, columns = 3, 2
		p := newPiles(rows, columns)
		var want [rows * columns][]float32
		for range rapid.IntRange(0, 3000).Draw(t, "points") {
			k := rapid.IntRange(0, rows*columns-1).Draw(t, "cell")
			d := rapid.Float32Range(-9, 9).Draw(t, "distance")
			p.add(int32(k/columns), int32(k%columns), d)
			want[k] = append(want[k], d)
		}
		floor := rapid.SliceOfN(rapid.SampledFrom([]float64{math.Inf(-1), -3, 0, 20}), rows*columns, rows*columns).Draw(t, "floors")
		left := p.whole()
		left.keepFrom(floor)
		room := rowOf{all: make([]float32, 40), start: make([]int32, 40)}
		for i := range rows {
			row := p.row(i, &room)
			if n := len(want[i*columns]) + len(want[i*columns+1]); len(row.all) != n || p.count(i) != n {
				t.Fatalf("row %d holds %d distances and says %d, want %d", i, len(row.all), p.count(i), n)
			}
			for j := range columns {
				k := i*columns + j
				if got := row.columns(j, j); !slices.Equal(got, want[k]) {
					t.Fatalf("cell %d holds %v, want %v", k, got, want[k])
				}
				kept := slices.DeleteFunc(slices.Clone(want[k]), func(d float32) bool { return float64(d) < floor[k] })
				if got := left.columns(i, j, j); !slices.Equal(got, kept) {
					t.Fatalf("from %g on cell %d holds %v, want %v", floor[k], k, got, kept)
				}
			}
		}
	})
}

// TestSpread takes every so manieth distance about its block's median, cell by cell.
func TestSpread(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 5))
	m := &Map{Arc: make([]float64, 40), Station: make([]float64, 25), Cells: make([]Cell, 1000)}
	cells, middle := newPiles(25, 40), make([]float64, 1000)
	var all, about []float64
	for k := range m.Cells {
		middle[k] = r.Float64()
		if k%7 == 0 {
			middle[k] = math.NaN()
		}
		for range r.IntN(9) * 60 {
			d := float32(r.NormFloat64())
			cells.add(int32(k/40), int32(k%40), d)
			all, about = append(all, float64(d)), append(about, middle[k])
		}
	}
	stride := len(all) / spreadSample
	if stride < 2 {
		t.Fatalf("%d points are too few for this test", len(all))
	}
	var abs []float64
	for i := 0; i < len(all); i += stride {
		if !math.IsNaN(about[i]) {
			abs = append(abs, math.Abs(all[i]-about[i]))
		}
	}
	slices.Sort(abs)
	for _, from := range []byRow{cells, cells.whole()} {
		if got, want := m.spread(from, middle), madScale*abs[len(abs)/2]; got != want {
			t.Errorf("the spread is %v, want %v", got, want)
		}
	}
}

// TestSomeOf takes an even share of each cell, all where a cell holds no more, and finds the cells of a row side by side.
func TestSomeOf(t *testing.T) {
	m := &Map{Arc: make([]float64, 3), Station: make([]float64, 2), Cells: make([]Cell, 6)}
	cells := newPiles(2, 3)
	for k, n := range []int{3, 0, 10 * cellSample, 1, cellSample, 2} {
		for i := range n {
			cells.add(int32(k/3), int32(k%3), float32(1000*k+i))
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

package scan

import (
	"errors"
	"runtime"
	"slices"
	"testing"
)

// TestBelt carries blocks in their order on any number of processors, and stops at the first error with nothing
// left running.
func TestBelt(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	cut, full := errors.New("cut"), errors.New("full")
	for _, c := range []struct {
		name   string
		fillAt int // block that cannot be filled
		takeAt int // block that is one too many
		want   error
		taken  int
	}{
		{"all", 100, 100, nil, 100},
		{"fill fails", 40, 100, cut, 40},
		{"fill fails at once", 0, 100, cut, 0},
		{"take fails", 100, 40, full, 40},
		{"both fail", 41, 40, full, 40},
		{"both fail the other way", 40, 41, cut, 40},
	} {
		for _, processors := range []int{1, 2, 7, 200} {
			runtime.GOMAXPROCS(processors)
			var summed, taken []int
			err := belt[int]{
				fill: func(b *int, number int) error {
					if number == c.fillAt {
						return cut
					}
					*b = number
					return nil
				},
				sum:  func(b *int) { summed = append(summed, *b) },
				work: func(b *int) { *b *= *b },
				take: func(b *int) error {
					if *b == c.takeAt*c.takeAt {
						return full
					}
					taken = append(taken, *b)
					return nil
				},
			}.run(100, func() *int { return new(int) })
			if err != c.want || len(taken) != c.taken {
				t.Errorf("%s, %d processors: %v after %d blocks", c.name, processors, err, len(taken))
			}
			if !slices.IsSorted(summed) || len(summed) < len(taken) {
				t.Errorf("%s, %d processors: summed in the order %v", c.name, processors, summed)
			}
			if !slices.IsSorted(taken) {
				t.Errorf("%s, %d processors: taken in the order %v", c.name, processors, taken)
			}
		}
	}
}

// TestChunked covers a range once, in order, on any number of processors.
func TestChunked(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, n := range []int{0, 1, chunkSize, chunkSize + 1, 5*chunkSize - 1} {
		for _, processors := range []int{1, 3} {
			runtime.GOMAXPROCS(processors)
			at := 0
			for _, part := range chunked(n, func(lo, hi int) [2]int { return [2]int{lo, hi} }) {
				if part[0] != at || part[1] <= at {
					t.Errorf("n %d: %v begins not at %d", n, part, at)
				}
				at = part[1]
			}
			if at != n {
				t.Errorf("n %d: ends at %d", n, at)
			}
		}
	}
}

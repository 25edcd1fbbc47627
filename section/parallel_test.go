package section

import (
	"runtime"
	"slices"
	"testing"
)

// TestInOrder takes what is found in the order of the chunks, all of it and one list at a time, on one processor and on more
// than there are.
func TestInOrder(t *testing.T) {
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(0))
	for _, processors := range []int{1, 2, 5} {
		runtime.GOMAXPROCS(processors)
		for _, n := range []int{0, 1, chunkSize, 100*chunkSize + 7} {
			var got []int
			inOrder(n, func(lo, hi int, list []int) []int {
				for i := lo; i < hi; i++ {
					if i/chunkSize%3 > 0 { // some find nothing
						list = append(list, i)
					}
				}
				return list
			}, func(list []int) { got = append(got, list...) })
			var want []int
			for i := range n {
				if i/chunkSize%3 > 0 {
					want = append(want, i)
				}
			}
			if !slices.Equal(got, want) {
				t.Errorf("%d processors take %d of %d, not in order or not all", processors, len(got), n)
			}
		}
	}
}

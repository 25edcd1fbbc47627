package section

import (
	"runtime"
	"slices"
	"sync"

	"tipwright/scan"
)

// chunkSize fixes how work is cut, whatever the number of processors, so that sums are formed in the same
// order and the last bit of every result is the same on every machine.
const chunkSize = 2048

// parallel calls work for consecutive ranges that cover 0..n, on all processors at once.
func parallel(n int, work func(lo, hi int)) {
	chunks := (n + chunkSize - 1) / chunkSize
	scan.OnAllProcessors(chunks, func(c int) { work(c*chunkSize, min((c+1)*chunkSize, n)) })
}

// chunked returns the values of the chunks of 0..n, in their order.
func chunked[T any](n int, chunk func(lo, hi int) T) []T {
	parts := make([]T, (n+chunkSize-1)/chunkSize)
	scan.OnAllProcessors(len(parts), func(c int) { parts[c] = chunk(c*chunkSize, min((c+1)*chunkSize, n)) })
	return parts
}

// reduce maps each chunk of 0..n to a value and folds the values in the order of the chunks.
func reduce[T any](n int, chunk func(lo, hi int) T, fold func(into *T, part T)) T {
	var total T
	for _, p := range chunked(n, chunk) {
		fold(&total, p)
	}
	return total
}

// joined returns the lists of the chunks of 0..n, one after the other.
func joined[T any](n int, chunk func(lo, hi int) []T) []T { return slices.Concat(chunked(n, chunk)...) }

// sideBySide calls functions that do not depend on each other, on all processors at once.
func sideBySide(do ...func()) { scan.OnAllProcessors(len(do), func(i int) { do[i]() }) }

// withRoom makes room for n more in a list that is not known to become long, so that it is not copied again and again: twice
// as much as it holds.
func withRoom[T any](list []T, n int) []T {
	if cap(list)-len(list) < n {
		return slices.Grow(list, max(n, len(list)))
	}
	return list
}

// inOrder calls find for the chunks of 0..n on all processors at once, and take for what each has found, one at a time and
// in their order: whoever has done a chunk takes what is next, while others go on finding. Each list is room for another
// chunk's once it was taken.
func inOrder[T any](n int, find func(lo, hi int, room []T) []T, take func(list []T)) {
	chunks := (n + chunkSize - 1) / chunkSize
	workers := min(runtime.GOMAXPROCS(0), chunks)
	if workers <= 1 {
		var list []T
		for c := range chunks {
			list = find(c*chunkSize, min((c+1)*chunkSize, n), list[:0])
			take(list)
		}
		return
	}
	q := queue[T]{lists: make([][]T, 8*workers), full: make([]bool, 8*workers)}
	q.room.L = &q.lock
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for {
				c := q.next()
				if c >= chunks {
					return
				}
				list := &q.lists[c%len(q.lists)]
				*list = find(c*chunkSize, min((c+1)*chunkSize, n), (*list)[:0])
				q.found(c, take)
			}
		})
	}
	all.Wait()
}

// queue is the chunks under way of [inOrder], in as many places as it has lists.
type queue[T any] struct {
	lock         sync.Mutex
	room         sync.Cond // a place has become free
	lists        [][]T
	full         []bool // places whose chunk has been done, and waits to be taken
	begun, taken int    // chunks
	taking       bool   // somebody is
}

// next returns the chunk to be done next, once there is a place for it.
func (q *queue[T]) next() int {
	q.lock.Lock()
	defer q.lock.Unlock()
	for q.begun >= q.taken+len(q.lists) {
		q.room.Wait()
	}
	q.begun++
	return q.begun - 1
}

// found tells that a chunk is done, and takes what can be taken, unless somebody is at it.
func (q *queue[T]) found(c int, take func(list []T)) {
	q.lock.Lock()
	defer q.lock.Unlock()
	q.full[c%len(q.full)] = true
	if q.taking {
		return
	}
	q.taking = true
	for at := q.taken % len(q.full); q.full[at]; at = q.taken % len(q.full) {
		q.lock.Unlock()
		take(q.lists[at])
		q.lock.Lock()
		q.full[at] = false
		q.taken++
		q.room.Broadcast()
	}
	q.taking = false
}

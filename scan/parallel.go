package scan

import (
	"runtime"
	"sync"
)

// chunkSize fixes how lists are cut for work on all processors at once, whatever their number.
const chunkSize = 1 << 16

// chunked returns the values of consecutive ranges that cover 0..n, in their order, worked out on all processors at
// once.
func chunked[T any](n int, work func(lo, hi int) T) []T {
	parts := make([]T, (n+chunkSize-1)/chunkSize)
	OnAllProcessors(len(parts), func(c int) { parts[c] = work(c*chunkSize, min((c+1)*chunkSize, n)) })
	return parts
}

// OnAllProcessors calls work for 0 to n-1, on all processors at once, and returns when all is done. What one call
// writes no other may touch.
func OnAllProcessors(n int, work func(i int)) {
	workers := min(runtime.GOMAXPROCS(0), n)
	if workers <= 1 {
		for i := range n {
			work(i)
		}
		return
	}
	next := make(chan int, n)
	for i := range n {
		next <- i
	}
	close(next)
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for i := range next {
				work(i)
			}
		})
	}
	all.Wait()
}

// belt carries the blocks of a file from the disk to a reader: filled and summed one after another, worked on by all
// processors at once, and taken in the order of the file. So what comes out does not depend on how many processors
// there are. Whoever fills a block goes on with it to the end, since its bytes are then in that processor's cache; while
// he sums it up, another fills the next.
type belt[B any] struct {
	fill func(b *B, number int) error // one at a time, in order
	sum  func(b *B)                   // one at a time, in order
	work func(b *B)                   // several at once
	take func(b *B) error             // one at a time, in order
}

// run moves the given number of blocks and returns the first error in the order of the file. No goroutine is left
// when it returns.
func (b belt[B]) run(blocks int, fresh func() *B) error {
	r := belted[B]{belt: b, blocks: blocks}
	workers := min(runtime.GOMAXPROCS(0), blocks)
	if workers <= 1 {
		r.carry(fresh())
		return r.failed
	}
	var all sync.WaitGroup
	for range min(workers+1, blocks) { // one more, so that a processor has work while a block waits for its turn
		all.Go(func() { r.carry(fresh()) })
	}
	all.Wait()
	return r.failed
}

// belted is a belt that runs.
type belted[B any] struct {
	belt[B]
	blocks  int
	filling sync.Mutex
	next    int  // to be filled
	ended   bool // nothing more is filled
	sums    turns
	takes   turns
	failed  error // of the first block that failed; of whoever's turn it is to take
}

// carry leads one block after another over the belt, in the same memory.
func (r *belted[B]) carry(block *B) {
	for {
		number, err := r.fillNext(block)
		if number < 0 {
			return
		}
		r.sums.await(number)
		if err == nil {
			r.sum(block)
		}
		r.sums.pass()
		if err == nil {
			r.work(block)
		}
		r.takes.await(number)
		if r.failed == nil && err == nil {
			err = r.take(block)
		}
		if r.failed == nil {
			r.failed = err
		}
		end := r.failed != nil
		r.takes.pass()
		if end {
			r.end()
		}
	}
}

// fillNext fills a block with what comes next and returns its number, less than zero if nothing does. After an error
// nothing does.
func (r *belted[B]) fillNext(block *B) (number int, err error) {
	r.filling.Lock()
	defer r.filling.Unlock()
	if r.ended || r.next == r.blocks {
		return -1, nil
	}
	number = r.next
	r.next++
	err = r.fill(block, number)
	r.ended = err != nil
	return number, err
}

func (r *belted[B]) end() {
	r.filling.Lock()
	r.ended = true
	r.filling.Unlock()
}

// turns lets one after another go on, in the order of their numbers from 0.
type turns struct {
	mutex   sync.Mutex
	next    int
	waiting map[int]chan struct{}
}

// await returns when all lower numbers have passed.
func (t *turns) await(number int) {
	t.mutex.Lock()
	if t.next == number {
		t.mutex.Unlock()
		return
	}
	if t.waiting == nil {
		t.waiting = map[int]chan struct{}{}
	}
	come := make(chan struct{})
	t.waiting[number] = come
	t.mutex.Unlock()
	<-come
}

// pass ends the turn of whoever has it.
func (t *turns) pass() {
	t.mutex.Lock()
	t.next++
	if come, waits := t.waiting[t.next]; waits {
		delete(t.waiting, t.next)
		close(come)
	}
	t.mutex.Unlock()
}

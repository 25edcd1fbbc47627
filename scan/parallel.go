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

// belt carries the blocks of a file from the disk to a reader: filled one after another, worked on by all
// processors at once, and taken in the order of the file. So what comes out does not depend on how many
// processors there are.
type belt[B any] struct {
	fill func(b *B, number int) error // on one goroutine
	work func(b *B)                   // on several
	take func(b *B) error             // on the caller's
}

// ticket is one block's way over the belt. It is used again for a later block.
type ticket[B any] struct {
	block  *B
	err    error
	worked chan struct{}
}

// run moves the given number of blocks and returns the first error in the order of the file. No goroutine is left
// when it returns.
func (b belt[B]) run(blocks int, fresh func() *B) error {
	processors := min(runtime.GOMAXPROCS(0), blocks)
	if processors <= 1 {
		return b.alone(blocks, fresh)
	}
	tickets := processors + 1
	free, line, filled := make(chan *ticket[B], tickets), make(chan *ticket[B], tickets), make(chan *ticket[B], tickets)
	for range tickets {
		free <- &ticket[B]{block: fresh(), worked: make(chan struct{}, 1)}
	}
	stop := make(chan struct{})
	var all sync.WaitGroup
	defer all.Wait()
	defer close(stop)
	all.Go(func() {
		defer close(line)
		defer close(filled)
		for i := range blocks {
			var t *ticket[B]
			select {
			case t = <-free:
			case <-stop:
				return
			}
			t.err = b.fill(t.block, i)
			line <- t
			if t.err != nil {
				return
			}
			filled <- t
		}
	})
	for range processors {
		all.Go(func() {
			for t := range filled {
				b.work(t.block)
				t.worked <- struct{}{}
			}
		})
	}
	for t := range line {
		if t.err != nil {
			return t.err
		}
		<-t.worked
		if err := b.take(t.block); err != nil {
			return err
		}
		free <- t
	}
	return nil
}

// alone does the same on one processor.
func (b belt[B]) alone(blocks int, fresh func() *B) error {
	block := fresh()
	for i := range blocks {
		if err := b.fill(block, i); err != nil {
			return err
		}
		b.work(block)
		if err := b.take(block); err != nil {
			return err
		}
	}
	return nil
}
